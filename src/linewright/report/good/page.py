"""What the quality of a plan adds to the page of an answer."""

from __future__ import annotations

from collections.abc import Iterator

from linewright.answer.model import Answer
from linewright.report.blocks import Block, Grid, Picture
from linewright.report.good import kinds, tables


def good(answer: Answer) -> Iterator[Block]:
    """How do we know it is good? Faults first, then what is checked, what can go wrong, kits and fits."""
    yield Picture("faults")
    yield Grid(tables.faults(answer))
    yield Grid(kinds.by_kind(answer))
    yield Grid(tables.quality_plan(answer))
    yield Grid(tables.way_of_faults(answer))
    yield Grid(tables.releases(answer))
    yield Grid(tables.failure_modes(answer))
    yield Grid(tables.one_more_look(answer))
    for k, count in enumerate(answer.quality.kits):
        if k == 0:
            yield Picture("kit")
        yield Grid(tables.kit(answer, count))
    yield Grid(tables.fits(answer))


def rate(answer: Answer) -> Iterator[Block]:
    """Will it make the rate? How it comes up while the work is learned."""
    yield Picture("learning")
    yield Grid(tables.learning(answer))
