"""What a simulation adds to the page of an answer, question by question; nothing where there was none."""

from __future__ import annotations

from collections.abc import Iterator

from linewright.answer.model import Answer
from linewright.report.blocks import Block, Grid, Note, Picture, listing
from linewright.report.played import limits, tables


def rate(answer: Answer) -> Iterator[Block]:
    """Will it make the rate? The outcome, the weeks, the time in the plant, stations, stores and one day."""
    if answer.simulation is None:
        why = f" It could not be: {answer.unplayed}." if answer.unplayed else ""
        yield Note(f"Not simulated: variation, blocking and shared people can still cost rate.{why}")
        return
    run = answer.simulation.as_planned
    yield Grid(tables.outcome(answer))
    yield Picture("weeks")
    yield Picture("time")
    yield Picture("states")
    yield Grid(tables.states(answer, run))
    yield Picture("day")
    yield Picture("stores")
    yield Grid(tables.stores(answer, run))
    yield Grid(tables.on_hand(answer, run))
    yield Grid(limits.carriers(answer, run))
    yield Grid(limits.spoiled(answer, run))
    yield Grid(limits.cares(answer, run))
    for way, played in tables.runs(answer):
        yield listing(f"How it was simulated, {way}", played.notes)


def people(answer: Answer) -> Iterator[Block]:
    """Who does what? How busy the people were."""
    if answer.simulation is not None:
        yield Grid(tables.crews(answer, answer.simulation.as_planned))
        yield Grid(tables.standing_in(answer, answer.simulation.as_planned))


def good(answer: Answer) -> Iterator[Block]:
    """How do we know it is good? What was scrapped and sent back, and which faults reached the customer."""
    if answer.simulation is not None:
        if answer.simulation.as_planned.escapes:
            yield Grid(tables.escaped(answer, answer.simulation.as_planned))
        yield Grid(tables.lost(answer, answer.simulation.as_planned))
        yield Grid(limits.closed(answer, answer.simulation.as_planned))
