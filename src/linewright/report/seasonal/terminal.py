"""A played season as a page in the terminal."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from linewright.answer.model import Answer
from linewright.report import grid
from linewright.report.played.terminal import verdict_of
from linewright.report.seasonal import tables


def print_season(answer: Answer, console: Console | None = None) -> None:
    """Print the verdict, what is finished and lost, and the weeks."""
    out = console or Console()
    out.print()
    out.print(Text(answer.plan.name, "bold"), verdict_of(answer))
    found = [tables.outcome(answer), tables.limits(answer)]
    if answer.tanks is not None:
        found = [tables.tanks(answer), tables.failures(answer)]
    if answer.season_run is not None:
        found += grid.narrow(tables.busy_weeks(tables.played_weeks(answer)))
        found += [tables.campaigns(answer), tables.cares(answer)]
    for table in found:
        if table.rows:
            out.print()
            out.print(grid.drawn(table))
    for note in answer.season_run.notes if answer.season_run is not None else ():
        out.print(Text(f"- {note}", "dim"))
