"""The command line: exit codes, JSON on every command, words instead of tracebacks."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from linewright.cli import commands
from linewright.cli import main as entry
from linewright.cli.main import run

COMMANDS = sorted(p.stem.rstrip("_") for p in Path(commands.__path__[0]).glob("[!_]*.py"))


def called(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = run(list(arguments))
    out, err = capsys.readouterr()
    return code, out, err


@pytest.fixture
def plan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    monkeypatch.chdir(tmp_path)
    assert run(["new", "Oak Stool"]) == 0
    capsys.readouterr()
    return tmp_path / "oak-stool.toml"


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_and_json(capsys: pytest.CaptureFixture[str], name: str) -> None:
    code, out, _ = called(capsys, name, "--help")
    assert code == 0
    assert "--json" in out or name == "serve"  # pages are its answer


def test_help_names_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = called(capsys, "--help")
    assert code == 0
    for name in COMMANDS:
        assert f"\n  {name} " in out


def test_wrong_usage_is_2_and_hints(capsys: pytest.CaptureFixture[str]) -> None:
    code, _, err = called(capsys, "anser")
    assert code == 2
    assert 'did you mean "answer"?' in err
    assert called(capsys, "answer")[0] == 2
    assert called(capsys, "answer", "x.toml", "--nonsense")[0] == 2


def test_new_plan_has_no_problem(capsys: pytest.CaptureFixture[str], plan: Path) -> None:
    code, out, _ = called(capsys, "check", str(plan))
    assert code == 0, out
    assert "no errors" in out
    code, out, _ = called(capsys, "check", str(plan), "--json")
    assert code == 0
    assert json.loads(out)["exit"] == 0


def test_new_leaves_what_is_there(capsys: pytest.CaptureFixture[str], plan: Path) -> None:
    before = plan.read_text(encoding="utf-8")
    code, _, err = called(capsys, "new", "Oak Stool")
    assert code == 2
    assert "there already" in err
    assert plan.read_text(encoding="utf-8") == before


def test_answer_prints_and_writes_a_page(capsys: pytest.CaptureFixture[str], plan: Path) -> None:
    code, out, _ = called(capsys, "answer", str(plan), "--still")
    assert code in (0, 3), out
    assert "Will it make the rate?" in out
    page = plan.parent / "oak-stool.report.html"
    assert page.name in out
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")


def test_answer_as_json_is_one_object_without_nan(capsys: pytest.CaptureFixture[str], plan: Path) -> None:
    code, out, _ = called(capsys, "answer", str(plan), "--json", "--report", "-")

    def refuse(word: str) -> Any:
        raise AssertionError(word)

    data = json.loads(out, parse_constant=refuse)
    assert data["exit"] == code
    assert data["report"] is None
    assert data["answer"]["headline"].startswith("makes ")
    assert data["answer"]["capacity"]["honesty"]["status"]


def test_a_demand_out_of_reach_is_3(capsys: pytest.CaptureFixture[str], plan: Path) -> None:
    text = plan.read_text(encoding="utf-8")
    lines = ['demand = "90000 each/day"' if line.startswith("demand") else line for line in text.split("\n")]
    plan.write_text("\n".join(lines), encoding="utf-8")
    code, out, _ = called(capsys, "answer", str(plan), "--report", "-")
    assert code == 3
    assert "no, at most" in out
    assert called(capsys, "answer", str(plan), "--report", "-", "--json")[0] == 3


def test_problems_are_1_with_place_and_hint(capsys: pytest.CaptureFixture[str], plan: Path) -> None:
    text = plan.read_text(encoding="utf-8").replace("demand = ", "demnad = ", 1)
    plan.write_text(text, encoding="utf-8")
    code, out, _ = called(capsys, "check", str(plan))
    assert code == 1
    assert "oak-stool.toml:" in out
    assert 'did you mean "demand"?' in out
    for command in ("check", "answer", "report"):
        code, out, _ = called(capsys, command, str(plan), "--json")
        data = json.loads(out)
        assert code == data["exit"] == 1
        assert any(p["level"] == "error" and p["line"] for p in data["problems"])


@pytest.mark.parametrize("content", [b"", b"\x00\x01", b"[plan", b"\xff\xfe", b"PK\x03\x04"])
def test_files_that_are_no_plan_are_1(capsys: pytest.CaptureFixture[str], tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "bad.toml"
    path.write_bytes(content)
    for command in ("check", "answer", "report"):
        code, out, _ = called(capsys, command, str(path))
        assert code == 1, out
        assert "error" in out


def test_a_missing_file_is_1_and_named(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    code, out, _ = called(capsys, "check", str(tmp_path / "none.toml"))
    assert code == 1
    assert "none.toml" in out.replace("\n", "")


def test_a_page_that_cannot_be_written_is_2(capsys: pytest.CaptureFixture[str], plan: Path) -> None:
    code, _, err = called(capsys, "report", str(plan), "--to", str(plan.parent / "no" / "folder.html"))
    assert code == 2
    assert "folder.html" in err


def test_map_alone(capsys: pytest.CaptureFixture[str], plan: Path) -> None:
    code, out, _ = called(capsys, "report", str(plan), "--map", "--json")
    assert code == 0
    path = Path(json.loads(out)["report"])
    assert path.read_text(encoding="utf-8").startswith("<svg")


def test_schema_is_a_schema(capsys: pytest.CaptureFixture[str]) -> None:
    jsonschema = pytest.importorskip("jsonschema")
    code, out, _ = called(capsys, "schema")
    assert code == 0
    jsonschema.Draft202012Validator.check_schema(json.loads(out))


def test_import_writes_a_plan(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    table = tmp_path / "route.csv"
    table.write_text("id,name,time,crew\nglue,Glue,4 min,fitter\npress,Press,2 min,fitter\n", encoding="utf-8")
    to = tmp_path / "made.toml"
    code, out, err = called(capsys, "import", str(table), "--to", str(to), "--json")
    assert code == 0, out + err
    assert json.loads(out)["plan"] == str(to)
    assert "press" in to.read_text(encoding="utf-8")


def test_a_fault_of_the_program_is_words_and_70(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> int:
        raise RuntimeError("wheel fell off\nand more")

    monkeypatch.setattr(entry.group, "main", broken)
    monkeypatch.delenv("LINEWRIGHT_DEBUG", raising=False)
    code, out, err = called(capsys, "schema")
    assert code == 70
    assert "wheel fell off" in err
    assert "Traceback" not in out + err


def test_stopped_by_the_user(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: object, **__: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr(entry.group, "main", stopped)
    code, _, err = called(capsys, "schema")
    assert code == 130
    assert err.strip() == "stopped"


@pytest.mark.skipif(os.name == "nt", reason="signals are sent otherwise there")
def test_stopped_by_a_signal_says_so_without_traceback(plan: Path) -> None:
    code = (
        "import sys, time\n"
        "import linewright.plan\n"
        "def slow(*a, **k):\n    print('begun', flush=True)\n    time.sleep(30)\n"
        "linewright.plan.read_plan = slow\n"
        "from linewright.cli.main import main\n"
        f"sys.argv = ['linewright', 'report', {str(plan)!r}]\nmain()\n"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=plan.parent
    )
    assert process.stdout is not None
    assert process.stdout.readline().strip() == "begun"
    time.sleep(0.05)
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=20)
    assert process.returncode == 130
    assert err.strip() == "stopped"


def test_a_reader_that_leaves_is_no_failure(plan: Path) -> None:
    """``linewright schema | head -1`` ends without a word."""
    code = "import sys; from linewright.cli.main import main; sys.argv = ['linewright', 'schema']; main()"
    process = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    err = process.stderr.read()
    process.stderr.close()
    process.wait(timeout=20)
    assert b"Traceback" not in err
    assert b"Exception ignored" not in err


def test_help_imports_nothing_heavy() -> None:
    code = (
        "import sys; from linewright.cli.main import run; run(['--help']);"
        "heavy = {'numpy', 'scipy', 'pint', 'rich', 'numba', 'openpyxl', 'vl_convert', 'ortools'} & set(sys.modules);"
        "sys.exit(f'imported {heavy}' if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_new_takes_a_file_name(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    code, out, _ = called(capsys, "new", str(tmp_path / "oak_stool.toml"))
    assert code == 0
    assert str(tmp_path / "oak_stool.toml") in out
    assert 'name = "oak stool"' in (tmp_path / "oak_stool.toml").read_text(encoding="utf-8")
