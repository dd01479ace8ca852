"""``linewright report``: the answer of a plan as one HTML page, or its process map alone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from linewright.cli.asking import Asked, ask, asking_options
from linewright.cli.outcome import json_option, plan_argument, print_json


@click.command(short_help="Write the report of a plan, or its process map alone.")
@plan_argument
@click.option(
    "--to", type=click.Path(dir_okay=False), help="Where it goes (default: PLAN.report.html or PLAN.map.svg)."
)
@click.option("--map", "map_only", is_flag=True, help="Only the process map, as an SVG picture.")
@click.option("--live/--still", default=True, help="Charts that answer the pointer, or pictures only.")
@click.option("--open/--no-open", "show", default=False, help="Open it in a browser.")
@asking_options
@json_option
def command(plan: str, to: str | None, map_only: bool, live: bool, show: bool, as_json: bool, **asked: Any) -> None:
    """Write the report of PLAN as one HTML page that needs no network: the page that ``answer`` writes."""
    from linewright.plan import read_plan

    read = read_plan(plan)
    path = Path(to) if to else Path(Path(plan).stem + (".map.svg" if map_only else ".report.html"))
    if map_only:
        from linewright.report.map import process_map

        path.write_text(process_map(read), encoding="utf-8")
    else:
        from linewright.report.html import write_html

        write_html(ask(read, Asked(**asked)), path, live=live)
    if as_json:
        print_json({"exit": 0, "report": str(path)})
    else:
        click.echo(f"wrote {path}")
    if show:
        click.launch(str(path))
