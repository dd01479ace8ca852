"""A table drawn for the terminal."""

from __future__ import annotations

import textwrap

from rich.table import Table as Grid
from rich.text import Text

from linewright.base.results import Table, show
from linewright.report.parts import numeric

SHOWN = 12
WIDTH = 80
GAP = 2


def top(table: Table, where: str = "in the report") -> Table:
    """The first rows of a long table, saying how many more there are, and where."""
    left = len(table.rows) - SHOWN
    if left <= 0:
        return table
    note = f"{table.note} {left} more {where}.".strip()
    return Table(table.title, table.columns, table.rows[:SHOWN], note)


def narrow(table: Table, width: int = WIDTH) -> list[Table]:
    """A wide table as several that fit a terminal, each with the first column, and words of the headings not broken."""
    sizes = [_room(table, k) for k in range(len(table.columns))]
    groups: list[list[int]] = [[0]]
    for k in range(1, len(sizes)):
        if len(groups[-1]) > 1 and sum(sizes[g] + GAP for g in groups[-1]) + sizes[k] > width:
            groups.append([0])
        groups[-1].append(k)
    return [
        Table(
            table.title if n == 0 else f"{table.title}, continued",
            tuple("\n".join(textwrap.wrap(table.columns[k], sizes[k])) for k in group),
            tuple(tuple(row[k] for k in group) for row in table.rows),
            table.note if n == len(groups) - 1 else "",
        )
        for n, group in enumerate(groups)
    ]


def _room(table: Table, k: int) -> int:
    """Characters that a column cannot do without: its longest cell, or the longest word of its heading."""
    words = [*table.columns[k].split(), *(show(row[k]) for row in table.rows)]
    return max(map(len, words), default=0)


def drawn(table: Table) -> Grid:
    """A table drawn for the terminal; numbers stand to the right."""
    grid = Grid(
        title=Text(table.title, "bold"), title_justify="left", box=None, header_style="dim", padding=(0, 2, 0, 0)
    )
    if table.note:
        grid.caption, grid.caption_justify = Text(table.note, "dim"), "left"
    for k, column in enumerate(table.columns):
        right = bool(table.rows) and all(numeric(row[k]) for row in table.rows)
        grid.add_column(Text(column), justify="right" if right else "left")
    for row in table.rows:
        grid.add_row(*(Text(show(cell)) for cell in row))
    return grid
