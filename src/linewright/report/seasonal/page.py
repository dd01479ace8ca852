"""A season in the report: what can be finished and why not more, what was played, and the weeks."""

from __future__ import annotations

from collections.abc import Iterator

from linewright.answer.model import Answer
from linewright.base.results import Table
from linewright.report.blocks import Block, Grid, Note, Picture
from linewright.report.seasonal import tables


def rate(answer: Answer) -> Iterator[Block]:
    """Will it make the rate? For a season: will the harvest fit?"""
    if answer.season is None:
        return
    yield Picture("season")
    yield Grid(tables.outcome(answer))
    yield Grid(tables.limits(answer))
    yield Grid(tables.weeks(answer))
    if answer.season_run is None:
        why = f" It could not be: {answer.unplayed}." if answer.unplayed else ""
        yield Note(f"The season was not played: variation, full hours and vessels that are not full cost more.{why}")
    else:
        yield Grid(tables.played_weeks(answer))
    yield Note("What follows are averages over the working days of the horizon.")


def season_tables(answer: Answer) -> list[Table]:
    """The tables of a season for the terminal."""
    if answer.season is None:
        return []
    return [tables.outcome(answer), tables.limits(answer), tables.weeks(answer)]
