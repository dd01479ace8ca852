"""``linewright improve``: which single change of the plan would help most, played under the same luck."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from linewright.cli.options import budget_option, seed_option, threads_option
from linewright.cli.outcome import DONE, json_option, plan_argument, print_json

if TYPE_CHECKING:
    from linewright.answer import Answer


@click.command(short_help="Find which single change of a plan would help most.")
@plan_argument
@seed_option
@threads_option
@budget_option(60.0)
@json_option
def command(plan: str, seed: int, threads: int | None, budget: float, as_json: bool) -> int:
    """Play single changes of PLAN beside it under the same luck, and print which bring most, with their intervals.

    One more place, person, tool or room; less time, variation, stoppages or setup; another load, staggered breaks, a
    crew trained for a second job, fewer faults. Ctrl-C keeps what is done. For a plan with a horizon: how many tanks of
    each size its harvest needs, and what is lost if one fails.
    """
    from linewright.answer import improve_plan
    from linewright.cli.watching import watching
    from linewright.plan import read_plan

    read = read_plan(plan)
    with watching("trying changes") as watch:
        found = improve_plan(
            read, seed=seed, budget_seconds=budget, threads=threads, progress=watch.step, stop=watch.stop
        )
    if found.season is not None:
        return _season(found, as_json=as_json)
    improvement = found.improvement
    assert improvement is not None
    if as_json:
        print_json({"exit": DONE, "improvement": improvement.to_dict()})
    else:
        from linewright.report.improved.page import print_improvement

        print_improvement(found)
    return DONE


def _season(found: Answer, *, as_json: bool) -> int:
    """For a plan with a horizon: its vessels."""
    from linewright.report.seasonal.terminal import print_season

    if as_json:
        print_json({"exit": DONE, "tanks": found.tanks.to_dict() if found.tanks is not None else None})
    else:
        print_season(found)
    return DONE
