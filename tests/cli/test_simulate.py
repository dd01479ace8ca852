"""``linewright simulate`` and the simulation in ``linewright answer``: exit codes, JSON, trace, Ctrl-C."""

from __future__ import annotations

import csv
import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import click
import pytest

from linewright.base.trace import COLUMNS, EVENTS
from linewright.cli.main import run
from linewright.cli.options import share
from linewright.cli.watching import watching


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


def demanding(plan: Path, demand: str) -> Path:
    lines = plan.read_text(encoding="utf-8").split("\n")
    lines = [f'demand = "{demand}"' if line.startswith("demand") else line for line in lines]
    plan.write_text("\n".join(lines), encoding="utf-8")
    return plan


def test_answers_come_first(capsys: pytest.CaptureFixture[str], plan: Path) -> None:
    code, out, err = called(capsys, "simulate", str(plan), "--replications", "3")
    assert code == 0, out + err
    assert out.index("Will it make the rate?") < out.index("What the simulation shows")
    assert "What the stations do, simulated" in out
    assert err == "", "no bar where the standard error is no terminal"


def test_json_is_one_object_without_nan_and_repeats(capsys: pytest.CaptureFixture[str], plan: Path) -> None:
    found = []
    for _ in range(2):
        code, out, _ = called(capsys, "simulate", str(plan), "--replications", "2", "--seed", "5", "--json")
        data = json.loads(out, parse_constant=pytest.fail)
        assert data["exit"] == code == 0
        assert data["trace"] is None
        run_ = data["simulation"]["as_planned"]
        assert run_["provenance"]["seed"] == 5
        assert run_["honesty"]["replications"] == 2
        del run_["provenance"]["seconds"]
        found.append(data)
    assert found[0] == found[1]


def test_a_demand_out_of_reach_is_3(capsys: pytest.CaptureFixture[str], plan: Path) -> None:
    code, out, _ = called(
        capsys, "simulate", str(demanding(plan, "5000 each/day")), "--replications", "2", "--release", "flat-out"
    )
    assert code == 3
    assert "no, at most" in out


