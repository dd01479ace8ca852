"""What the commands that write papers share: where a file goes, the size of paper, and saying what was written."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import click

from linewright.cli.outcome import DONE, print_json

size_option = click.option(
    "--size", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Size of the paper."
)


def file_option(name: str, about: str) -> Callable[[Any], Any]:
    """``--NAME [FILE]``: None where it is not given, "" where it is given without a file."""
    return click.option(f"--{name}", metavar="[FILE]", is_flag=False, flag_value="", help=about)


def say_written(paths: Sequence[Path], *, as_json: bool, show: bool = False) -> int:
    """Say what was written, and open it where that is asked."""
    if as_json:
        print_json({"exit": DONE, "report": str(paths[0]), "written": [str(path) for path in paths]})
    else:
        for path in paths:
            click.echo(f"wrote {path}")
    if show:
        click.launch(str(paths[0]))
    return DONE
