"""``linewright carriers``: how many lasts, pallets or racks of each kind are needed."""

from __future__ import annotations

import click

from linewright.cli.options import budget_option, seed_option, threads_option
from linewright.cli.outcome import DONE, json_option, plan_argument, print_json


@click.command(short_help="Say how many lasts, pallets or racks a plan needs.")
@plan_argument
@seed_option
@threads_option
@budget_option(20.0)
@json_option
def command(plan: str, seed: int, threads: int | None, budget: float, as_json: bool) -> int:
    """Print how many carriers of each kind PLAN needs: the least by the bound, and what is enough when played.

    All kinds are raised together in steps, under the same luck, beside carriers without limit; of
    a plan with a season, the whole season is played. Ctrl-C keeps what is done.
    """
    from linewright.answer import carriers_of_plan
    from linewright.cli.watching import watching
    from linewright.plan import read_plan

    read = read_plan(plan)
    with watching("playing numbers of carriers") as watch:
        found = carriers_of_plan(
            read, seed=seed, budget_seconds=budget, threads=threads, stop=watch.stop,
            progress=lambda done, wanted: watch.step("numbers of carriers", done, wanted),
        )  # fmt: skip
    if as_json:
        print_json({"exit": DONE, "carriers": found.to_dict()})
    else:
        from rich.console import Console

        from linewright.report import grid

        for table in (found.to_table(), found.steps_table()):
            Console().print(grid.drawn(table))
    return DONE
