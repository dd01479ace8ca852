"""``linewright answer``: everything that is known about a plan, printed, and as one HTML page."""

from __future__ import annotations

from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from linewright.cli.asking import Asked, ask, asking_options
from linewright.cli.outcome import DONE, NO, json_option, plan_argument, print_json

if TYPE_CHECKING:
    from linewright.answer import Answer
    from linewright.report.charts import DayDrawn
    from linewright.report.pen import Pen


@click.command(short_help="Answer a plan: rate, bottleneck, flows, cost, quality, cautions.")
@plan_argument
@asking_options
@click.option(
    "--report",
    type=click.Path(dir_okay=False),
    help="Where the HTML page goes (default: PLAN.report.html in this folder; - writes none).",
)
@click.option("--open/--no-open", "show", default=False, help="Open the page in a browser.")
@click.option("--live/--still", default=True, help="Charts that answer the pointer, or pictures only.")
@json_option
def command(plan: str, report: str | None, show: bool, live: bool, as_json: bool, **asked: Any) -> int:
    """Answer PLAN: its rate and what limits it, what goes in and out, who does what, cost, quality, cautions.

    Exit status 3 means that the demand cannot be made, or that the simulation clearly misses it. Ctrl-C while it
    simulates keeps the replications that are finished.
    """
    from linewright.plan import read_plan

    with _pen(report) as pen:
        early = _Early(pen)
        found = ask(read_plan(plan), Asked(**asked), early.begin)
        page = _page(found, plan, report, early, live=live)
    code = DONE if found.yes else NO
    if as_json:
        print_json({"exit": code, "answer": found.to_dict(), "report": page})
    else:
        from linewright.report.terminal import print_answer

        print_answer(found, page)
    if show and page:
        click.launch(page)
    return code


def _pen(report: str | None) -> AbstractContextManager[Pen | None]:
    """What draws the charts of the page, begun before anything else; none where there are no charts."""
    from linewright.report.drawing import can_draw
    from linewright.report.pen import Pen

    return nullcontext() if report == "-" or not can_draw() else Pen()


class _Early:
    """Charts of what is known already are drawn while the rest is simulated."""

    def __init__(self, pen: Pen | None) -> None:
        self.pen = pen
        self.day: DayDrawn | None = None

    def begin(self, known: Answer) -> None:
        """Begin to draw."""
        if self.pen is not None:
            from linewright.report.html import begin_to_draw

            self.day = begin_to_draw(known, self.pen)


def _page(found: Answer, plan: str, report: str | None, early: _Early, *, live: bool) -> str | None:
    from linewright.report.html import write_html

    if report == "-":
        return None
    path = Path(report) if report else Path(f"{Path(plan).stem}.report.html")
    write_html(found, path, live=live, pen=early.pen, day=early.day)
    return str(path)