def test_the_trace_is_the_flat_record(capsys: pytest.CaptureFixture[str], plan: Path) -> None:
    code, out, _ = called(capsys, "simulate", str(plan), "--replications", "1", "--days", "7", "--trace", "t.csv")
    assert code in (0, 3)
    assert "t.csv" in out
    with Path("t.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    assert tuple(rows[0]) == COLUMNS
    assert {row[6] for row in rows[1:]} <= set(EVENTS)
    times = [float(row[0]) for row in rows[1:]]
    assert times == sorted(times)
    assert 0 <= times[0] <= times[-1] <= 7 * 86_400


@pytest.mark.parametrize(
    "wrong",
    [
        ("--half-width", "2x"), ("--half-width", "0"), ("--half-width", "100 %"), ("--half-width", "nan"),
        ("--days", "-1"), ("--days", "0"), ("--replications", "0"), ("--threads", "0"), ("--seed", "-1"),
        ("--release", "hope"), ("--open-pieces", "0"), ("--budget", "0"),
    ],
)  # fmt: skip
def test_wrong_options_are_2_and_said(capsys: pytest.CaptureFixture[str], plan: Path, wrong: tuple[str, str]) -> None:
    code, _, err = called(capsys, "simulate", str(plan), *wrong)
    assert code == 2
    assert wrong[0] in err


@pytest.mark.parametrize(("text", "value"), [("1 %", 0.01), ("0.5%", 0.005), ("0.02", 0.02), (" 3 % ", 0.03)])
def test_shares_are_read_as_people_write_them(text: str, value: float) -> None:
    command = click.Command("x")
    assert share(click.Context(command), click.Option(["--half-width"]), text) == pytest.approx(value)


def test_a_trace_that_cannot_be_written_is_2(capsys: pytest.CaptureFixture[str], plan: Path) -> None:
    code, _, err = called(capsys, "simulate", str(plan), "--replications", "1", "--trace", "no/folder/t.csv")
    assert code == 2
    assert "t.csv" in err


def test_answer_simulates_unless_told_not_to(capsys: pytest.CaptureFixture[str], plan: Path) -> None:
    code, out, _ = called(capsys, "answer", str(plan), "--report", "-", "--json")
    with_it = json.loads(out)
    assert code == with_it["exit"] == 0
    assert with_it["answer"]["simulation"]["as_planned"]["rate"]["mean"] > 0
    _, out, _ = called(capsys, "answer", str(plan), "--report", "-", "--json", "--no-simulate")
    assert json.loads(out)["answer"]["simulation"] is None


SLOW = """
import sys, time
import linewright.answer.play as play
from linewright.simulate import simulate
def slowly(network, **wish):
    told = wish.pop("progress")
    def progress(done, wanted, rate):
        told(done, wanted, rate)
        print("done", done, file=sys.stderr, flush=True)
        if done >= {keep}:
            time.sleep(0.6)
    if {keep} == 0:
        print("done 0", file=sys.stderr, flush=True)
        time.sleep(0.6)
    return simulate(network, progress=progress, **wish)
play.simulate = slowly
from linewright.cli.main import main
sys.argv = ["linewright", "simulate", {plan!r}, "--threads", "1", "--replications", "40", *{more!r}]
main()
"""


@pytest.mark.skipif(os.name == "nt", reason="signals are sent otherwise there")
@pytest.mark.parametrize(("keep", "code"), [(2, 0), (0, 130)])
def test_ctrl_c_keeps_what_is_done(plan: Path, keep: int, code: int) -> None:
    text = SLOW.format(keep=keep, plan=str(plan), more=[])
    process = subprocess.Popen(
        [sys.executable, "-c", text], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=plan.parent
    )
    assert process.stderr is not None
    while process.stderr.readline().strip() != f"done {keep}":
        assert process.poll() is None
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert process.returncode == code, out + err
    assert "Traceback" not in err
    if keep:
        assert f"stopped; kept {keep} replications" in " ".join(out.split())
        assert "stopped on request" in " ".join(out.split())
    else:
        assert err.strip().endswith("stopped")


@pytest.mark.skipif(os.name == "nt", reason="signals are sent otherwise there")
def test_the_handler_of_before_is_put_back_and_a_second_ctrl_c_leaves() -> None:
    before = signal.getsignal(signal.SIGINT)
    with watching() as watch:
        os.kill(os.getpid(), signal.SIGINT)
        assert watch.stop()
        with pytest.raises(KeyboardInterrupt):
            os.kill(os.getpid(), signal.SIGINT)
    assert signal.getsignal(signal.SIGINT) is before


@pytest.mark.skipif(os.name == "nt", reason="pipes end otherwise there")
def test_a_reader_of_the_answer_that_leaves_is_no_failure(plan: Path) -> None:
    """``linewright answer PLAN | head -1``: tables are drawn by another library, which must not make it a failure."""
    text = (
        f"import sys; from linewright.cli.main import main; sys.argv = ['linewright', 'check', {str(plan)!r}]; main()"
    )
    process = subprocess.Popen([sys.executable, "-c", text], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    err = process.stderr.read()
    process.stderr.close()
    assert process.wait(timeout=60) == 0
    assert b"Traceback" not in err


def test_report_writes_the_page_of_the_answer(capsys: pytest.CaptureFixture[str], plan: Path) -> None:
    code, _, _ = called(capsys, "report", str(plan), "--to", "with.html", "--still")
    assert code == 0
    assert "What the simulation shows" in Path("with.html").read_text(encoding="utf-8")
    called(capsys, "report", str(plan), "--to", "without.html", "--still", "--no-simulate")
    assert "What the simulation shows" not in Path("without.html").read_text(encoding="utf-8")


def test_first_help_names_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = called(capsys, "simulate", "--help")
    assert code == 0
    for option in ("--days", "--replications", "--half-width", "--seed", "--threads", "--trace", "--release", "--json"):
        assert option in out


def test_a_season_is_played_as_a_whole(capsys: pytest.CaptureFixture[str]) -> None:
    """What only a steady state can be asked is refused by name, never ignored."""
    season = Path(__file__).parents[1] / "examples" / "blank_cidery.toml"
    code, _, err = called(capsys, "simulate", str(season), "--trace", "t.csv", "--days", "7")
    assert code == 2
    assert "--days and --trace" in err
