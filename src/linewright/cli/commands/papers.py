"""``linewright papers``: the sheets for the floor, one a station, as PDF, page or workbook."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from linewright.cli.outcome import json_option, plan_argument
from linewright.cli.watching import watching
from linewright.cli.writing import file_option, say_written, size_option

if TYPE_CHECKING:
    from linewright.answer import Answer
    from linewright.plan.model import Plan


@click.command(short_help="Write the sheets for the floor: steps, parts, checks, cautions, one sheet a station.")
@plan_argument
@file_option("pdf", "Write a PDF, FILE or PLAN.sheets.pdf (what is written where nothing else is asked).")
@file_option("html", "Write a page to print, FILE or PLAN.sheets.html.")
@file_option("xlsx", "Write every table of the answer as a workbook, FILE or PLAN.xlsx.")
@click.option("--of", multiple=True, metavar="STATION", help="Only the sheet of this station; may be repeated.")
@click.option(
    "--balanced/--as-planned",
    default=True,
    help="Sheets of the stations of the plan's lines once shared out (default), or of its stations as written.",
)
@click.option(
    "--budget", type=click.FloatRange(min=0.0, min_open=True), default=2.0, show_default=True,
    help="Seconds to share out the lines of the plan, where it has any.",
)  # fmt: skip
@size_option
@click.option("--open/--no-open", "show", default=False, help="Open what was written.")
@json_option
def command(
    plan: str,
    pdf: str | None,
    html: str | None,
    xlsx: str | None,
    of: tuple[str, ...],
    balanced: bool,
    budget: float,
    size: Any,
    show: bool,
    as_json: bool,
) -> int:
    """Write the sheets of PLAN, one a place of work in order of work: steps, times, parts, tools, checks, cautions.

    Each ends with a box to sign. Where the plan has lines they are shared out first, and their stations get the sheets.
    """
    from linewright.plan import read_plan
    from linewright.report.papers import sheets_html, sheets_pdf, workbook

    read, stem = read_plan(plan), Path(plan).stem
    if pdf is None and html is None and xlsx is None:
        pdf = ""
    if pdf is not None:
        from linewright.report.papers.press import need_papers

        need_papers()
    found = _answer(read, budget if balanced else 0.0)
    written: list[Path] = []
    if pdf is not None:
        written.append(Path(pdf or f"{stem}.sheets.pdf"))
        written[-1].write_bytes(sheets_pdf(found, of=of, balanced=balanced, size=size))
    if html is not None:
        written.append(Path(html or f"{stem}.sheets.html"))
        written[-1].write_text(sheets_html(found, of=of, balanced=balanced), encoding="utf-8")
    if xlsx is not None:
        written.append(Path(xlsx or f"{stem}.xlsx"))
        written[-1].write_bytes(workbook(found))
    return say_written(written, as_json=as_json, show=show)


def _answer(read: Plan, seconds: float) -> Answer:
    """The answer without simulation; the lines of the plan shared out in so many seconds, not at all with none."""
    from linewright.answer import answer
    from linewright.answer.ask_balance import share_out

    found = answer(read)
    if not read.lines or not seconds:
        return found
    with watching() as watch:
        watch.say("sharing out the lines")
        return share_out(found, seconds=seconds / len(read.lines), play=False, stop=watch.stop)
