"""What every command shares: exit codes, the ``--json`` option, and how problems and results are printed."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from linewright.base.problems import Problem

DONE = 0
PROBLEMS = 1
USAGE = 2
NO = 3
FAULT = 70
STOPPED = 130

json_option = click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of words.")
plan_argument = click.argument("plan", type=click.Path(dir_okay=False))


def print_json(data: dict[str, Any]) -> None:
    """Print one JSON object; no NaN or infinity can be in it."""
    click.echo(json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False))


def write_new(to: str | None, name: str, ending: str, text: str) -> str:
    """Write a file that is not there yet, at ``to`` or named after ``name`` in this folder; return its path."""
    words = re.sub(r"[^\w-]+", "-", name.strip()).strip("-").lower()
    path = Path(to) if to else Path((words or "plan") + ending)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        raise click.UsageError(f"{path} is there already; name another with --to") from None
    return str(path)


def report_problems(problems: Iterable[Problem], *, as_json: bool) -> int:
    """Print problems and return the exit code they mean: 1 with an error among them, else 0."""
    from linewright.base.problems import Level

    every = list(problems)
    errors = sum(1 for problem in every if problem.level is Level.ERROR)
    code = PROBLEMS if errors else DONE
    if as_json:
        print_json({"exit": code, "problems": [problem.to_dict() for problem in every]})
    else:
        from linewright.report.terminal import print_problems

        print_problems(every)
    return code
