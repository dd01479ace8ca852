"""docs/papers.md against the program: every option that it names exists, and every option there is is named."""

from __future__ import annotations

import re
from pathlib import Path

import click
import pytest

from linewright.cli.commands.answer import command as answer
from linewright.cli.commands.papers import command as papers
from linewright.cli.commands.report import command as report

TEXT = (Path(__file__).resolve().parents[2] / "docs" / "papers.md").read_text(encoding="utf-8")
SHEETS = TEXT.index("## The sheets for the floor")
BOOK = TEXT.index("## The workbook")


def options(command: click.Command) -> set[str]:
    every = {name for p in command.params if isinstance(p, click.Option) for name in (*p.opts, *p.secondary_opts)}
    return every - {"--no-open"}


@pytest.mark.parametrize(
    ("part", "known", "needed"),
    [
        (TEXT[:SHEETS], options(report), options(report) - options(answer) - {"--map"}),
        (TEXT[SHEETS:BOOK], options(papers), options(papers)),
    ],
)
def test_options_told_are_those_there_are(part: str, known: set[str], needed: set[str]) -> None:
    told = set(re.findall(r"--[a-z][a-z-]+", part))
    assert told <= known
    assert needed <= told
