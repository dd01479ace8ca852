"""What a plan's text holds, for an editor: its rows as tables, the names it declares, line by line, errors or not.

Reading is lenient: lines that are no TOML are left out one by one, so that tables and names are there while somebody
types. Nothing is judged here; that is ``check_text``.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from linewright.base.problems import Problems, ProblemsError
from linewright.plan.load import parsed
from linewright.plan.model import Place
from linewright.plan.paths import join, member
from linewright.plan.places import scan
from linewright.plan.sheets import with_tables
from linewright.plan.table_fields import RECORDS
from linewright.plan.whole import rows_of, tables_of
from linewright.plan.written import inline

BROKEN = "# (a line that cannot be read) "
MOST_BROKEN = 20
EDITED = ("operations", "stations", "crews", "items")
"""The kinds of rows that are shown as tables."""
FIRST: Mapping[str, tuple[str, ...]] = {
    "operations": ("id", "name", "station", "time", "crew", "takes", "gives", "stand", "load"),
    "stations": ("name", "places"),
    "crews": ("name", "people", "wage", "shift"),
    "items": ("name", "unit", "buy", "sell", "mass"),
}
"""Columns that are always there, in this order; then whatever the rows use."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A value as one types it; ``toml`` where that is a table, a list, a number or a truth and no text."""

    text: str
    toml: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its id, path and route, where it was written (``file`` empty for the plan itself), and its cells."""

    id: str
    path: str
    route: str
    file: str
    line: int | None
    cells: dict[str, Cell]


@dataclass(frozen=True, slots=True)
class Outline:
    """``tables`` by kind: columns and rows. ``names`` by kind. ``left_out`` are lines (from 1) that were not read."""

    tables: dict[str, tuple[tuple[str, ...], tuple[Row, ...]]] = field(default_factory=dict)
    names: dict[str, list[str]] = field(default_factory=dict)
    left_out: tuple[int, ...] = ()
    whole: bool = True


def lenient(text: str) -> tuple[str, dict[int, str]] | None:
    """The text with lines that are no TOML made comments, and those lines by number from 1; None where that fails."""
    lines = text.split("\n")
    out: dict[int, str] = {}
    for _ in range(MOST_BROKEN):
        try:
            parsed("\n".join(lines))
        except ProblemsError as wrong:
            line = wrong.problems[0].line
            if line is None or line in out or line > len(lines):
                return None
            out[line] = lines[line - 1]
            lines[line - 1] = BROKEN + str(line)
        else:
            return "\n".join(lines), out
    return None


def outline(text: str, folder: Path) -> Outline:
    """The tables and names of a text; ``whole`` is False where it is so broken that nothing can be told."""
    text = text.replace("\r\n", "\n")
    read = lenient(text)
    if read is None:
        return Outline(whole=False)
    sound, out = read
    document, places = with_tables(tomllib.loads(sound), folder, Problems())
    lines = scan(sound)
    tables = {kind: _table(kind, document, places, lines, folder) for kind in EDITED}
    return Outline(tables, names_in(document), tuple(sorted(out)))


def names_in(document: Mapping[str, Any]) -> dict[str, list[str]]:
    """What a document declares, kind by kind, and what it names freely: faults and hazards."""
    names = {kind: list(table) for kind in RECORDS if isinstance(table := document.get(kind), Mapping)}
    rows = list(rows_of(document))
    names["operations"] = [row["id"] for row in rows if isinstance(row.get("id"), str)]
    faults = (row["faults"] for row in rows if isinstance(row.get("faults"), Mapping))
    names["faults"] = list(dict.fromkeys(fault for table in faults for fault in table))
    holders = [*rows, *tables_of(document, "items"), *tables_of(document, "stations")]
    named = (row["hazards"] for row in holders if isinstance(row.get("hazards"), list))
    names["hazards"] = list(dict.fromkeys(h for hazards in named for h in hazards if isinstance(h, str)))
    return {kind: [str(name) for name in found] for kind, found in names.items()}


def _table(
    kind: str, document: Mapping[str, Any], places: Mapping[str, Place], lines: Mapping[str, int], folder: Path
) -> tuple[tuple[str, ...], tuple[Row, ...]]:
    rows, used = [], dict.fromkeys(FIRST[kind])
    for id, path, route, fields in _rows(kind, document):
        place = places.get(path)
        file = _beside(place.file, folder) if place is not None else ""
        line = place.line if place is not None else lines.get(path)
        cells = {key: Cell(as_typed(value), not isinstance(value, str)) for key, value in fields.items()}
        rows.append(Row(id, path, route, file, line, cells))
        used.update(dict.fromkeys(fields))
    return tuple(used), tuple(rows)


def _rows(kind: str, document: Mapping[str, Any]) -> Iterator[tuple[str, str, str, Mapping[str, Any]]]:
    """Id, path, route and fields of every row of a kind."""
    if kind != "operations":
        table = document.get(kind)
        for id, row in table.items() if isinstance(table, Mapping) else ():
            if isinstance(row, Mapping):
                yield id, join(kind, id), "", row
        return
    routes = document.get("routes")
    for route_id, route in routes.items() if isinstance(routes, Mapping) else ():
        rows = route.get("operations") if isinstance(route, Mapping) else None
        listed = rows if isinstance(rows, list) else []
        for number, row in enumerate(listed):
            if isinstance(row, Mapping):
                id = str(row.get("id", ""))
                sure = number if member(listed, number) == number else id  # an id may be a number too
                yield id, f"{join('routes', route_id)}.operations[{sure}]", route_id, row


def _beside(file: str, folder: Path) -> str:
    return file.removeprefix(f"{folder}/").removeprefix(f"{folder}\\")


def as_typed(value: object) -> str:
    """A value as one types it into a cell: a text without its quotes, a table or a list as TOML.

    >>> as_typed("4 min"), as_typed({"fitter": 1}), as_typed(["a", "b"]), as_typed(True)
    ('4 min', '{ fitter = 1 }', '["a", "b"]', 'true')
    """
    return value if isinstance(value, str) else inline(value)
