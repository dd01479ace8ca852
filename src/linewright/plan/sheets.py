"""Tables beside a plan: the rows of a CSV file or of a spreadsheet, as tables of fields.

Columns are field names; a dot goes into a table (``takes.thread``). A cell holds what the plan file would hold, text
without quotes; a cell that begins with ``{`` or ``[`` is read as TOML. Formulas are never evaluated.
"""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from linewright.base.packed import why_too_large
from linewright.base.problems import Problem, Problems, did_you_mean
from linewright.plan.beside import OutsideError, beside
from linewright.plan.forms import Form, Text
from linewright.plan.model import Place
from linewright.plan.operation_fields import OPERATION
from linewright.plan.paths import join
from linewright.plan.record import Record

LARGEST = 20_000_000
"""Bytes of a table file; a route of 5,000 rows has about 1 million."""
MOST_ROWS = 100_000
MOST_COLUMNS = 500
LATEST_HEADER = 10
"""Rows above the header, a title perhaps, that are passed over."""
ENDS = (".csv", ".xlsx", ".xlsm")


@dataclass(frozen=True, slots=True)
class Row:
    """One row as a table of fields, and its number in the file from 1."""

    fields: dict[str, Any]
    number: int


class TableError(Exception):
    """A table that cannot be read at all, with a hint and a line."""

    def __init__(self, what: str, hint: str | None = None, line: int | None = None) -> None:
        super().__init__(what)
        self.what, self.hint, self.line = what, hint, line


Lines = list[tuple[int, Sequence[object]]]
"""Number from 1 and cells of each line of a table."""


def read_rows(file: Path, sheet: str | None, problems: Problems) -> list[Row]:
    """The rows of a table file; problems of single cells are added. Raises TableError for a table of no use."""
    if file.suffix.casefold() not in ENDS:
        raise TableError(f'a table "{file.name}" of a kind not known here', f"one of {', '.join(ENDS)}")
    try:
        if file.stat().st_size > LARGEST:
            raise TableError(f"this table has more than {LARGEST // 1_000_000} MB")
        if not file.is_file():
            raise TableError("this is no file")
        lines = _csv(file.read_bytes()) if file.suffix.casefold() == ".csv" else _workbook(file, sheet)
    except OSError as wrong:
        raise TableError(f"the table cannot be read: {wrong.strerror or wrong}") from None
    except ValueError as wrong:  # a name that no file can have
        raise TableError(f"the table cannot be read: {wrong}") from None
    return _Table(file, problems).rows(lines)


def _csv(data: bytes) -> Lines:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise TableError("this table is not UTF-8 text", "save it as CSV UTF-8") from None
    if "\0" in text:
        raise TableError("this is a binary file, not a table")
    first = text.partition("\n")[0]
    mark = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    try:
        return [(reader.line_num, cells) for cells in reader]
    except csv.Error as wrong:
        raise TableError(f"this is no table: {wrong}", line=reader.line_num) from None


def _workbook(file: Path, sheet: str | None) -> Lines:
    import warnings
    import zipfile
    import zlib

    broken = (
        zipfile.BadZipFile,
        zlib.error,
        LookupError,
        ValueError,
        TypeError,
        AttributeError,
        SyntaxError,
        RuntimeError,
    )
    try:
        too_large = why_too_large(file)
        if not too_large:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # styles and extensions that do not matter here
                return _cells(file, sheet)
    except broken as wrong:
        raise TableError(f'"{file.name}" is not a spreadsheet that can be read') from wrong
    raise TableError(too_large)


def _cells(file: Path, sheet: str | None) -> Lines:
    import openpyxl

    book = openpyxl.load_workbook(file, read_only=True, data_only=False)
    try:
        if sheet is not None and sheet not in book.sheetnames:
            raise TableError(f'"{file.name}" has no sheet "{sheet}"', did_you_mean(sheet, book.sheetnames))
        page = book[sheet] if sheet is not None else book.worksheets[0]
        return list(enumerate(page.iter_rows(values_only=True, max_row=MOST_ROWS, max_col=MOST_COLUMNS), start=1))
    finally:
        book.close()


