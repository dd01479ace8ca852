"""``linewright physics``: one-off questions to the models, and the forecast of a tank from its readings."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from linewright.cli.outcome import DONE, NO, json_option, print_json

if TYPE_CHECKING:
    from linewright.physics.conditions import Condition
    from linewright.physics.models import Model


class Models(click.Group):
    """A group with a command for each model, made when the group is asked for: they import numpy."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names of the models and of the commands written here."""
        from linewright.physics.models import MODELS

        return sorted({*MODELS, *super().list_commands(ctx)})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name, or None."""
        from linewright.physics.models import MODELS

        model = MODELS.get(cmd_name)
        return _ask(model) if model is not None else super().get_command(ctx, cmd_name)


@click.group(cls=Models, short_help="How long to dry, ferment, cool, heat, cure, press, screen, mill.")
def command() -> None:
    """How long does it take, from the conditions? Every option is a text with its unit, as in a plan.

    Each takes --json and writes a page with the curve. Exit status 3 means that the end is never reached.
    """


def _option(condition: Condition) -> Callable[[Any], Any]:
    example = condition.example.strip('"')
    default = "" if condition.default is None else f"; {condition.default:g} where left out" if isinstance(
        condition.default, float) else f"; {condition.default} where left out"  # fmt: skip
    unit = f" [{condition.unit}]" if condition.unit and condition.default is not None else ""
    words = "" if condition.default is not None or condition.optional else "; needed"
    return click.option(
        f"--{condition.name.replace('_', '-')}",
        f"c_{condition.name}",
        metavar="TEXT",
        help=f"{condition.what[:1].upper()}{condition.what[1:]}, as {example}{default}{unit}{words}.",
    )


def _ask(model: Model) -> click.Command:
    def ask(as_json: bool, picture: str | None, show: bool, live: bool, **given: str | None) -> int:
        from linewright.answer.followed import asked

        written = {name.removeprefix("c_"): _plain(text) for name, text in given.items() if text is not None}
        found, warnings = asked(model.name, written)
        page = None if picture == "-" else picture or f"physics.{model.name}.html"
        if page:
            from linewright.report.physics_page import write_page

            write_page(found, warnings, Path(page), live=live)
        done = found.timed.seconds < float("inf")
        if as_json:
            data = {"exit": DONE if done else NO, **found.timed.to_dict(), "warnings": list(warnings)}
            print_json({**data, "hangs_on": found.hangs_on.to_dict(), "picture": page})
        else:
            from linewright.report.physics_page import print_timed

            print_timed(found, warnings, page)
        if show and page:
            click.launch(page)
        return DONE if done else NO

    for decorate in (
        json_option,
        click.option("--live/--still", default=True, help="A picture that answers the pointer, or a picture only."),
        click.option("--open/--no-open", "show", default=False, help="Open the page in a browser."),
        click.option("--picture", type=click.Path(dir_okay=False),
                     help=f"Where the page with the curve goes (default: physics.{model.name}.html; - writes none)."),
        *(_option(condition) for condition in reversed(model.conditions)),
    ):  # fmt: skip
        ask = decorate(ask)
    about = f"How long does it take: {model.what}?"
    return click.command(model.name, short_help=f"{model.what[:1].upper()}{model.what[1:]}.", help=about)(ask)


def _plain(text: str) -> str | float:
    """A bare number as a number, as a plan would hold it."""
    try:
        return float(text)
    except ValueError:
        return text


@command.command("forecast", short_help="When is this tank dry? From its readings so far.")
@click.argument("log", type=click.Path(dir_okay=False))
@click.option("--to", "end", metavar="TEXT", default="2 g/L", help="Sugar at which it is dry (default 2 g/L).")
@click.option("--error", metavar="TEXT", default="2 g/L", help="Standard deviation of a reading (default 2 g/L).")
@click.option("--level", type=click.FloatRange(0.5, 0.999), default=0.9, help="Of the interval (default 0.9).")
@click.option("--picture", type=click.Path(dir_okay=False), help="Where the page goes (default: none).")
@json_option
def forecast_command(log: str, end: str, error: str, level: float, picture: str | None, as_json: bool) -> int:
    """When will a tank be dry? LOG is a CSV or XLSX table with columns time, sugar and temperature, units in the heads.

    For example: time [h], sugar [g/L], temperature [degC]. The first row is the pitching. Exit status 3 means that it
    will more likely stick.
    """
    from linewright.answer.followed import forecast_from

    found = forecast_from(log, end, error, level)
    code = DONE if found.hours < float("inf") else NO
    if picture:
        from linewright.report.physics_page import write_forecast

        write_forecast(found, Path(picture))
    if as_json:
        print_json({"exit": code, **found.to_dict(), "picture": picture})
    else:
        from linewright.report.physics_page import print_forecast

        print_forecast(found, picture)
    return code
