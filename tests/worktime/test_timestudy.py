"""Time study: from a file to a plan's time; every fault of a table named by line."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import openpyxl
import pytest
from scipy import stats

from linewright.base.distributions import Shape
from linewright.base.problems import ProblemsError
from linewright.worktime.outliers import flag_outliers
from linewright.worktime.timestudy import (
    cycles_needed,
    read_readings,
    standard_time,
    study_distribution,
    time_study,
)


@pytest.fixture
def table(tmp_path: Path) -> Path:
    random = np.random.default_rng(4)
    lines = ["element,cycle,time [s],rating"]
    for cycle in range(1, 41):
        lines.append(f"glue,{cycle},{50 * np.exp(random.normal(0, 0.15)):.1f},{random.choice([90, 100, 105])}")
        lines.append(f"press,{cycle},{20 + random.normal(0, 0.5):.2f},100")
    lines[9] = "glue,5,180,100"  # a dropped tool
    path = tmp_path / "bond.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def test_a_study_from_file(table: Path) -> None:
    readings = read_readings(table)
    study = time_study(readings, allowance=0.12, allowance_of="work", samples=19)
    glue, press = study.elements
    assert [e.element for e in study.elements] == ["glue", "press"]
    assert glue.readings == press.readings == 40
    assert [o.value for o in glue.outliers] == [180.0]
    assert "long" in glue.outliers[0].reason
    assert glue.standard == pytest.approx(glue.normal.mean * 1.12)
    assert study.standard_time == pytest.approx(study.normal_time * 1.12)
    assert press.cycles is not None
    assert press.cycles.still == 0
    assert len(study.to_table().rows) == 2
    assert study.to_dict()["elements"][0]["element"] == "glue"


def test_the_plan_s_study_form(table: Path) -> None:
    row = study_distribution(table, "press")
    assert row.shape is not Shape.FIXED
    assert row.mean == pytest.approx(20, rel=0.02)
    with pytest.raises(ProblemsError, match="several elements"):
        study_distribution(table)
    with pytest.raises(ProblemsError, match='did you mean "press"'):
        study_distribution(table, "pres")


def test_a_workbook_reads_as_its_csv(table: Path, tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    for line in table.read_text(encoding="utf-8").splitlines():
        page.append([float(c) if c.replace(".", "").isdigit() else c for c in line.split(",")])
    path = tmp_path / "bond.xlsx"
    book.save(path)
    assert np.array_equal(read_readings(path).times, read_readings(table).times)


def test_units_and_ratings_as_written(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("element;time;rating\nglue;1.5 min;95 %\nglue;80 s;110\n", encoding="utf-8")
    assert read_readings(path).normal_times("glue").tolist() == pytest.approx([85.5, 88.0])


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", ["empty"]),
        ("element,time [s]\n", ["empty"]),
        ("part,time [s]\na,2\n", ['no column "element"']),
        ("element,time\na,2\n", ["no unit"]),
        ("element,time\na,2\na,3 s\n", ["some numbers have a unit and some have none"]),
        ("element,time [kg]\na,2\n", ["the heading's unit is a mass"]),
        ("element,time [s]\na,two\na,\na,nan\n", [":2:", ":3:", ":4:", "cell is empty", "not a finite number"]),
        ("element,time [s]\na,-3\n", ["out of range"]),
        ("element,time [s],rating\na,3,0.95\n", ["write 95"]),
        ("element,time [s],rating\na,3,950\n", ["at most 200 %"]),
        ("element,time [s]\na,3 kg\n", ["is a mass, where a time is wanted"]),
        ("element,time [s]\na,3,4\n", ["this row has 3 cells"]),
        ("element,time [s],time [s]\na,3,4\n", ["two columns have this name"]),
    ],
)
def test_bad_tables_are_problems(text: str, words: list[str], tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ProblemsError) as caught:
        read_readings(path)
    for word in words:
        assert word in str(caught.value)


def test_no_file_and_a_damaged_workbook(tmp_path: Path) -> None:
    with pytest.raises(ProblemsError, match="no such file"):
        read_readings(tmp_path / "none.csv")
    damaged = tmp_path / "damaged.xlsx"
    damaged.write_bytes(b"not a workbook")
    with pytest.raises(ProblemsError, match="cannot be read"):
        read_readings(damaged)
    latin = tmp_path / "latin.csv"
    latin.write_bytes("element,time [s]\nsäge,3\n".encode("latin-1"))
    with pytest.raises(ProblemsError, match="UTF-8"):
        read_readings(latin)


def test_few_readings_give_no_invented_interval(tmp_path: Path) -> None:
    path = tmp_path / "one.csv"
    path.write_text("element,time [s]\na,3\nb,4\nb,4\nb,4\nb,4\nb,4\n", encoding="utf-8")
    a, b = time_study(read_readings(path)).elements
    assert a.fit is None
    assert a.to_dict()["normal"]["half_width"] is None
    assert b.cycles is not None
    assert b.cycles.needed == 2
    assert "fixed" in b.notes[0]
    path.write_text("element,time [s]\na,3\na,4\n", encoding="utf-8")
    with pytest.raises(ProblemsError, match="at least 5"):
        study_distribution(path)


def test_cycles_needed_is_the_least_that_does() -> None:
    random = np.random.default_rng(6)
    for _ in range(20):
        x = random.lognormal(3, random.uniform(0.02, 0.5), 12)
        n = cycles_needed(x).needed
        ratio = x.std(ddof=1) / x.mean() / 0.05
        assert stats.t.ppf(0.975, n - 1) * ratio <= np.sqrt(n)
        assert n == 2 or stats.t.ppf(0.975, n - 2) * ratio > np.sqrt(n - 1)


def test_outliers_do_not_hide_each_other_and_clean_readings_are_seldom_flagged() -> None:
    assert [o.index for o in flag_outliers([50, 52, 49, 51, 50, 48, 53, 51, 300, 310])] == [8, 9]
    random = np.random.default_rng(8)
    flagged = sum(bool(flag_outliers(random.lognormal(3, 0.2, 30))) for _ in range(1000))
    low, high = stats.binom.ppf([0.0005, 0.9995], 1000, 0.05)
    assert flagged <= high  # the level is an upper limit, near it for 30 readings
    assert flagged >= low / 2


def test_the_base_of_an_allowance_must_be_said() -> None:
    with pytest.raises(ProblemsError, match="unknown base"):
        standard_time(4.0, 0.15, "day")  # type: ignore[arg-type]
    with pytest.raises(ProblemsError, match="not an allowance"):
        standard_time(4.0, 1.0, "shift")
