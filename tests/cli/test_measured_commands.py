"""The commands that read measurements: answers in words, JSON, a page with pictures, exit codes, problems in words."""

from __future__ import annotations

import json
import re
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from linewright.cli.main import run

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
HIVE = str(EXAMPLES / "hivekit.toml")
STUDY = str(EXAMPLES / "trailer_study.csv")
COMMANDS = ("timestudy", "chart", "sample", "gauge", "count")


def called(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str]:
    code = run(list(arguments))
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return code, out + err


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, dict[str, Any]]:
    def refuse(word: str) -> Any:
        raise AssertionError(word)

    code, out = called(capsys, *arguments, "--json")
    data = json.loads(out, parse_constant=refuse)
    assert data["exit"] == code
    return code, data


def page(capsys: pytest.CaptureFixture[str], path: Path, *arguments: str) -> str:
    called(capsys, *arguments, "--report", str(path), "--still")
    text = path.read_text(encoding="utf-8")
    assert text.startswith("<!doctype html>")
    words = re.sub(r"<[^>]+>", " ", text.split("</style>", 1)[1])
    assert not re.search(r"\b(nan|NaN|inf|None|null|undefined)\b", words)
    return text


@pytest.fixture
def gap(tmp_path: Path) -> Path:
    """Twenty-five steady subgroups of four."""
    random = np.random.default_rng(11)
    rows = [f"{k},{v:.4f}" for k, row in enumerate(random.normal(5, 0.1, (25, 4))) for v in row]
    file = tmp_path / "gap.csv"
    file.write_text("subgroup,value [mm]\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return file


@pytest.fixture
def caliper(tmp_path: Path) -> Path:
    """Ten parts, three inspectors, two looks; the gauge is good."""
    random = np.random.default_rng(12)
    rows = [
        f"{part},{who},{size + random.normal(0, 0.02):.4f}"
        for part, size in enumerate(random.normal(10, 0.5, 10))
        for who in ("Ann", "Ben", "Cal")
        for _ in range(2)
    ]
    file = tmp_path / "caliper.csv"
    file.write_text("part,inspector,value\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return file


@pytest.mark.parametrize("name", COMMANDS)
def test_help(capsys: pytest.CaptureFixture[str], name: str) -> None:
    code, out = called(capsys, name, "--help")
    assert code == 0
    assert "--json" in out
    assert "--report" in out
    assert f"\n  {name} " in called(capsys, "--help")[1]


def test_timestudy(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    code, out = called(capsys, "timestudy", STUDY, "--allowance", "9 %")
    assert code == 0
    assert "Standard time 9.59 min" in out
    assert 'time = { study = "trailer_study.csv", element = "bead" }' in out
    _, data = told(capsys, "timestudy", STUDY, "--allowance", "9 %")
    bead = data["timestudy"]["elements"][0]
    assert bead["standard"] == pytest.approx(1.09 * bead["normal"]["mean"])
    text = page(capsys, tmp_path / "study.html", "timestudy", STUDY)
    assert text.count("<figure>") == 4


def test_timestudy_flags_what_stands_apart(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "cut.csv"
    file.write_text("element,time [s]\n" + "".join(f"cut,{t}\n" for t in [41, 39, 43, 40, 42, 118, 41, 40]))
    code, out = called(capsys, "timestudy", str(file))
    assert code == 0
    assert "1 reading stands apart" in out
    assert "median" in out


def test_chart_of_a_steady_process(capsys: pytest.CaptureFixture[str], gap: Path, tmp_path: Path) -> None:
    code, data = told(capsys, "chart", str(gap), "--rules", "limits")
    assert (code, data["chart"]["verdict"], data["chart"]["kind"]) == (0, True, "mean and range")
    text = page(capsys, tmp_path / "chart.html", "chart", str(gap), "--lower", "4.6", "--upper", "5.4")
    assert text.count("<figure>") == 2
    assert "Ppk" in text


def test_chart_that_is_not_steady_is_3(capsys: pytest.CaptureFixture[str], gap: Path) -> None:
    with gap.open("a", encoding="utf-8") as file:
        file.write("99,6.1\n99,6.2\n99,6.0\n99,6.1\n")
    code, out = called(capsys, "chart", str(gap))
    assert code == 3
    assert "No, " in out
    beyond = next(line for line in out.split("\n") if line.startswith("mean") and "beyond the limits" in line)
    assert beyond.split()[-1] == "26"
    code, data = told(capsys, "chart", str(gap), "--first", "25")
    assert (code, data["chart"]["phase"]) == (3, 2)
    code, data = told(capsys, "chart", str(gap), "--centre", "5", "--spread", "0.1")
    assert (code, data["chart"]["known"]) == (3, {"mean": 5.0, "sd": 0.1})


def test_chart_of_counts(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "seams.csv"
    file.write_text("faulty,inspected\n" + "".join(f"{c},200\n" for c in [4, 6, 3, 7, 5, 4, 6, 5]))
    assert told(capsys, "chart", str(file))[1]["chart"]["kind"] == "share faulty"
    assert told(capsys, "chart", str(file), "--kind", "number-faulty")[1]["chart"]["kind"] == "number faulty"
    assert called(capsys, "chart", str(file), "--kind", "single")[0] == 1
    assert called(capsys, "chart", str(file), "--lower", "1")[0] == 2


def test_several_measurements_on_one_chart(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    random = np.random.default_rng(4)
    length = random.normal(50, 1, 40)
    width = length / 2 + random.normal(0, 0.1, 40)
    width[20] += 1.5  # each size by itself is ordinary; together they are not
    file = tmp_path / "size.csv"
    rows = [f"{a:.3f},{b:.3f}" for a, b in zip(length, width, strict=True)]
    file.write_text("length,width\n" + "\n".join(rows) + "\n")
    assert told(capsys, "chart", str(file), "--column", "width", "--rules", "limits")[0] == 0
    code, data = told(capsys, "chart", str(file), "--column", "length", "--column", "width")
    assert code == 3
    assert data["chart"]["tracks"][0]["signals"]["beyond the limits"] == [20]
    assert called(capsys, "chart", str(file), "--column", "length", "--column", "width", "--kind", "single")[0] == 2
    assert called(capsys, "chart", str(file), "--column", "length", "--column", "widht")[0] == 1


def test_a_million_readings(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Long tables are read whole: same numbers as the careful reader; a long chart is not called unsteady by chance."""
    values = np.random.default_rng(5).normal(12, 0.1, 1_000_000)
    file = tmp_path / "long.csv"
    file.write_text("value [mm]\n" + "\n".join(map("{:.4f}".format, values)) + "\n")
    begun = time.perf_counter()
    code, data = told(capsys, "chart", str(file))
    assert code == 0
    assert data["chart"]["verdict"] is None
    assert data["chart"]["tracks"][0]["count"] == 1_000_000
    assert data["chart"]["known"]["mean"] == pytest.approx(np.round(values, 4).mean(), abs=1e-12)
    assert len(data["chart"]["tracks"][0]["points"]) < 12_000
    assert time.perf_counter() - begun < 60, "not a benchmark: only that it ends"


@pytest.mark.parametrize("bad", ["5,1\n", "nan\n", "five\n", "\n5.1,\n"])
def test_one_bad_cell_in_a_long_table_is_found(capsys: pytest.CaptureFixture[str], tmp_path: Path, bad: str) -> None:
    file = tmp_path / "long.csv"
    file.write_text("value\n" + "5.1\n" * 200_000 + bad)
    code, out = called(capsys, "chart", str(file))
    assert code == 1, out
    assert re.search(r"2000\d\d", out.replace(",", "")), out


def test_sample_by_two_points(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    _, data = told(capsys, "sample", "--good", "1 %", "--bad", "6 %")
    assert data["sample"]["plan"] == {"n": 110, "c": 3}
    code, out = called(capsys, "sample", "--good", "1 %", "--bad", "6 %", "--double", "--lot", "3000")
    assert code == 0
    assert "Look at 67 units" in out
    _, data = told(capsys, "sample", "--good", "1 %", "--bad", "6 %", "--measured")
    assert data["sample"]["plan"]["n"] == 42
    text = page(capsys, tmp_path / "oc.html", "sample", "--lot", "1000", "--aql", "1")
    assert text.count("<figure>") == 3
    assert "code letter J" in text


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (("--good", "1 %"), 2),
        (("--lot", "1000"), 2),
        (("--aql", "1"), 2),
        (("--n", "80"), 2),
        (("--good", "1 %", "--bad", "6 %", "--n", "80", "--c", "2"), 2),
        (("--n", "80", "--c", "2", "--double"), 2),
        (("--good", "6 %", "--bad", "1 %"), 1),
        (("--lot", "1000", "--aql", "1.1"), 1),
        (("--n", "80", "--c", "90"), 1),
        (("--n", "80", "--c", "1", "--lot", "50"), 1),
    ],
)
def test_sample_refuses(capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], code: int) -> None:
    assert called(capsys, "sample", *arguments)[0] == code


def test_gauge(capsys: pytest.CaptureFixture[str], caliper: Path, tmp_path: Path) -> None:
    code, out = called(capsys, "gauge", str(caliper), "--tolerance", "4")
    assert code == 0
    assert "Yes, it tells" in out
    _, data = told(capsys, "gauge", str(caliper))
    repeat = next(p for p in data["gauge"]["parts"] if p["name"] == "repeatability")
    assert repeat["low"] < 0.02 < repeat["high"]
    assert told(capsys, "gauge", str(caliper), "--by", "ranges")[0] == 0
    assert page(capsys, tmp_path / "gauge.html", "gauge", str(caliper)).count("<figure>") == 2


def test_a_blunt_gauge_is_3(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    random = np.random.default_rng(3)
    rows = [
        f"{p},{w},{10 + 0.1 * p + random.normal(0, 1):.3f}" for p in range(6) for w in ("Ann", "Ben") for _ in range(3)
    ]
    file = tmp_path / "blunt.csv"
    file.write_text("part,inspector,value\n" + "\n".join(rows) + "\n")
    code, out = called(capsys, "gauge", str(file))
    assert code == 3
    assert "No, it tells" in out


def test_gauge_bias_and_verdicts(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    dial = tmp_path / "dial.csv"
    dial.write_text("reference,value\n2,2.1\n2,2.2\n4,4.0\n4,4.1\n6,5.9\n6,6.0\n")
    _, data = told(capsys, "gauge", str(dial))
    assert data["linearity"]["slope"]["mean"] == pytest.approx(-0.05)
    assert "Bias = 0.25" in called(capsys, "gauge", str(dial))[1]
    looks = tmp_path / "looks.csv"
    rows = ["1,Ann,faulty,faulty", "1,Ann,good,faulty", "2,Ann,good,good", "2,Ann,good,good"]
    looks.write_text("part,inspector,verdict,truth\n" + "\n".join(rows) + "\n")
    _, data = told(capsys, "gauge", str(looks))
    assert data["inspectors"]["inspectors"][0]["finds"][0] == 0.5
    assert page(capsys, tmp_path / "looks.html", "gauge", str(looks)).count("<figure>") == 1
    looks.write_text("part,inspector,verdict,truth\n1,Ann,perhaps,faulty\n2,Ann,good,good\n")
    code, out = called(capsys, "gauge", str(looks))
    assert code == 1
    assert "line 2" in out
    looks.write_text("part,inspector,verdict,truth\n1,Ann,good,faulty\n2,Ben,good,good\n1,Ben,good,good\n")
    assert called(capsys, "gauge", str(looks))[0] == 1


def test_count(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    code, out = called(capsys, "count", HIVE)
    assert code == 3
    assert "beech dowel 8 x 35" in out
    assert "What to weigh apart" in out
    heavy = ("--apart", "bracket", "--apart", "runner", "--apart", "dowel")
    code, data = told(capsys, "count", HIVE, *heavy)
    assert code == 0
    assert data["count"]["kits"][0]["kit"]["hidden"] == []
    assert page(capsys, tmp_path / "count.html", "count", HIVE).count("<figure>") == 1


def test_count_on_another_scale(capsys: pytest.CaptureFixture[str]) -> None:
    _, here = told(capsys, "count", HIVE)
    _, finer = told(capsys, "count", HIVE, "--operation", "weigh_bag", "--step", "0.01 g", "--repeatability", "0.02 g")
    assert finer["count"]["kits"][0]["kit"]["sd"] < here["count"]["kits"][0]["kit"]["sd"]


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        ((str(EXAMPLES / "trailer.toml"),), 1, "no check of the plan has a scale"),
        ((HIVE, "--operation", "weigh_bagg"), 1, 'did you mean "weigh_bag"?'),
        ((HIVE, "--step", "0.1 g"), 2, "belong together"),
        ((HIVE, "--step", "0.1", "--repeatability", "3 mm"), 2, "0.1 g"),
        ((HIVE, "--apart", "brackett"), 2, "no item"),
        ((HIVE, "--false-rejects", "0 %"), 2, "between 0 and 100 %"),
        (("nowhere.toml",), 1, "nowhere.toml"),
    ],
)
def test_count_refuses(capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], code: int, says: str) -> None:
    found, out = called(capsys, "count", *arguments)
    assert found == code, out
    assert says in out.replace("\n", " ").replace("  ", " ")


@pytest.mark.parametrize("name", ["timestudy", "chart", "gauge"])
@pytest.mark.parametrize(
    "content",
    ["", "value\n", "\x00\x01", "a,b\n1,2\n", "value\n5\n", "value\n5\n5\n5\n5\n", "value\nnan\n1\n2\n",
     "value\n5 mm\n5\n6\n", "value\n5 mm\n5 kg\n6 mm\n", "element,time\nglue,5\n", "element,time [s]\nglue,-5\n",
     "faulty,inspected\n-1,50\n2,50\n3,50\n", "faulty,inspected\n60,50\n2,50\n3,50\n",
     "part,inspector,value\n1,Ann,5\n", "part,inspector,value\n1,Ann,5\n1,Ben,5\n2,Ann,5\n2,Ben,5\n"],
)  # fmt: skip
def test_bad_files_are_problems(capsys: pytest.CaptureFixture[str], tmp_path: Path, name: str, content: str) -> None:
    file = tmp_path / "bad.csv"
    file.write_text(content, encoding="utf-8")
    code, out = called(capsys, name, str(file))
    assert code == 1, out
    assert "error" in out
    code, data = told(capsys, name, str(file))
    assert data["problems"]


@pytest.mark.parametrize("name", ["timestudy", "chart", "gauge"])
def test_a_file_that_is_not_there(capsys: pytest.CaptureFixture[str], name: str) -> None:
    code, out = called(capsys, name, "nowhere.csv")
    assert code == 1
    assert "no such file" in out
