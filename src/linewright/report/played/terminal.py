"""A simulation as a page in the terminal: the answers first, then stations, people, stores, scrap and rework."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

from rich.console import Console
from rich.panel import Panel
from rich.table import Table as Grid
from rich.text import Text

from linewright.answer.model import Answer
from linewright.base.results import Table, show, show_interval
from linewright.report import grid
from linewright.report.played import limits, tables
from linewright.simulate import Simulation


def print_simulation(answer: Answer, trace: str | None = None, console: Console | None = None) -> None:
    """Print the simulation of an answer; ``trace`` is the path of the trace that was written, said last."""
    played = answer.simulation
    if played is None:
        return
    run = played.as_planned
    out = console or Console()
    out.print()
    out.print(
        Panel(_answers(answer, run), title=Text(answer.plan.name, "bold"), title_align="left", border_style="dim")
    )
    for table in simulation_tables(answer, run):
        if table.rows:
            out.print()
            out.print(grid.drawn(table))
    if run.notes:
        out.print()
        out.print(Text("How it was simulated", "bold"))
        for note in run.notes:
            out.print(Text(f"- {note}", "dim"))
    if trace:
        out.print()
        out.print(Text.assemble("Every event of the first replication: ", (trace, "bold")))


def simulation_tables(answer: Answer, run: Simulation) -> Iterator[Table]:
    """The tables of one simulation in the order of reading."""
    yield tables.outcome(answer)
    yield grid.top(tables.states(answer, run))
    yield tables.crews(answer, run)
    yield tables.standing_in(answer, run)
    yield tables.stores(answer, run)
    yield tables.on_hand(answer, run)
    yield limits.carriers(answer, run)
    yield limits.spoiled(answer, run)
    yield limits.cares(answer, run)
    yield tables.lost(answer, run)
    yield limits.closed(answer, run)


def _answers(answer: Answer, run: Simulation) -> Grid:
    rows = Grid.grid(padding=(0, 2))
    rows.add_column(style="dim", no_wrap=True)
    rows.add_column()
    rows.add_row("Will it make the rate?", verdict_of(answer))
    open_now = show_interval(run.work_in_progress)
    rows.add_row("How much is open?", Text(f"{open_now} pieces on their way"))
    ninth = next((q for level, q in zip(run.quantile_levels, run.quantiles, strict=True) if level == 0.9), None)
    told = isfinite(run.time_in_plant.mean)
    within = f"; nine of ten within {tables.tail_of(ninth)}" if told and ninth is not None else ""
    average = " on average" if told else ""
    rows.add_row("How long does it take?", Text(f"{tables.time_of(run.time_in_plant)}{average}{within}"))
    rows.add_row("What is busiest?", Text(busiest(answer, run)))
    if run.honesty.status == "stopped":
        kept = run.honesty.replications or 0
        said = f"stopped; kept {kept} replication{'s' if kept != 1 else ''}"
        rows.add_row("How far did it get?", Text(said, "bold yellow"))
    return rows


def verdict_of(answer: Answer) -> Text:
    """The demand and the verdict in its colour."""
    colour = {True: "bold green", False: "bold red", None: "bold yellow"}[answer.makes]
    if answer.makes is None and answer.simulation is None and answer.season_run is None and not answer.unplayed:
        colour = "bold green"
    return Text(f"{answer.question}: {answer.verdict}", colour)


def busiest(answer: Answer, run: Simulation) -> str:
    """The busiest station and the busiest crew, simulated."""
    said = []
    first = next(iter(tables.attended(run)), None)
    if first is not None:
        busy = 100 * tables.busy_share(run, first[0]) / first[1]
        of = "the time" if first[1] > 0.999 else "the time that somebody is there or it runs alone"
        said.append(f"{tables.station_name(answer, run.stations[first[0]])}, taken {show(round(busy))} % of {of}")
    if run.crews:
        k = int(run.crew_use.mean.argmax())
        used = 100 * float(run.crew_use.mean[k])
        said.append(f"{tables.crew_name(answer, run.crews[k])}, at work {show(round(used))} % of the time")
    return "; ".join(said)
