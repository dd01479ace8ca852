"""A table of readings from a CSV or XLSX file: columns by name, numbers with their unit, problems with their line.

The first row names the columns; a unit may stand in the heading (``time [s]``) or beside each number (``4.2 s``), and
all numbers of a column come back in one unit. What cannot be read is named by file, line and column.
"""

from __future__ import annotations

import csv
import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from linewright.base.packed import why_too_large
from linewright.base.problems import Problems, did_you_mean
from linewright.base.units import UnitError, read_quantity, read_unit

Block = tuple[list[list[str]], bool]  # rows, and whether each takes one line of the file

_SHOWN = 5
_BLOCK = 500  # rows taken at a time: few enough to die young, which spares the garbage collector


@dataclass(frozen=True)
class Sheet:
    """A table as written: headings (unit taken off), the unit of each heading or "", cells as text, line numbers."""

    file: str
    headings: tuple[str, ...]
    units: tuple[str, ...]
    columns: tuple[list[str], ...]
    lines: Sequence[int]
    problems: Problems = field(default_factory=Problems)

    def __len__(self) -> int:
        return len(self.lines)

    def has(self, name: str) -> bool:
        """Whether a column of that name exists."""
        return name in self.headings

    def texts(self, name: str) -> list[str]:
        """The cells of a column as text; an absent column is a problem and comes back empty."""
        if name not in self.headings:
            hint = did_you_mean(name, self.headings)
            self._error(name, 1, f'there is no column "{name}"', hint=hint)
            return []
        return self.columns[self.headings.index(name)]

    def numbers(self, name: str, dimension: str | None = None, *, blanks: bool = False) -> NDArray[np.float64]:
        """The numbers of a column; with ``dimension`` (time, mass, length, share) in its base unit, else bare.

        An empty cell, a text and a number that is not finite are problems; so is a bare number where a unit is needed
        and a mix of bare numbers and numbers with units. With ``blanks`` an empty cell is allowed and comes as NaN.
        """
        cells = self.texts(name)
        if not cells:
            return np.empty(0)
        heading_unit = self.units[self.headings.index(name)]
        factor, offset = self._factor(name, heading_unit, dimension)
        try:
            plain = np.array([float(c) for c in cells])
        except ValueError:
            plain = None
        if plain is not None and np.isfinite(plain).all() and (dimension in (None, "share", "number") or heading_unit):
            return plain * factor + offset
        return self._one_by_one(name, cells, heading_unit, dimension, factor, offset, blanks)

    def _factor(self, name: str, unit: str, dimension: str | None) -> tuple[float, float]:
        if not unit or dimension is None:
            return 1.0, 0.0
        try:
            found = read_unit(unit)
        except UnitError as wrong:
            self._error(name, 1, str(wrong), value=unit, hint=wrong.hint)
            return 1.0, 0.0
        if found.dimension != dimension:
            self._error(name, 1, f"the heading's unit is a {found.dimension}", value=unit, expected=f"a {dimension}")
        return found.factor, found.offset

    def _one_by_one(
        self,
        name: str,
        cells: list[str],
        heading_unit: str,
        dimension: str | None,
        factor: float,
        offset: float,
        blanks: bool,
    ) -> NDArray[np.float64]:
        out = np.full(len(cells), math.nan)
        bare = 0
        wrong: list[tuple[int, str, str]] = []
        for i, cell in enumerate(cells):
            text = cell.strip()
            if blanks and not text:
                continue
            try:
                value = float(text)
                if not math.isfinite(value):
                    raise UnitError("this is not a finite number")
                bare += 1
                out[i] = value * factor + offset
                continue
            except UnitError as problem:
                wrong.append((i, problem.what, text))
                continue
            except ValueError:
                pass
            try:
                if not text:
                    raise UnitError("the cell is empty")
                if dimension is None:
                    raise UnitError("this is not a number")
                out[i] = read_quantity(text, [dimension]).value
            except UnitError as problem:
                wrong.append((i, problem.what, text))
        for i, what, text in wrong[:_SHOWN]:
            self._error(name, self.lines[i], what, value=text or None)
        if len(wrong) > _SHOWN:
            self._error(name, self.lines[wrong[_SHOWN][0]], f"and {len(wrong) - _SHOWN} more like these")
        needs_unit = dimension not in (None, "share", "number") and not heading_unit
        if bare and needs_unit:
            mixed = "some numbers have a unit and some have none" if bare < len(cells) - len(wrong) else "no unit"
            self._error(
                name,
                1,
                mixed,
                expected=f'a unit in the heading, such as "{name} [s]"',
                hint="or beside every number",
            )
        return out

    def _error(
        self,
        name: str,
        line: int,
        what: str,
        *,
        value: object = None,
        expected: str | None = None,
        hint: str | None = None,
    ) -> None:
        self.problems.error(name, what, value=value, expected=expected, hint=hint)
        self.problems.found[-1] = replace(self.problems.found[-1], file=self.file, line=line)


