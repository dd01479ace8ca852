"""Every table of an answer as one workbook (XLSX): a sheet a table, numbers as numbers, texts as texts and never more.

A text of a plan that begins like a formula is stored as text and marked so, and stays text when somebody edits it.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from linewright.answer.model import Answer
from linewright.base.results import Table, Told
from linewright.report import tables, words
from linewright.report.blocks import Grid, Listing
from linewright.report.head import head_of
from linewright.report.papers.press import UNPRINTABLE
from linewright.report.sections import QUESTIONS
from linewright.report.telling import telling

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell
    from openpyxl.worksheet.worksheet import Worksheet

LONGEST_NAME = 31
"""Letters of a sheet's name that spreadsheet programs take."""
LONGEST_CELL = 32_767
WIDEST = 60

_NUMBER = re.compile(r"[+-]?\d[\d,]*(\.\d+)?( %)?")
_INTERVAL = re.compile(r"([+-]?\d[\d,]*(?:\.\d+)?) ± (\d[\d,]*(?:\.\d+)?)( %)?")


def workbook(answer: Answer) -> bytes:
    """Every table of an answer as the bytes of an XLSX file.

    First the answer, the contents and the provenance; then a sheet for each table of the report, and the whole tables
    of the engines. The first row of a table has the headings with their units and stays in sight. A value with an
    interval takes two columns. Shares are numbers shown as percent.
    """
    from openpyxl import Workbook

    book = Workbook()
    names: set[str] = set()
    first = book.active
    assert first is not None
    head = head_of(answer)
    said = (("question", head.asked), ("answer", f"{head.verdict} {head.more}".strip()), *head.facts)
    front = [
        Table("Answer", ("what", "value"), said),
        Table("Provenance", ("what", "value"), tuple(_provenance(answer))),
    ]
    found = [*front, *_tables(answer)]
    titles = [_name(table.title, names) for table in (found[0], Table("Contents", (), ()), *found[1:])]
    contents = Table(
        "Contents", ("sheet", "table", "note"),
        tuple((title, table.title, table.note) for title, table in
              zip((titles[0], *titles[2:]), found, strict=True)),
    )  # fmt: skip
    every = [found[0], contents, *found[1:]]
    for k, (title, table) in enumerate(zip(titles, every, strict=True)):
        sheet = first if k == 0 else book.create_sheet()
        sheet.title = title
        _fill(sheet, table)
        if table is contents:
            for row in range(2, sheet.max_row + 1):
                cell = sheet.cell(row, 1)
                cell.hyperlink = f"#'{str(cell.value).replace(chr(39), chr(39) * 2)}'!A1"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _provenance(answer: Answer) -> Iterator[tuple[str, object]]:
    came = answer.provenance
    yield "plan", answer.plan.name
    yield "fingerprint of the plan", came.fingerprint
    yield "Linewright", came.version
    if came.seed is not None:
        yield "seed of the simulation", came.seed
    yield "status of the rate", answer.capacity.honesty.status
    if answer.simulation is not None:
        yield "replications", answer.simulation.as_planned.honesty.replications
    if answer.season_run is not None:
        yield "replications of the season", answer.season_run.honesty.replications
        yield "seed of the season", answer.season_run.provenance.seed
    yield "money", answer.plan.money


def _tables(answer: Answer) -> Iterator[Table]:
    """The tables of the report in its order, then those of the engines that say more."""
    yield _steps(answer)
    for make in QUESTIONS:
        for block in make(answer).body:
            if isinstance(block, Grid) and block.table.rows:
                yield block.table
            elif isinstance(block, Listing) and block.texts:
                yield Table(block.title, ("text",), tuple((text,) for text in block.texts))
    cautions = tuple((c.hazard, words.listed(c.where), c.text) for c in answer.cautions)
    if cautions:
        yield Table("What can hurt someone", ("hazard", "where", "caution"), cautions)
    for title, table in (
        ("All items", _items(answer)),
        ("All stations, crews and tools", _resources(answer)),
        ("All parts of the cost", _costs(answer)),
    ):
        if table.rows:
            yield Table(title, table.columns, table.rows, table.note or table.title)


def _items(answer: Answer) -> Table:
    """The whole table of the balance, its items as people call them."""
    names, table = tables.item_names(answer), answer.flow.to_table()
    rows = tuple((names.get(item, item), *row[1:]) for item, row in zip(answer.flow.items, table.rows, strict=True))
    return Table(table.title, table.columns, rows, table.note)


def _resources(answer: Answer) -> Table:
    """The whole table of the loads, with names."""
    found, table = answer.capacity.resources, answer.capacity.to_table()
    rows = tuple((row[0], tables.resource_name(answer, r), *row[2:]) for r, row in zip(found, table.rows, strict=True))
    return Table(table.title, table.columns, rows, table.note)


