"""The workbook: every table of an answer, numbers as numbers, and no text of a plan that a spreadsheet would run."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

import openpyxl
import pytest

from linewright.answer.model import Answer
from linewright.base.results import Table, Told, show
from linewright.report.blocks import Grid
from linewright.report.papers import workbook
from linewright.report.papers.book import _name, _spread
from linewright.report.sections import QUESTIONS


def read(data: bytes) -> Any:
    return openpyxl.load_workbook(io.BytesIO(data))


def test_every_table_of_the_report_is_there(given: Answer) -> None:
    book = read(workbook(given))
    told = {row[1].value for row in book["Contents"].iter_rows(min_row=2)}
    for make in QUESTIONS:
        for block in make(given).body:
            if isinstance(block, Grid) and block.table.rows:
                assert block.table.title in told
    assert len(book.sheetnames) == len({name.casefold() for name in book.sheetnames})
    assert all(len(name) <= 31 for name in book.sheetnames)


def test_the_head_stays_in_sight_and_columns_are_wide_enough(given: Answer) -> None:
    for sheet in read(workbook(given)):
        assert sheet.freeze_panes == "A2"
        assert all(sheet.column_dimensions[cell.column_letter].width >= 9 for cell in sheet[1])


def test_numbers_are_numbers_with_their_unit_in_the_head(given: Answer) -> None:
    sheet = read(workbook(given))["How busy the stations are"]
    head = [cell.value for cell in sheet[1]]
    first = sheet[2]
    use, working = first[head.index("use")], first[head.index("working [h]")]
    fullest = max((r for r in given.capacity.resources if r.kind == "station"), key=lambda r: r.use)
    assert use.value == pytest.approx(fullest.use)
    assert use.number_format == "0%"
    assert working.value == pytest.approx(fullest.hours.working)
    assert working.number_format == "#,##0.00"


@pytest.mark.parametrize("begin", ["=", "+", "-", "@", "\t=", "\r="])
def test_a_text_that_looks_like_a_formula_stays_text(given: Answer, begin: str) -> None:
    text = f'{begin}HYPERLINK("http://example.invalid","x")'
    items = {key: replace(item, name=text) for key, item in given.plan.items.items()}
    book = read(workbook(replace(given, plan=replace(given.plan, name=text, items=items))))
    seen = 0
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type != "f", (sheet.title, cell.coordinate)
                if (
                    isinstance(cell.value, str)
                    and "HYPERLINK" in cell.value
                    and cell.value.lstrip()[:1] == begin.lstrip()[:1]
                ):
                    assert cell.quotePrefix
                    seen += 1
    assert seen > 0


def test_the_provenance_is_told(given: Answer) -> None:
    rows = {row[0].value: row[1].value for row in read(workbook(given))["Provenance"].iter_rows(min_row=2)}
    assert rows["fingerprint of the plan"] == given.provenance.fingerprint
    assert rows["Linewright"] == given.provenance.version


def test_an_interval_takes_two_columns() -> None:
    columns, rows = _spread(Table("t", ("what", "rate", "lost"), (("a", "36.01 ± 0.02", "4.5 ± 0.8 %"), ("b", "", ""))))
    assert columns == ["what", "rate", "rate, ±", "lost", "lost, ±"]
    assert rows[0] == ["a", 36.01, 0.02, 0.045, 0.008]
    assert rows[1][1:] == ["", None, "", None]


def test_names_of_sheets_are_ones_that_programs_take() -> None:
    names: set[str] = set()
    long = "Where the [cost]: arises / for all * of? it \\ and more"
    made = [_name(long, names) for _ in range(12)]
    assert len({name.casefold() for name in made}) == 12
    assert all(len(name) <= 31 and not set("[]:*?/\\") & set(name) for name in made)
    assert _name("''", names) == "Table"


def test_a_told_number_is_a_number() -> None:
    told = Told(0.8421, "84 %")
    assert show(told) == "84 %"
    assert told * 2 == pytest.approx(1.6842)
    assert Table("t", ("a",), ((told,),)).to_polars()["a"].to_list() == [0.8421]


def test_whole_tables_of_the_engines_have_names_and_not_ids(given: Answer) -> None:
    items = {key: replace(item, name=f"Item of {key}") for key, item in given.plan.items.items()}
    stations = {key: replace(station, name=f"Place of {key}") for key, station in given.plan.stations.items()}
    book = read(workbook(replace(given, plan=replace(given.plan, items=items, stations=stations))))
    said = [row[0].value for row in book["All items"].iter_rows(min_row=2)]
    assert said == [f"Item of {item}" for item in given.flow.items]
    rows = [[cell.value for cell in row] for row in book["All stations, crews and tools"].iter_rows(min_row=2)]
    resources = [r.id for r in given.capacity.resources if r.kind == "station"]
    assert [row[1] for row in rows if row[0] == "station"] == [f"Place of {key}" for key in resources]
    heads = [cell.value for cell in book["All parts of the cost"][1]]
    assert heads[1].startswith(f"Item of {given.cost.products[0].item} [")
