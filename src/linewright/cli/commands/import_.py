"""``linewright import``: a plan from a table of operations in a CSV file or a spreadsheet."""

from __future__ import annotations

from pathlib import Path

import click

from linewright.cli.outcome import json_option, print_json, write_new


@click.command("import", short_help="Write a plan from a table of operations (CSV, XLSX).")
@click.argument("table", type=click.Path(dir_okay=False))
@click.option("--sheet", help="The sheet of a spreadsheet (default: the first).")
@click.option("--name", help="What the plan is called (default: the table's name).")
@click.option("--to", type=click.Path(dir_okay=False), help="Where it goes (default: TABLE.toml in this folder).")
@json_option
def command(table: str, sheet: str | None, name: str | None, to: str | None, as_json: bool) -> None:
    """Write a plan whose one route is TABLE: a row an operation, a column a field.

    Prices, people and places that the table does not hold are placeholders, marked in comments.
    """
    from linewright.plan import import_table

    path = write_new(to, Path(table).stem, ".toml", import_table(table, sheet=sheet, name=name))
    if as_json:
        print_json({"exit": 0, "plan": path})
    else:
        click.echo(f'wrote {path}; next: complete what is marked, then: linewright check "{path}"')
