"""What a simulation adds to the page of an answer, question by question; nothing where there was none."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from linewright.answer.model import Answer
from linewright.report import parts
from linewright.report.played import tables


def rate(answer: Answer, pictures: Mapping[str, str]) -> Iterator[str]:
    """Will it make the rate? The outcome, the weeks, the time in the plant, stations, stores and one day."""
    if answer.simulation is None:
        why = f" It could not be: {answer.unplayed}." if answer.unplayed else ""
        yield parts.note(f"Not simulated: variation, blocking and shared people can still cost rate.{why}")
        return
    run = answer.simulation.as_planned
    yield parts.table(tables.outcome(answer))
    yield pictures.get("weeks", "")
    yield pictures.get("time", "")
    yield pictures.get("states", "")
    yield parts.table(tables.states(answer, run))
    yield pictures.get("day", "")
    yield pictures.get("stores", "")
    yield parts.table(tables.stores(answer, run))
    yield parts.table(tables.on_hand(answer, run))
    for way, played in tables.runs(answer):
        yield parts.listing(f"How it was simulated, {way}", played.notes)


def people(answer: Answer) -> Iterator[str]:
    """Who does what? How busy the people were."""
    if answer.simulation is not None:
        yield parts.table(tables.crews(answer, answer.simulation.as_planned))


def good(answer: Answer) -> Iterator[str]:
    """How do we know it is good? What was scrapped and sent back."""
    if answer.simulation is not None:
        yield parts.table(tables.lost(answer, answer.simulation.as_planned))
