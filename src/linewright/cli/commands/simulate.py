"""``linewright simulate``: what really happens on the floor, with intervals, and a trace of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from linewright.cli.options import budget_option, half_width_option, seed_option, threads_option
from linewright.cli.outcome import DONE, NO, json_option, plan_argument, print_json

if TYPE_CHECKING:
    from linewright.answer import Answer

WAYS = {"takt": "takt", "pull": "pull", "flat-out": "flat out"}


@click.command(short_help="Simulate a plan: rate, work in progress, times, stations, people.")
@plan_argument
@click.option(
    "--days", type=click.FloatRange(min=0.0, min_open=True), help="Calendar days to simulate, in whole weeks."
)
@click.option("--replications", type=click.IntRange(1, 1000), help="A fixed number of replications.")
@half_width_option
@seed_option
@threads_option
@budget_option(20.0)
@click.option("--release", type=click.Choice(list(WAYS)), help="How work is let in (default: as the plan says).")
@click.option("--open-pieces", type=click.IntRange(min=1), help="Pieces kept open where work is let in flat out.")
@click.option("--trace", type=click.Path(dir_okay=False), help="Write every event of the first replication here (CSV).")
@json_option
def command(
    plan: str,
    days: float | None,
    replications: int | None,
    half_width: float,
    seed: int,
    threads: int | None,
    budget: float,
    release: str | None,
    open_pieces: int | None,
    trace: str | None,
    as_json: bool,
) -> int:
    """Simulate PLAN event by event and print the rate and what explains it, each number with its 95 % interval.

    Exit status 3 means that the demand is clearly not made. Ctrl-C keeps the replications that are finished.
    """
    from linewright.answer import Wish, simulate_plan
    from linewright.cli.watching import watching
    from linewright.plan import read_plan

    wish = Wish(
        days=days, replications=replications, half_width=half_width, seed=seed, threads=threads,
        release=WAYS[release] if release else None, open_pieces=open_pieces, budget_seconds=budget,
        trace=trace is not None,
    )  # fmt: skip
    read = read_plan(plan)
    given = {"--days": days, "--release": release, "--open-pieces": open_pieces, "--trace": trace}
    apart = [name for name, value in given.items() if value is not None]
    if read.begins is not None and apart:
        raise click.UsageError(
            f"{' and '.join(apart)}: not for a plan with a horizon, whose season is played as a whole"
        )
    with watching() as watch:
        found = simulate_plan(read, wish, watch.progress, watch.stop)
    if found.season_run is not None:
        return _season(found, as_json=as_json)
    simulation = found.simulation
    assert simulation is not None
    if trace and simulation.as_planned.trace is not None:
        simulation.as_planned.trace.write(trace)
    code = NO if simulation.makes_demand is False else DONE
    if as_json:
        print_json({"exit": code, "simulation": simulation.to_dict(), "trace": trace})
    else:
        from linewright.report.played.terminal import print_simulation

        print_simulation(found, trace)
    return code


def _season(found: Answer, *, as_json: bool) -> int:
    """A plan with a horizon has no steady state: its season was played."""
    from linewright.report.seasonal.terminal import print_season

    code = NO if found.makes is False else DONE
    if as_json:
        assert found.season_run is not None
        print_json({"exit": code, "season_run": found.season_run.to_dict()})
    else:
        print_season(found)
    return code