class _Table:
    """The rows of one table: its header first, then a table of fields for each row that is not empty."""

    def __init__(self, file: Path, problems: Problems) -> None:
        self.file, self.problems = file, problems

    def note(self, what: str, line: int, value: object = None, hint: str | None = None) -> None:
        """Note a problem of a row."""
        text = None if value is None else str(value)[:60]
        self.problems.extend([Problem("", what, text, None, hint, file=str(self.file), line=line)])

    def rows(self, lines: Lines) -> list[Row]:
        """All rows with content."""
        columns: dict[int, str] = {}
        rows: list[Row] = []
        first = 0
        for number, cells in lines:
            if all(_blank(cell) for cell in cells):
                continue
            if not columns:
                first = first or number
                if any(str(cell).strip() == "id" for cell in cells):
                    columns = self.header(cells, number)
                elif number >= first + LATEST_HEADER:
                    break
                continue
            fields = self.row(columns, cells, number)
            if "id" in fields:
                rows.append(Row(fields, number))
            else:
                hint = "of merged cells only the first holds anything; give every row its own id"
                self.note("this row has no id", number, hint=hint)
        if not first:
            raise TableError("this table is empty")
        if not columns:
            raise TableError('this table has no column "id"', "its columns are the fields of an operation", first)
        if not rows:
            raise TableError("this table has a header and no rows")
        return rows

    def header(self, cells: Sequence[object], number: int) -> dict[int, str]:
        """Column number to field path."""
        columns: dict[int, str] = {}
        for place, cell in enumerate(cells):
            if _blank(cell):
                continue
            name = str(cell).strip()
            if name in columns.values():
                self.note(f'two columns are called "{name}"', number, name)
            if form_of(name) is None:
                known = [f.key for f in OPERATION.fields]
                self.note(f'no field of an operation is called "{name}"', number, name, did_you_mean(name, known))
                continue
            columns[place] = name
        return columns

    def row(self, columns: dict[int, str], cells: Sequence[object], number: int) -> dict[str, Any]:
        """A row as a table of fields."""
        fields: dict[str, Any] = {}
        for place, cell in enumerate(cells):
            if _blank(cell):
                continue
            if place not in columns:
                continue
            value = self.cell(cell, columns[place], number)
            if value is not None:
                self.put(fields, columns[place], value, number)
        return fields

    def put(self, fields: dict[str, Any], name: str, value: Any, number: int) -> None:
        """Set the field that a column names, making tables on the way."""
        *way, last = name.split(".")
        here = fields
        for part in way:
            following = here.setdefault(part, {})
            if not isinstance(following, dict):
                self.note(f'column "{name}" goes into "{part}", which has a cell of its own', number, value)
                return
            here = following
        if last in here:
            self.note(f'column "{name}" is given twice in this row', number, value)
        here[last] = value

    def cell(self, cell: object, name: str, number: int) -> Any:
        """The value that a cell stands for."""
        form = form_of(name)
        if isinstance(cell, str):
            return self.text(cell.strip(), name, form, number)
        if isinstance(cell, bool):
            return cell
        if isinstance(cell, (int, float)):
            if form is not None and form.textual:
                return f"{cell:g}" if isinstance(cell, float) else str(cell)
            return int(cell) if isinstance(cell, float) and cell.is_integer() else cell
        self.note(f'column "{name}" holds a {type(cell).__name__}', number, cell, "write it as text")
        return None

    def text(self, text: str, name: str, form: Form | None, number: int) -> Any:
        """The value of a cell of text."""
        if text.startswith("="):
            self.note(f'column "{name}" holds a formula', number, text, "paste its value instead")
            return None
        if text.startswith("#") and text.endswith(("!", "?", "A")):
            self.note(f'column "{name}" holds an error of the spreadsheet', number, text)
            return None
        if text[:1] in "{[":
            try:
                return tomllib.loads(f"cell = {text}")["cell"]
            except (tomllib.TOMLDecodeError, RecursionError):
                self.note(f'column "{name}" is neither text nor a table', number, text, "a table is { tub = 1 }")
                return None
        if form is not None and form.textual:
            listed = name.split(".")[-1] in LISTED and "," in text
            return [part.strip() for part in text.split(",") if part.strip()] if listed else text
        if text in ("true", "false"):
            return text == "true"
        return _number(text)


LISTED = ("station", "after", "hazards")
"""Fields in which commas part several words."""


def _blank(cell: object) -> bool:
    return cell is None or (isinstance(cell, str) and not cell.strip())


def _number(text: str) -> int | float | str:
    try:
        return int(text)
    except ValueError:
        pass
    try:
        return float(text)
    except ValueError:
        return text


def form_of(name: str) -> Form | None:
    """The form of the field of an operation that a column names, None where there is no such field.

    Below a table with free names (takes, crew, faults) any name is a field.
    """
    first, _, rest = name.partition(".")
    field = OPERATION.by_key.get(first)
    if field is None:
        return Text() if first in OPERATION.reserved else None
    return _below(field.form, rest)


def _below(form: Form, rest: str) -> Form | None:
    if not rest:
        return form
    first, _, rest = rest.partition(".")
    if isinstance(form, Record):
        field = form.by_key.get(first)
        return None if field is None else _below(field.form, rest)
    return ANY


class _Any(Form):
    """A cell below a table with free names."""


ANY = _Any()


UNREAD = ()
"""What stands for the operations of a table that could not be read (a TOML file holds no tuple)."""


def with_tables(document: dict[str, Any], folder: Path, problems: Problems) -> tuple[dict[str, Any], dict[str, Place]]:
    """The document with the operations of every ``{ table = ... }`` read in, and where each row came from.

    Problems of a table name its file and row; those of a table of no use name the field that asks for it.
    """
    places: dict[str, Place] = {}
    routes = document.get("routes")
    if not isinstance(routes, dict):
        return document, places
    read = dict(routes)
    for id, route in routes.items():
        source = route.get("operations") if isinstance(route, dict) else None
        if isinstance(source, dict):
            path = f"{join('routes', id)}.operations"
            rows = _asked(source, path, folder, problems)
            read[id] = {**route, "operations": UNREAD if rows is None else [row.fields for row in rows]}
            file = str(folder / str(source.get("table")))
            places.update({f"{path}[{k}]": Place(file, row.number) for k, row in enumerate(rows or ())})
    return {**document, "routes": read}, places


def _asked(source: dict[str, Any], path: str, folder: Path, problems: Problems) -> list[Row] | None:
    """The rows of the table that a field asks for; None, with a problem noted, where it is of no use."""
    expected = '{ table = "boot.xlsx", sheet = "route" }'
    name, sheet = source.get("table"), source.get("sheet")
    stray = [key for key in source if key not in ("table", "sheet")]
    if not isinstance(name, str) or not name or not isinstance(sheet, (str, type(None))) or stray:
        problems.error(path, "this does not name a table", value=source, expected=expected)
        return None
    try:
        return read_rows(beside(folder, name), sheet, problems)
    except OutsideError as wrong:
        problems.error(path, f"the table cannot be read: {wrong}", value=name)
        return None
    except TableError as wrong:
        file = folder / name
        if wrong.line is None:
            problems.error(path, wrong.what, value=name, hint=wrong.hint)
        else:
            problems.extend([Problem(path, wrong.what, None, None, wrong.hint, file=str(file), line=wrong.line)])
        return None
