"""What would help most, on the page of an answer and in the terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Console
from rich.panel import Panel
from rich.table import Table as Grid
from rich.text import Text

from linewright.answer.model import Answer
from linewright.report import grid
from linewright.report.blocks import Block, Note, Picture, listing
from linewright.report.blocks import Grid as GridBlock
from linewright.report.improved import tables


def section(answer: Answer) -> Iterator[Block]:
    """The part of the page; where it was not asked for, how to ask."""
    found = answer.improvement
    if found is None:
        yield Note(
            "Read off the bounds and the loads. What single changes bring in full is played when it is asked for: by "
            '"Try every single change" on the local pages, or by the command improve.'
        )
        return
    yield Picture("gains")
    yield GridBlock(tables.confirmed(answer, found))
    yield GridBlock(tables.edits(found))
    yield GridBlock(tables.first_round(answer, found))
    yield GridBlock(tables.promised(found))
    yield listing("How it was found", tables.notes(found))


def print_improvement(answer: Answer, console: Console | None = None) -> None:
    """Print what would help most: the answer first."""
    found = answer.improvement
    if found is None:
        return
    out = console or Console()
    rows = Grid.grid(padding=(0, 2))
    rows.add_column(style="dim", no_wrap=True)
    rows.add_column()
    rows.add_row("What would help most?", Text(tables.in_one_sentence(answer, found), "bold"))
    if found.stopped:
        rows.add_row("How far did it get?", Text("stopped; kept what was done", "bold yellow"))
    out.print()
    out.print(Panel(rows, title=Text(answer.plan.name, "bold"), title_align="left", border_style="dim"))
    print_tables(answer, out)


def print_tables(answer: Answer, out: Console) -> None:
    """Print the tables, how the best change is written, and the notes."""
    found = answer.improvement
    if found is None:
        return
    first = grid.top(tables.first_round(answer, found), "with --json")
    promised = grid.top(tables.promised(found), "with --json")
    for table in (tables.confirmed(answer, found), first, promised):
        if table.rows:
            out.print()
            out.print(grid.drawn(table))
    if found.best is not None:
        out.print()
        out.print(Text.assemble(("How the first is written in the plan", "bold")))
        for line in tables.edits_of(found.best):
            out.print(Text(line), soft_wrap=True)
    out.print()
    out.print(Text("How it was found", "bold"))
    for note in tables.notes(found):
        out.print(Text(f"- {note}", "dim"))