def read_sheet(path: str | Path, *, sheet: str | None = None) -> Sheet:
    """Read a CSV (UTF-8, comma or semicolon) or XLSX table whose first row names the columns.

    Returns the Sheet, whose ``problems`` collects what is wrong; raises ProblemsError where there is no table at all
    (file absent, empty, only a heading, or an unknown kind). Blank rows are skipped. ``sheet`` names an XLSX sheet.
    """
    path = Path(path)
    problems = Problems()
    if not path.is_file():
        problems.error("", "there is no such file", value=str(path))
        problems.raise_errors()
    kind = path.suffix.lower()
    if kind not in (".csv", ".xlsx", ".txt"):
        problems.error("", "this kind of file is not read", value=path.name, expected="a CSV or XLSX table")
        problems.raise_errors()
    blocks = _csv_blocks(path, problems) if kind != ".xlsx" else _xlsx_blocks(path, sheet, problems)
    head = next(blocks, None)
    problems.raise_errors()
    headings = [split_heading(h) for h in head[0][0]] if head else []
    columns: tuple[list[str], ...] = tuple([] for _ in headings)
    lines: list[int] = []
    line = 2
    for block in blocks:
        line = _add_block(block, line, columns, lines, str(path), problems)
    if not any(name for name, _ in headings) or not lines:
        problems.error("", "the table is empty", value=path.name, expected="a row of headings and rows of readings")
        problems.raise_errors()
    names = tuple(h[0] for h in headings)
    for name in sorted({n for n in names if names.count(n) > 1}):
        problems.error(name, "two columns have this name")
    return Sheet(str(path), names, tuple(h[1] for h in headings), columns, lines, problems)


def split_heading(text: str) -> tuple[str, str]:
    """``time [s]`` as ("time", "s")."""
    text = text.strip().removeprefix("﻿")
    if text.endswith("]") and "[" in text:
        name, _, unit = text[:-1].rpartition("[")
        return name.strip().lower().replace(" ", "_"), unit.strip()
    return text.lower().replace(" ", "_"), ""


def _add_block(
    block: Block, line: int, columns: tuple[list[str], ...], lines: list[int], file: str, problems: Problems
) -> int:
    """Add rows to the columns; the line after them. The first way is the fast one: all rows whole, one line each."""
    width = len(columns)
    rows, one_line_each = block
    if one_line_each and set(map(len, rows)) == {width} and all(map(any, rows)):
        for column, cells in zip(columns, zip(*rows, strict=True), strict=True):
            column.extend(cells)
        lines.extend(range(line, line + len(rows)))
        return line + len(rows)
    for row in rows:
        if any(row):
            if len(row) != width:
                problems.error("", f"this row has {len(row)} cells", expected=f"{width}, as the headings")
                problems.found[-1] = replace(problems.found[-1], file=file, line=line)
            for column, cell in zip(columns, [*row, *[""] * width], strict=False):
                column.append(cell)
            lines.append(line)
        line += 1 + sum(cell.count("\n") for cell in row)
    return line


def _csv_blocks(path: Path, problems: Problems) -> Iterator[Block]:
    """The heading row itself as its first block's only row, then rows by thousands, so that long tables stream."""
    try:
        with path.open(encoding="utf-8-sig", newline="") as stream:
            head = stream.readline()
            stream.seek(0)
            comma = ";" if head.count(";") > head.count(",") else ","
            reader = csv.reader(stream, delimiter=comma)
            size, before = 1, 0
            while rows := list(itertools.islice(reader, size)):
                yield rows, reader.line_num - before == len(rows)
                size, before = _BLOCK, reader.line_num
    except UnicodeDecodeError:
        problems.error("", "this is not a UTF-8 text", value=path.name, hint="save it as CSV UTF-8")
    except csv.Error as wrong:
        problems.error("", f"this CSV cannot be read: {wrong}", value=path.name)


def _xlsx_blocks(path: Path, sheet: str | None, problems: Problems) -> Iterator[Block]:
    import openpyxl

    try:
        too_large = why_too_large(path)
        if too_large:
            problems.error("", too_large, value=path.name)
            return
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
    except Exception as wrong:  # the library raises many kinds for a damaged file
        problems.error("", f"this workbook cannot be read: {wrong}", value=path.name)
        return
    if sheet is not None and sheet not in book.sheetnames:
        hint = did_you_mean(sheet, book.sheetnames)
        problems.error("", "there is no such sheet", value=sheet, hint=hint)
        return
    page = book[sheet] if sheet is not None else book.worksheets[0]
    rows = (["" if cell is None else str(cell) for cell in row] for row in page.iter_rows(values_only=True))
    size = 1
    while block := list(itertools.islice(rows, size)):
        yield block, True
        size = _BLOCK
    book.close()
