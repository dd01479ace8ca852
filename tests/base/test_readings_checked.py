"""Arrays and tables of readings: everything wrong is found in one pass and named by place."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linewright.base.arrays import limits, number, numbers, share, subgroups
from linewright.base.problems import Problems, ProblemsError
from linewright.base.tables import read_sheet

ANYTHING = st.one_of(st.none(), st.booleans(), st.text(max_size=4), st.floats(), st.integers(), st.lists(st.integers()))


@given(ANYTHING | st.lists(ANYTHING, max_size=6))
def test_anything_gives_numbers_or_problems(values: object) -> None:
    found = Problems()
    array = numbers(values, "x", found)  # type: ignore[arg-type]
    assert found.errors or np.isfinite(array).all()


@given(st.lists(st.lists(ANYTHING, max_size=4) | ANYTHING, max_size=4))
def test_anything_gives_subgroups_or_problems(values: list[object]) -> None:
    found = Problems()
    table = subgroups(values, "x", found)  # type: ignore[arg-type]
    assert found.errors or (table.ndim == 2 and np.isfinite(table).all())


def test_every_problem_is_found_at_once() -> None:
    found = Problems()
    numbers([1, "two", -3, float("nan"), 2.5], "x", found, low=0, whole=True)
    assert [p.path for p in found] == ["x[1]", "x[3]", "x[2]", "x[4]"]
    many = Problems()
    numbers(["a"] * 20, "x", many)
    assert len(many) == 6
    assert "15 more" in str(many.found[-1])


def test_single_values_and_limits() -> None:
    found = Problems()
    assert share(0.0, "p", found, ends=True) == 0.0
    share(float("nan"), "p", found)
    number(float("inf"), "n", found)
    limits(3.0, 2.0, "l", found)
    limits(None, None, "l", found)
    limits(None, float("inf"), "l", found)
    assert len(found.errors) == 5


@pytest.mark.parametrize("ending", [".csv", ".xlsx"])
def test_a_table_with_blank_rows_and_blanks(tmp_path: Path, ending: str) -> None:
    file = tmp_path / f"t{ending}"
    if ending == ".csv":
        file.write_text("\ufeffName,Mass [g]\na,5\n,\nb,\n", encoding="utf-8")
    else:
        import openpyxl

        book = openpyxl.Workbook()
        page = book.active
        assert page is not None
        for row in (["Name", "Mass [g]"], ["a", 5], [None, None], ["b", None]):
            page.append(row)
        book.save(file)
    sheet = read_sheet(file)
    assert sheet.headings == ("name", "mass")
    assert list(sheet.lines) == [2, 4]
    values = sheet.numbers("mass", "mass", blanks=True)
    assert values[0] == pytest.approx(0.005)
    assert np.isnan(values[1])
    assert not sheet.problems.errors
    sheet.numbers("mass", "mass")
    assert sheet.problems.found[0].line == 4


def test_what_is_no_table(tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(b"x")
    with pytest.raises(ProblemsError, match="not read"):
        read_sheet(tmp_path / "a.pdf")
    book = tmp_path / "b.xlsx"
    import openpyxl

    openpyxl.Workbook().save(book)
    with pytest.raises(ProblemsError, match="empty"):
        read_sheet(book)
    with pytest.raises(ProblemsError, match="no such sheet"):
        read_sheet(book, sheet="other")
