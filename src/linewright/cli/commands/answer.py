"""``linewright answer``: everything that is known about a plan, printed, and as one HTML page."""

from __future__ import annotations

from pathlib import Path

import click

from linewright.cli.outcome import DONE, NO, json_option, plan_argument, print_json


@click.command(short_help="Answer a plan: rate, bottleneck, flows, cost, quality, cautions.")
@plan_argument
@click.option(
    "--report",
    type=click.Path(dir_okay=False),
    help="Where the HTML page goes (default: PLAN.report.html in this folder; - writes none).",
)
@click.option("--open/--no-open", "show", default=False, help="Open the page in a browser.")
@click.option("--live/--still", default=True, help="Charts that answer the pointer, or pictures only.")
@json_option
def command(plan: str, report: str | None, show: bool, live: bool, as_json: bool) -> int:
    """Answer PLAN: its rate and what limits it, what goes in and out, who does what, cost, quality, cautions.

    Exit status 3 means that the demand cannot be made.
    """
    from linewright.answer import answer
    from linewright.plan import read_plan

    found = answer(read_plan(plan))
    page = _page(found, plan, report, live=live)
    if as_json:
        print_json({"exit": DONE if found.yes else NO, "answer": found.to_dict(), "report": page})
    else:
        from linewright.report.terminal import print_answer

        print_answer(found, page)
    if show and page:
        click.launch(page)
    return DONE if found.yes else NO


def _page(found: object, plan: str, report: str | None, *, live: bool) -> str | None:
    from linewright.answer import Answer
    from linewright.report.html import write_html

    if report == "-" or not isinstance(found, Answer):
        return None
    path = Path(report) if report else Path(f"{Path(plan).stem}.report.html")
    write_html(found, path, live=live)
    return str(path)
