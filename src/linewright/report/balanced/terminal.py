"""A balanced line in the terminal, station by station, as it would be handed to a shift leader."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table as Grid
from rich.text import Text

from linewright.answer.balanced import Balanced, Played
from linewright.balance import Balance, Curve
from linewright.balance.line_balance import LineBalance
from linewright.base.results import Table, show
from linewright.plan.model import Plan
from linewright.report.balanced import tables
from linewright.report.balanced.view import View, view_of_line
from linewright.report.grid import drawn

BAR = 24


def print_balanced(found: Balanced, plan: Plan, console: Console | None = None) -> None:
    """Every line of a plan that was balanced."""
    out = console or Console()
    for line in found.lines:
        print_line(line, plan, found.played.get(line.line.id), out)
    for problem in found.problems:
        out.print(Text(f"{problem.path}: {problem.what}", "yellow"))


def print_line(found: LineBalance, plan: Plan, played: Played | None, out: Console) -> None:
    """One line of a plan."""
    view = view_of_line(found, plan)
    _head(view.title, tables.sentence(found.balance, view), found.balance, out)
    _stations(view, out)
    _print(tables.measures(found.balance, view, found, played), out)
    _print(tables.staff(found, plan), out)
    _curve(found.curve, view, out)
    for said in (*found.balance.honesty.notes, *found.line.assumptions):
        out.print(Text(f"- {said}", "dim"))


def print_graph(found: Balance, view: View, curve: Curve | None, console: Console | None = None) -> None:
    """A file of tasks, balanced."""
    out = console or Console()
    _head(view.title, tables.sentence(found, view), found, out)
    _stations(view, out)
    _print(tables.measures(found, view), out)
    _curve(curve, view, out)
    for said in found.honesty.notes:
        out.print(Text(f"- {said}", "dim"))


def _head(title: str, sentence: str, found: Balance, out: Console) -> None:
    good = bool(found.stations)
    out.print()
    out.print(Text.assemble((title, "bold"), ": ", (sentence, "bold green" if good else "bold red")))


def _stations(view: View, out: Console) -> None:
    longest = max((len(task.name) for station in view.stations for task in station.tasks), default=0)
    for station in view.stations:
        part = station.use
        filled = min(BAR, round(BAR * part))
        copies = f", {station.copies} copies" if station.copies > 1 else ""
        out.print()
        out.print(
            Text.assemble(
                (f"Station {station.number}", "bold"), f"  {station.who}{copies}  " if station.who else f"{copies}  ",
                ("█" * filled, "green"), ("░" * (BAR - filled), "dim"),
                f"  {view.time(station.load)} of {view.time(view.takt)}, {100 * part:.0f} %",
            ),
            soft_wrap=True,
        )  # fmt: skip
        grid = Grid.grid(padding=(0, 2))
        grid.add_column(min_width=min(longest, 60))
        grid.add_column(justify="right", style="dim", no_wrap=True)
        for task in station.tasks:
            grid.add_row(Text(f"  {task.name}"), view.time(task.time))
        out.print(grid)


def _curve(curve: Curve | None, view: View, out: Console) -> None:
    if curve is not None:
        _print(tables.trade_off(curve, view), out)


def _print(table: Table, out: Console) -> None:
    if table.rows:
        out.print()
        out.print(
            drawn(Table(table.title, table.columns, tuple(tuple(map(_cell, row)) for row in table.rows), table.note))
        )


def _cell(cell: object) -> object:
    return show(cell) if isinstance(cell, float) else cell
