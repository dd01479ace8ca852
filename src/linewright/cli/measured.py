"""What the commands that read measurements share: the report option, shares that may be nothing, and how they end."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from linewright.cli.options import share
from linewright.cli.outcome import DONE, NO, print_json

if TYPE_CHECKING:
    from linewright.report.single import Single

file_argument = click.argument("file", type=click.Path(dir_okay=False))


def share_option(name: str, default: str | None, help_: str) -> Callable[[Any], Any]:
    """An option that takes a share, such as ``95 %``."""

    def read(context: click.Context, parameter: click.Parameter, value: str | None) -> float | None:
        return None if value is None else share(context, parameter, value)

    return click.option(
        name, callback=read, metavar="SHARE", default=default, show_default=default is not None, help=help_
    )


def report_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """``--report`` and ``--live/--still``."""
    live = click.option("--live/--still", default=True, help="Charts that answer the pointer, or pictures only.")
    report = click.option("--report", type=click.Path(dir_okay=False), help="Also write an HTML page with pictures.")
    decorated: Callable[..., Any] = report(live(command))
    return decorated


def finish(
    name: str, data: dict[str, Any], show: Callable[[], Single], report: str | None, *, live: bool, as_json: bool,
    answer: bool | None = None,
) -> int:  # fmt: skip
    """Print the result, write its page where one is wanted, and return the exit code: 3 where the answer is no."""
    code = NO if answer is False else DONE
    single = show() if report or not as_json else None
    if report and single is not None:
        from linewright.report.single import write_single

        write_single(single, report, live=live)
    if as_json:
        print_json({"exit": code, name: data, "report": report})
    elif single is not None:
        from linewright.report.single import print_single

        print_single(single, report)
    return code
