"""``linewright schema``: the JSON Schema of a plan, so that editors complete and check."""

from __future__ import annotations

import click

from linewright.cli.outcome import json_option, print_json


@click.command(short_help="Print the JSON Schema of a plan, for editors.")
@json_option
def command(as_json: bool) -> None:
    """Print the JSON Schema of a plan file (always as JSON, with or without --json)."""
    from linewright.plan import json_schema

    del as_json
    print_json(json_schema())
