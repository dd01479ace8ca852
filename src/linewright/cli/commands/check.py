"""``linewright check``: every problem of a plan, with file and line."""

from __future__ import annotations

import click

from linewright.cli.outcome import json_option, plan_argument, report_problems


@click.command(short_help="Check a plan and list every problem.")
@plan_argument
@json_option
def command(plan: str, as_json: bool) -> int:
    """Read, compile and solve PLAN, and list every problem found, with its place, what was expected and a hint."""
    from linewright.answer import check

    return report_problems(check(plan), as_json=as_json)
