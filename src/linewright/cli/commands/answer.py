"""``linewright answer``: everything that is known about a plan, printed, and as one HTML page."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from linewright.cli.options import budget_option, half_width_option, seed_option, threads_option
from linewright.cli.outcome import DONE, NO, json_option, plan_argument, print_json

if TYPE_CHECKING:
    from linewright.answer import Answer


@click.command(short_help="Answer a plan: rate, bottleneck, flows, cost, quality, cautions.")
@plan_argument
@click.option("--simulate/--no-simulate", default=True, help="Also play the plan event by event (default), or not.")
@half_width_option
@seed_option
@budget_option(3.5)
@threads_option
@click.option("--improve", is_flag=True, help="Also play single changes of the plan: what would help most.")
@click.option(
    "--improve-budget",
    type=click.FloatRange(min=0.0, min_open=True),
    default=60.0,
    show_default=True,
    help="Seconds for that.",
)
@click.option(
    "--report",
    type=click.Path(dir_okay=False),
    help="Where the HTML page goes (default: PLAN.report.html in this folder; - writes none).",
)
@click.option("--open/--no-open", "show", default=False, help="Open the page in a browser.")
@click.option("--live/--still", default=True, help="Charts that answer the pointer, or pictures only.")
@json_option
def command(
    plan: str,
    simulate: bool,
    half_width: float,
    seed: int,
    budget: float,
    threads: int | None,
    improve: bool,
    improve_budget: float,
    report: str | None,
    show: bool,
    live: bool,
    as_json: bool,
) -> int:
    """Answer PLAN: its rate and what limits it, what goes in and out, who does what, cost, quality, cautions.

    Exit status 3 means that the demand cannot be made, or that the simulation clearly misses it. Ctrl-C while it
    simulates keeps the replications that are finished.
    """
    from linewright.answer import answer, improve_plan
    from linewright.answer.ask_balance import share_out
    from linewright.cli.watching import watching
    from linewright.plan import read_plan

    read = read_plan(plan)
    with watching() as watch:
        found = answer(
            read, simulate=simulate, half_width=half_width, seed=seed, budget_seconds=budget, threads=threads,
            progress=watch.progress, stop=watch.stop,
        )  # fmt: skip
        if read.lines and not watch.stopped:
            watch.say("sharing out the lines")
            found = share_out(found, play=simulate, stop=watch.stop)
    if improve and not watch.stopped and not found.unplayed:
        with watching("trying changes") as later:
            found = improve_plan(
                read, seed=seed, budget_seconds=improve_budget, threads=threads, progress=later.step, stop=later.stop,
                known=found,
            )  # fmt: skip
    code = DONE if found.yes else NO
    page = _page(found, plan, report, live=live)
    if as_json:
        print_json({"exit": code, "answer": found.to_dict(), "report": page})
    else:
        from linewright.report.terminal import print_answer

        print_answer(found, page)
    if show and page:
        click.launch(page)
    return code


def _page(found: Answer, plan: str, report: str | None, *, live: bool) -> str | None:
    from linewright.report.html import write_html

    if report == "-":
        return None
    path = Path(report) if report else Path(f"{Path(plan).stem}.report.html")
    write_html(found, path, live=live)
    return str(path)
