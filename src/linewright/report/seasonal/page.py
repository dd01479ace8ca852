"""A season in the report: what can be finished and why not more, what was played, and the weeks."""

from __future__ import annotations

from collections.abc import Iterator

from linewright.answer.model import Answer
from linewright.base.results import Table
from linewright.report.blocks import Block, Grid, Note, Picture, listing
from linewright.report.grid import narrow
from linewright.report.seasonal import tables


def rate(answer: Answer) -> Iterator[Block]:
    """Will it make the rate? For a season: will the harvest fit?"""
    if answer.season is None:
        return
    yield Picture("season")
    yield Grid(tables.outcome(answer))
    yield Grid(tables.limits(answer))
    yield Grid(tables.busy_weeks(tables.weeks(answer)))
    if answer.season_run is None:
        why = f" It could not be: {answer.unplayed}." if answer.unplayed else ""
        yield Note(f"The season was not played: variation, full hours and vessels that are not full cost more.{why}")
    else:
        yield Grid(tables.busy_weeks(tables.played_weeks(answer)))
        yield Grid(tables.campaigns(answer))
        yield Grid(tables.cares(answer))
        yield listing("How it was played", answer.season_run.notes)
    yield Note("What follows are averages over the working days of the horizon.")


def cost(answer: Answer) -> Iterator[Block]:
    """What does one cost? For a season: what all of it costs, by part and by month."""
    yield Grid(tables.costs(answer))
    yield Grid(tables.months(answer))


def season_tables(answer: Answer) -> list[Table]:
    """The tables of a season for the terminal."""
    if answer.season is None:
        return []
    found = [tables.outcome(answer), tables.limits(answer)]
    found += [part for table in tables.weeks_in_short(answer) for part in narrow(table)]
    found.append(tables.costs(answer))
    if answer.tanks is not None:
        found += [tables.tanks(answer), tables.failures(answer)]
    return found


def helps(answer: Answer) -> Iterator[Block]:
    """What would help most? For a season: how many vessels of each size, and what is lost if one fails."""
    if answer.tanks is None:
        yield Note(
            "How many vessels of each size the harvest needs, and what is lost if one fails, is searched when it is "
            'asked for: by "Try every single change" on the local pages, or by the command improve.'
        )
        return
    yield Grid(tables.tanks(answer))
    yield Grid(tables.failures(answer))
    yield listing("How it was found", answer.tanks.notes)


def helps_in_short(answer: Answer) -> str:
    """The least that is enough of every station of vessels, in a sentence."""
    if answer.tanks is None:
        return answer.season_why
    said = [tables.least_enough(answer, station) for station in answer.tanks.stations]
    return " ".join(sentence for sentence in said if sentence)
