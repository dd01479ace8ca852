"""Readings and counts from a table file, ready for a chart or a capability study.

A long table has one reading a row, with or without the subgroup it belongs to; a wide one has a subgroup a row. Counts
come with the size of each sample. All numbers come back in one unit, which is named.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from linewright.base.problems import ProblemsError
from linewright.base.tables import Sheet, read_sheet, split_heading
from linewright.base.units import BASE, UnitError, read_quantity

Floats = NDArray[np.float64]
_LONG = 500_000  # bytes from which a table is worth a reader of its own


@dataclass(frozen=True)
class Measurements:
    """Readings in the order of the file, their unit (empty: none was written), and the subgroups, if any.

    ``subgroups`` is a table where they are of one size, else a list of rows; None where there are none.
    """

    values: Floats
    unit: str
    subgroups: Floats | list[Floats] | None


@dataclass(frozen=True)
class Counts:
    """Counts and the size of each sample, in the order of the file; ``faults`` says whether faults or faulty units."""

    counts: Floats
    sizes: Floats
    faults: bool


def read_measurements(path: str | Path, column: str = "value", subgroup: str = "subgroup") -> Measurements:
    """Measurements from a CSV or XLSX table.

    Equation: none; a reader.
    Takes:
        path [file name]: a table with a column of readings, and one of subgroup names if there are subgroups. A unit
            may stand in the heading (``value [mm]``) or beside every number.
        column [a name]: the column of readings.
        subgroup [a name]: the column of subgroups, if the table has one.
    Gives: Measurements. A heading's unit is kept; units beside numbers are turned into the base unit.
    Range: finite numbers, at least one.
    Source: none.

    Raises ProblemsError with every problem by line.

    >>> import tempfile, pathlib
    >>> file = pathlib.Path(tempfile.mkdtemp()) / "gap.csv"
    >>> _ = file.write_text("subgroup,value [mm]\\n1,5.0\\n1,5.2\\n2,4.9\\n2,5.1\\n")
    >>> found = read_measurements(file)
    >>> found.subgroups.tolist(), found.unit
    ([[5.0, 5.2], [4.9, 5.1]], 'mm')
    """
    quick = _quick(Path(path), column, subgroup)
    if quick is not None:
        return quick
    sheet = read_sheet(path)
    values, unit = _with_unit(sheet, column)
    groups = None
    if sheet.has(subgroup):
        names = sheet.texts(subgroup)
        if not all(name.strip() for name in set(names)):
            for line in [sheet.lines[i] for i, name in enumerate(names) if not name.strip()][:5]:
                sheet.problems.error(subgroup, f"line {line}: the reading has no subgroup")
        sheet.problems.raise_errors()
        groups = _grouped(names, values)
    sheet.problems.raise_errors()
    return Measurements(values, unit, groups)


def read_columns(path: str | Path, columns: Sequence[str]) -> Floats:
    """Several measurements of each piece, for one chart of them together.

    Equation: none; a reader.
    Takes:
        path [file name]: a table with the columns named.
        columns [names]: of the measurements, each in a unit of its own; at least two.
    Gives: one row a piece, one column a measurement.
    Range: finite numbers.
    Source: none.

    Raises ProblemsError with every problem by line.

    >>> import tempfile, pathlib
    >>> file = pathlib.Path(tempfile.mkdtemp()) / "size.csv"
    >>> _ = file.write_text("length,width\\n5.0,2.0\\n5.1,2.1\\n")
    >>> read_columns(file, ["length", "width"]).tolist()
    [[5.0, 2.0], [5.1, 2.1]]
    """
    sheet = read_sheet(path)
    found = [sheet.numbers(name) for name in columns]
    if len(set(columns)) < 2:
        sheet.problems.error("columns", "one measurement", value=", ".join(columns), expected="at least two")
    sheet.problems.raise_errors()
    return np.column_stack(found)


def has_counts(path: str | Path) -> bool:
    """Whether a CSV table holds counts (a column ``faulty`` or ``faults``) rather than measurements.

    Equation: none; it looks at the headings.
    Takes:
        path [file name]: a CSV or XLSX table.
    Gives: yes or no; no for a file that cannot be read, which the readers then say.
    Range: any.
    Source: none.

    >>> has_counts("nowhere.csv")
    False
    """
    file = Path(path)
    if file.suffix.lower() == ".xlsx" and file.is_file():
        names = set(read_sheet(file).headings)
    elif file.is_file():
        with file.open(encoding="utf-8-sig", errors="replace", newline="") as text:
            names = {split_heading(cell.strip('"'))[0] for cell in re.split("[,;]", text.readline(10_000).strip())}
    else:
        return False
    return bool(names & {"faulty", "faults"})


def read_counts(path: str | Path) -> Counts:
    """Counts of faulty units or of faults from a CSV or XLSX table.

    Equation: none; a reader.
    Takes:
        path [file name]: a table with the columns ``faulty`` and ``inspected``, or ``faults`` and ``units`` (left out:
            each sample is one unit).
    Gives: Counts.
    Range: whole counts from 0; sizes above 0. What a chart asks beyond that, the chart checks.
    Source: none.

    Raises ProblemsError with every problem by line.

    >>> import tempfile, pathlib
    >>> file = pathlib.Path(tempfile.mkdtemp()) / "seams.csv"
    >>> _ = file.write_text("faulty,inspected\\n2,50\\n0,50\\n")
    >>> read_counts(file).counts.tolist()
    [2.0, 0.0]
    """
    sheet = read_sheet(path)
    faults = sheet.has("faults") and not sheet.has("faulty")
    name, size_name = ("faults", "units") if faults else ("faulty", "inspected")
    counts = sheet.numbers(name)
    sizes = sheet.numbers(size_name) if sheet.has(size_name) or not faults else np.ones(counts.size)
    for which, values, bad in (
        (name, counts, (counts < 0) | (counts != np.round(counts))),
        (size_name, sizes, sizes <= 0),
    ):
        for i in np.flatnonzero(bad & np.isfinite(values))[:5]:
            expected = "a whole count from 0" if which == name else "a size above 0"
            sheet.problems.error(
                which, f"line {sheet.lines[i]}: out of range", value=float(values[i]), expected=expected
            )
    sheet.problems.raise_errors()
    return Counts(counts, sizes, faults)


def _quick(path: Path, column: str, subgroup: str) -> Measurements | None:
    """A long CSV table of plain numbers, read whole by NumPy; None where the table needs the careful reader.

    Nothing is checked here that the careful reader would not find right: one bad cell, and it reads the table anew.
    """
    if path.suffix.lower() != ".csv" or not path.is_file() or path.stat().st_size < _LONG:
        return None
    with path.open(encoding="utf-8-sig", newline="") as file:
        head = file.readline()
        names = [split_heading(cell) for cell in head.strip().split(",")]
        found = [name for name, _ in names]
        if '"' in head or ";" in head or column not in found or len(set(found)) != len(found):
            return None
        try:
            table = np.loadtxt(file, delimiter=",", ndmin=2, comments=None, dtype=np.float64)
        except (ValueError, UnicodeDecodeError):
            return None
    if table.size == 0 or table.shape[1] != len(found) or not np.isfinite(table).all():
        return None
    at = found.index(column)
    values = np.ascontiguousarray(table[:, at])
    groups = _by_number(table[:, found.index(subgroup)], values) if subgroup in found else None
    return Measurements(values, names[at][1], groups)


def _by_number(names: Floats, values: Floats) -> Floats | list[Floats]:
    """Readings by a subgroup that is named by a number, in the order of each subgroup's first reading."""
    _, first, member = np.unique(names, return_index=True, return_inverse=True)
    rank = np.empty(first.size, dtype=np.int64)
    rank[np.argsort(first)] = np.arange(first.size)
    return _split(rank[member], values)


