"""``linewright balance``: plans and files of tasks, exit codes, and a stop that keeps the best found."""

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

from linewright.cli.main import run

EXAMPLES = Path(__file__).parents[2] / "examples"

# Jackson (1956), 11 tasks, as printed in Scholl (1999): from memory. Sum 46, so 5 stations at a takt of 10.
JACKSON = """\
tasks 11
t 1 6
t 2 2
t 3 5
t 4 7
t 5 1
t 6 2
t 7 3
t 8 6
t 9 5
t 10 5
t 11 4
p 1 2
p 1 3
p 1 4
p 1 5
p 2 6
p 3 7
p 4 7
p 5 7
p 6 8
p 7 9
p 8 10
p 9 11
p 10 11
"""


@pytest.fixture
def graph(tmp_path: Path) -> Path:
    file = tmp_path / "jackson.txt"
    file.write_text(JACKSON)
    return file


def asked(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, Any]:
    code = run(["balance", *map(str, arguments), "--json"])
    data = json.loads(capsys.readouterr().out)
    assert data["exit"] == code
    return code, data


def test_a_graph_at_a_takt(capsys: pytest.CaptureFixture[str], graph: Path) -> None:
    code, data = asked(capsys, graph, "--takt", 10)
    found = data["balance"]
    assert (code, found["count"], found["honesty"]["status"]) == (0, 5, "proved")
    assert found["efficiency"] == pytest.approx(46 / 50)
    assert found["balance_delay"] == pytest.approx(4 / 50)


def test_a_graph_with_stations_and_with_both(capsys: pytest.CaptureFixture[str], graph: Path) -> None:
    _, data = asked(capsys, graph, "--stations", 4, "--curve")
    assert data["balance"]["goal"] == "fastest"
    takts = [b["takt"] for b in data["curve"]["balances"]]
    assert takts == sorted(takts, reverse=True)
    assert takts[0] == 46
    _, data = asked(capsys, graph, "--stations", 5, "--takt", 10)
    assert data["balance"]["goal"] == "smoothest"


def test_the_fewest_evened_out(capsys: pytest.CaptureFixture[str], graph: Path) -> None:
    _, rough = asked(capsys, graph, "--takt", 14)
    _, even = asked(capsys, graph, "--takt", 14, "--smooth")
    assert even["balance"]["count"] == rough["balance"]["count"] == 4
    assert even["balance"]["smoothness_index"] <= rough["balance"]["smoothness_index"]


def test_no_is_3(capsys: pytest.CaptureFixture[str], graph: Path) -> None:
    code, data = asked(capsys, graph, "--takt", 6)
    assert code == 3
    assert "allow `parallel = 2` stations" in data["problems"][0]["hint"]
    code, data = asked(capsys, graph, "--takt", 10, "--stations", 4)
    assert (code, data["balance"]["honesty"]["status"]) == (3, "impossible")


def test_a_table_and_a_takt_of_its_own(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    (tmp_path / "line.csv").write_text("task,time,after\ncut,4,\nbend,3,cut\nweld,5,cut;bend\n")
    assert asked(capsys, tmp_path / "line.csv", "--takt", 8)[1]["balance"]["count"] == 2
    (tmp_path / "line.txt").write_text("t 1 4\nt 2 5\np 1 2\ncycle 5\n")
    assert asked(capsys, tmp_path / "line.txt")[1]["balance"]["count"] == 2


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        ((), 2),
        (("--takt", "soon"), 1),
        (("--takt", "0"), 1),
        (("--takt", "nan"), 1),
        (("--stations", "0"), 2),
        (("--takt", "10", "--line", "build"), 2),
        (("--takt", "10", "--seconds", "0"), 2),
        (("--takt", "10", "--goal", "cheapest"), 1),
    ],
)
def test_wrong_questions(
    capsys: pytest.CaptureFixture[str], graph: Path, arguments: tuple[str, ...], code: int
) -> None:
    assert run(["balance", str(graph), *arguments]) == code
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize("text", ["", "p 1 2\n", "t 1 x\n", "t 1 2\np 1 1\n", "t a 1\nt b 1\np a b\np b a\n", "\0\0"])
def test_files_at_fault_are_1(capsys: pytest.CaptureFixture[str], tmp_path: Path, text: str) -> None:
    (tmp_path / "bad.txt").write_text(text)
    assert run(["balance", str(tmp_path / "bad.txt"), "--takt", "5"]) == 1
    assert "error" in capsys.readouterr().out


def test_a_plan_told_station_by_station(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["balance", str(EXAMPLES / "trailer.toml"), "--seconds", "5"]) == 0
    out = capsys.readouterr().out
    for said in ("Final build: 6 stations", "fewer is proved impossible", "Hang the rear door", "lost to variation"):
        assert said in out


def test_a_plan_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    _, data = asked(capsys, EXAMPLES / "trailer.toml", "--takt", "20 min", "--no-simulate")
    line = data["lines"]["build"]
    assert line["takt"] == 1200
    assert sum(len(post["operations"]) for post in line["posts"]) == 14
    assert data["played"] == {}


def test_what_a_plan_asks_wrongly(capsys: pytest.CaptureFixture[str]) -> None:
    trailer = str(EXAMPLES / "trailer.toml")
    assert run(["balance", trailer, "--takt", "12"]) == 2
    assert "12 min" in capsys.readouterr().err
    assert run(["balance", trailer, "--line", "biuld"]) == 1
    assert 'did you mean "build"' in capsys.readouterr().out
    assert run(["balance", trailer, "--takt", "5 min"]) == 3
    assert "routes.trailer.operations[door_on]" in capsys.readouterr().out
    assert run(["balance", str(EXAMPLES / "cider.toml")]) == 1
    assert "no line to balance" in capsys.readouterr().out


@pytest.mark.skipif(os.name == "nt", reason="interrupts are sent in another way there")
def test_a_stop_keeps_the_best_found(tmp_path: Path) -> None:
    """Times a little over a third of the takt, no order: easy to pack well, hard to prove."""
    rows = "".join(f"t {i} {331 + (i * 7919) % 167}\n" for i in range(260))
    (tmp_path / "hard.txt").write_text(rows)
    command = [
        sys.executable,
        "-c",
        "from linewright.cli.main import main; main()",
        "balance",
        str(tmp_path / "hard.txt"),
        "--takt",
        "1000",
    ]
    process = subprocess.Popen([*command, "--seconds", "120", "--json"], stdout=subprocess.PIPE, text=True)
    time.sleep(12)
    began = time.monotonic()
    if process.poll() is None:
        process.send_signal(signal.SIGINT)
    out, _ = process.communicate(timeout=40)
    assert time.monotonic() - began < 30
    assert json.loads(out)["balance"]["count"] > 100
