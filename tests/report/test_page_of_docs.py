"""docs/report.md against the program: every option it names exists, and every option there is is named."""

from __future__ import annotations

import re
from pathlib import Path

import click
import pytest

from linewright.cli.commands.answer import command as answer
from linewright.cli.commands.simulate import command as simulate
from linewright.report.charts import CHARTS
from linewright.report.sections import QUESTIONS

TEXT = (Path(__file__).resolve().parents[2] / "docs" / "report.md").read_text(encoding="utf-8")


def options(command: click.Command) -> set[str]:
    every = {name for p in command.params if isinstance(p, click.Option) for name in (*p.opts, *p.secondary_opts)}
    # A switch is told by its side that is not the default.
    return every - {"--simulate", "--no-open", "--live"}


@pytest.mark.parametrize(("command", "begin"), [(answer, "# The answer"), (simulate, "## The simulation alone")])
def test_every_option_is_told(command: click.Command, begin: str) -> None:
    part = TEXT[TEXT.index(begin) :]
    told = set(re.findall(r"--[a-z][a-z-]+", part))
    assert options(command) <= told


def test_no_option_is_told_that_is_not_there() -> None:
    told = set(re.findall(r"--[a-z][a-z-]+", TEXT))
    known = options(answer) | options(simulate) | {"--map", "--simulate"}
    assert told <= known


def test_the_default_half_width_is_the_one_told() -> None:
    option = next(p for p in answer.params if p.name == "half_width")
    assert f"`{option.default}` unless written" in TEXT


def test_every_question_is_told() -> None:
    assert len(re.findall(r"^\| [A-Z][^|]*\? \|", TEXT, flags=re.M)) == len(QUESTIONS)


def test_charts_live_where_the_page_says() -> None:
    homes = {chart.__module__ for chart in CHARTS.values()}
    assert {"linewright.report.played.charts", "linewright.report.improved.chart"} <= homes
