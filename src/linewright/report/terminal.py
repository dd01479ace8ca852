"""An answer as a page in the terminal: the answers first, then what stands behind them."""

from __future__ import annotations

import math
from collections.abc import Iterable

from rich.console import Console
from rich.panel import Panel
from rich.table import Table as Grid
from rich.text import Text

from linewright.answer.model import Answer
from linewright.base.cautions import DEFER
from linewright.base.problems import Level, Problem
from linewright.base.results import Table, show
from linewright.report import energy, grid, lots, tables, variants, words
from linewright.report.balanced import tables as balanced
from linewright.report.good import kinds
from linewright.report.good import tables as proved
from linewright.report.good.short import in_short as good_in_short
from linewright.report.improved import page as improved
from linewright.report.improved import tables as improved_tables
from linewright.report.played import tables as played
from linewright.report.played.terminal import busiest, verdict_of
from linewright.report.seasonal.page import season_tables


def print_answer(answer: Answer, page: str | None = None, console: Console | None = None) -> None:
    """Print the answer; ``page`` is the path of the HTML report, said last."""
    out = console or Console()
    out.print()
    out.print(Panel(_answers(answer), title=Text(answer.plan.name, "bold"), title_align="left", border_style="dim"))
    for table in _tables(answer):
        if table.rows:
            out.print()
            out.print(grid.drawn(table))
    improved.print_tables(answer, out)
    _print_cautions(answer, out)
    _print_notes(answer, out)
    if page:
        out.print()
        out.print(Text.assemble("The whole answer, with the process map: ", (page, "bold")))


def _answers(answer: Answer) -> Grid:
    rows = Grid.grid(padding=(0, 2))
    rows.add_column(style="dim", no_wrap=True)
    rows.add_column()
    rows.add_row("Will it make the rate?", verdict_of(answer))
    limit = answer.capacity.bottleneck
    if answer.season is not None:
        rows.add_row("What limits it?", Text(answer.season_why))
    elif limit is not None:
        name = tables.resource_name(answer, limit)
        busy = f"{name}, a {limit.kind} of {limit.count}, {100 * limit.use:.0f} % used"
        rows.add_row("What is the bottleneck?", Text(busy))
    if answer.simulation is not None:
        rows.add_row("What is busiest?", Text(f"{busiest(answer, answer.simulation.as_planned)} (simulated)"))
    for product in answer.cost.products:
        rows.add_row("What does one cost?", Text(tables.one_costs(answer, product)))
    rows.add_row("Is it good?", Text(good_in_short(answer)))
    if answer.season is None:
        rows.add_row("How long does it take?", Text(played.time_through(answer)))
    found = answer.improvement
    helps = improved_tables.in_one_sentence(answer, found) if found is not None else _first_help(answer)
    if helps and answer.season is None:
        rows.add_row("What would help most?", Text(helps))
    hazards = words.listed(c.hazard for c in answer.cautions) or "no hazard is named"
    rows.add_row("What can hurt someone?", Text(hazards))
    return rows


def _first_help(answer: Answer) -> str:
    """Which limit to lift first, with those that limit alike, and what the next one then allows."""
    rows = tables.ladder(answer, ALIKE).rows
    if not rows:
        return ""
    allows = rows[0][2]
    alike = [row for row in rows if math.isclose(row[2], allows, rel_tol=1e-6)]
    named = " and ".join(f"{words.in_sentence(where)} ({kind})" for where, kind, _, _ in alike)
    after = alike[-1][3]
    then = f"; the next limit allows {show(after)}" if after is not None else ""
    return f"first lift {named}{' together' if len(alike) > 1 else ''}, which allows {show(allows)} a day{then}"


ALIKE = 4
"""So many limits are looked at for others that allow as little as the first."""


def _tables(answer: Answer) -> list[Table]:
    return [
        *season_tables(answer),
        *([played.outcome(answer)] if answer.simulation is not None else []),
        tables.bounds_short(answer),
        grid.top(tables.use_in_short(answer, "station")),
        tables.use_in_short(answer, "crew"),
        balanced.lines(answer.balanced),
        grid.top(tables.goes_in(answer)),
        grid.top(tables.goes_out(answer)),
        tables.goes_round(answer),
        *energy.tables(answer),
        tables.cost_parts(answer),
        variants.in_short(answer),
        grid.top(variants.mates(answer)),
        grid.top(lots.table(answer)),
        grid.top(tables.scrap(answer)),
        proved.faults(answer),
        kinds.by_kind(answer),
        grid.top(proved.quality_plan_short(answer)),
        grid.top(proved.failure_modes_short(answer)),
        *(proved.kit(answer, count) for count in answer.quality.kits),
        proved.fits(answer),
        proved.learning(answer),
    ]


def _print_cautions(answer: Answer, out: Console) -> None:
    if not answer.cautions:
        return
    out.print()
    out.print(Text("What can hurt someone", "bold"))
    for caution in answer.cautions:
        where = f" ({words.listed(caution.where[:3])}{' and more' if len(caution.where) > 3 else ''})"
        said = caution.text.removesuffix(DEFER).strip()
        out.print(Text.assemble((caution.hazard, "bold"), (where, "dim"), ": ", said))
    for said in energy.gas(answer):
        out.print(Text(said))
    out.print(Text(f"For each of these: {DEFER[:1].lower()}{DEFER[1:]}", "bold"))


def _print_notes(answer: Answer, out: Console) -> None:
    if answer.problems:
        out.print()
        print_problems(answer.problems, out)
    if answer.assumptions:
        out.print()
        out.print(Text("Taken for granted", "bold"))
        for assumption in answer.assumptions:
            out.print(Text(f"- {assumption}", "dim"))


def print_problems(problems: Iterable[Problem], console: Console | None = None) -> None:
    """Print problems, errors first, each with its place and what would mend it."""
    out = console or Console()
    every = sorted(problems, key=lambda p: p.level is not Level.ERROR)
    errors = sum(1 for p in every if p.level is Level.ERROR)
    for problem in every:
        style = "bold red" if problem.level is Level.ERROR else "bold yellow"
        head = Text.assemble((problem.level.value, style), " ", (problem.place, "bold"), " ", (problem.path, "cyan"))
        out.print(head, soft_wrap=True)
        found = f" (found {problem.value})" if problem.value is not None else ""
        out.print(Text(f"    {problem.what}{found}"), soft_wrap=True)
        for word, said in (("expected", problem.expected), ("hint", problem.hint)):
            if said:
                out.print(Text.assemble("    ", (f"{word}: ", "dim"), said), soft_wrap=True)
    warnings = len(every) - errors
    out.print(Text(f"{_count(errors, 'error')}, {_count(warnings, 'warning')}", "dim"))


def _count(n: int, word: str) -> str:
    return f"{n or 'no'} {word}{'' if n == 1 else 's'}"
