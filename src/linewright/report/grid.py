"""A table drawn for the terminal."""

from __future__ import annotations

from rich.table import Table as Grid
from rich.text import Text

from linewright.base.results import Table, show
from linewright.report.parts import numeric

SHOWN = 12


def top(table: Table, where: str = "in the report") -> Table:
    """The first rows of a long table, saying how many more there are, and where."""
    left = len(table.rows) - SHOWN
    if left <= 0:
        return table
    note = f"{table.note} {left} more {where}.".strip()
    return Table(table.title, table.columns, table.rows[:SHOWN], note)


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
