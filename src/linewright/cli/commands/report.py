"""``linewright report``: the answer of a plan as one HTML page, as a PDF, as a workbook, or its process map alone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from linewright.cli.asking import Asked, ask, asking_options
from linewright.cli.outcome import DONE, json_option, plan_argument
from linewright.cli.writing import file_option, say_written, size_option


@click.command(short_help="Write the report of a plan: page, PDF, workbook, or its process map alone.")
@plan_argument
@click.option(
    "--to", type=click.Path(dir_okay=False), help="Where it goes (default: PLAN.report.html or PLAN.map.svg)."
)
@file_option("pdf", "The report as a PDF to print, FILE or PLAN.report.pdf; no page is written.")
@file_option("xlsx", "Every table as a workbook, FILE or PLAN.xlsx; no page is written.")
@size_option
@click.option("--map", "map_only", is_flag=True, help="Only the process map, as an SVG picture.")
@click.option("--live/--still", default=True, help="Charts that answer the pointer, or pictures only.")
@click.option("--open/--no-open", "show", default=False, help="Open it in a browser.")
@asking_options
@json_option
def command(
    plan: str,
    to: str | None,
    pdf: str | None,
    xlsx: str | None,
    size: Any,
    map_only: bool,
    live: bool,
    show: bool,
    as_json: bool,
    **asked: Any,
) -> int:
    """Write the report of PLAN as one HTML page that needs no network: the page that ``answer`` writes.

    With --pdf the same as a paper, with --xlsx every table as a workbook; together with --to the page as well.
    """
    from linewright.plan import read_plan

    read, stem = read_plan(plan), Path(plan).stem
    if map_only:
        from linewright.report.map import process_map

        path = Path(to or f"{stem}.map.svg")
        path.write_text(process_map(read), encoding="utf-8")
        return say_written([path], as_json=as_json, show=show)
    if pdf is not None:
        from linewright.report.papers.press import need_papers

        need_papers()  # before the answer, which takes seconds
    found = ask(read, Asked(**asked))
    written: list[Path] = []
    if to or (pdf is None and xlsx is None):
        from linewright.report.html import write_html

        written.append(write_html(found, Path(to or f"{stem}.report.html"), live=live))
    if pdf is not None:
        from linewright.report.papers import report_pdf

        written.append(Path(pdf or f"{stem}.report.pdf"))
        written[-1].write_bytes(report_pdf(found, size))
    if xlsx is not None:
        from linewright.report.papers import workbook

        written.append(Path(xlsx or f"{stem}.xlsx"))
        written[-1].write_bytes(workbook(found))
    say_written(written, as_json=as_json, show=show)
    return DONE