def _costs(answer: Answer) -> Table:
    """Every part of the cost, unrounded, called as in the report."""
    names, table, products = tables.item_names(answer), answer.cost.to_table(), answer.cost.products
    called = {part.replace("_", " "): word for part, word in tables.PARTS.items()}
    rows = tuple((called.get(str(row[0]), row[0]), *row[1:]) for row in table.rows)
    heads = (f"{names.get(p.item, p.item)} [{answer.cost.money}/{p.unit}]" for p in products)
    return Table(table.title, (table.columns[0], *heads), rows, table.note)


def _steps(answer: Answer) -> Table:
    rows = []
    for chapter in telling(answer.plan, answer.network):
        for step in chapter.steps:
            parts = "; ".join(f"{part.much} {part.item}" for part in step.parts)
            check = step.check.looks_for if step.check is not None else ""
            rows.append((step.number, step.title, chapter.title, step.symbol, step.time, step.people, step.tools, parts,
                         check, words.listed(step.hazards)))  # fmt: skip
    columns = ("step", "name", "route", "symbol", "time", "people", "tools", "takes", "looks for", "hazards")
    return Table("Steps", columns, tuple(rows))


def _name(title: str, names: set[str]) -> str:
    """A name for a sheet that no other has, of letters that a spreadsheet program takes."""
    plain = re.sub(r"[\[\]:*?/\\]", " ", UNPRINTABLE.sub("", title)).strip(" '") or "Table"
    made, number = plain[:LONGEST_NAME].strip(), 1
    while made.casefold() in names:
        number += 1
        end = f" {number}"
        made = plain[: LONGEST_NAME - len(end)].strip() + end
    names.add(made.casefold())
    return made


def _fill(sheet: Worksheet, table: Table) -> None:
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    columns, rows = _spread(table)
    for k, column in enumerate(columns, start=1):
        _write(sheet.cell(1, k), column)
        sheet.cell(1, k).font = Font(bold=True)
        sheet.cell(1, k).alignment = Alignment(wrap_text=True, vertical="top")
    for at, row in enumerate(rows, start=2):
        for k, value in enumerate(row, start=1):
            _write(sheet.cell(at, k), value)
    for k, column in enumerate(columns):
        longest = max([len(column), *(len(str(row[k])) if row[k] is not None else 0 for row in rows)])
        sheet.column_dimensions[get_column_letter(k + 1)].width = min(WIDEST, max(9, longest + 2))
    sheet.freeze_panes = "A2"


def _spread(table: Table) -> tuple[list[str], list[list[object]]]:
    """The columns and rows as they are stored: an interval becomes two columns, a number told in words a number."""
    columns: list[str] = []
    cells: list[list[object]] = []
    for k, heading in enumerate(table.columns):
        column = [row[k] for row in table.rows]
        pairs = [_INTERVAL.fullmatch(cell) if isinstance(cell, str) else None for cell in column]
        if any(pairs):
            columns += [heading, f"{heading}, ±"]
            cells.append(
                [
                    _parsed(pair[1] + (pair[3] or "")) if pair else _typed(cell)
                    for pair, cell in zip(pairs, column, strict=True)
                ]
            )
            cells.append([_parsed(pair[2] + (pair[3] or "")) if pair else None for pair in pairs])
        else:
            columns.append(heading)
            numbers = all(not isinstance(cell, str) or not cell or _NUMBER.fullmatch(cell) for cell in column)
            cells.append([_typed(cell, numbers=numbers) for cell in column])
    return columns, [list(row) for row in zip(*cells, strict=True)]


def _typed(cell: object, *, numbers: bool = True) -> object:
    """A cell as it is stored; a text that reads as a number is one where its whole column does."""
    if cell is None or isinstance(cell, (bool, Told)):
        return cell
    if isinstance(cell, (np.bool_, np.number)):
        return cell.item()
    if isinstance(cell, str):
        return _parsed(cell) if numbers and _NUMBER.fullmatch(cell) else cell
    return cell if isinstance(cell, (int, float)) else str(cell)


def _parsed(text: str) -> Told:
    """A number that stands in a table as text, with the way it is told."""
    part = text.endswith("%")
    number = float(text.removesuffix("%").strip().replace(",", ""))
    return Told(number / 100 if part else number, text)


def _write(cell: Cell | Any, value: object) -> None:
    """Put a value into a cell: a number as a number with its format, anything else as text that nothing evaluates."""
    if value is None or value == "":
        return
    if isinstance(value, float) and not math.isfinite(value):
        value = "unlimited" if value > 0 else ""
    if isinstance(value, Told):
        cell.value = float(value)
        cell.number_format = _format(value.text)
        return
    if isinstance(value, (bool, int, float)):
        cell.value = value
        return
    text = UNPRINTABLE.sub("", str(value))[:LONGEST_CELL]
    cell.value = text
    cell.data_type = "s"
    if text[:1] in "=+-@\t\r":
        cell.quotePrefix = True


def _format(text: str) -> str:
    """The number format under which a number looks as it is told.

    >>> _format("84 %"), _format("1,234.50"), _format("12")
    ('0%', '#,##0.00', '#,##0')
    """
    number = text.removesuffix("%").strip()
    digits = len(number.partition(".")[2])
    end = f".{'0' * digits}" if digits else ""
    return f"0{end}%" if text.endswith("%") else f"#,##0{end}"