def _with_unit(sheet: Sheet, column: str) -> tuple[Floats, str]:
    if not sheet.has(column):
        sheet.texts(column)  # says which columns there are
        raise ProblemsError(sheet.problems)
    heading = sheet.units[sheet.headings.index(column)]
    if heading:
        return sheet.numbers(column), heading
    for cell in sheet.texts(column):
        try:
            float(cell)
        except ValueError:
            try:
                dimension = read_quantity(cell).dimension
            except UnitError:
                break
            return sheet.numbers(column, dimension), BASE.get(dimension, "")
        break
    return sheet.numbers(column), ""


def _grouped(names: list[str], values: Floats) -> Floats | list[Floats]:
    """Readings by subgroup, in the order of each subgroup's first reading."""
    text = np.array(names)
    begins = np.concatenate([[True], text[1:] != text[:-1]])  # readings of a subgroup mostly stand together
    number_of: dict[str, int] = {}
    runs = [number_of.setdefault(name, len(number_of)) for name in text[begins].tolist()]
    member = np.array(runs)[np.cumsum(begins) - 1]
    return _split(member, values)


def _split(member: NDArray[np.int64], values: Floats) -> Floats | list[Floats]:
    """Readings by subgroup number: a table where all are of one size, else a list."""
    order = np.argsort(member, kind="stable")
    size = np.bincount(member)
    if np.all(size == size[0]):
        return values[order].reshape(size.size, -1)
    return np.split(values[order], np.cumsum(size)[:-1])
