"""What the quality of a plan adds to the page of an answer."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from linewright.answer.model import Answer
from linewright.report import parts
from linewright.report.good import tables


def good(answer: Answer, pictures: Mapping[str, str]) -> Iterator[str]:
    """How do we know it is good? Faults first, then what is checked, what can go wrong, kits and fits."""
    yield pictures.get("faults", "")
    yield parts.table(tables.faults(answer))
    yield parts.table(tables.quality_plan(answer))
    yield parts.table(tables.way_of_faults(answer))
    yield parts.table(tables.releases(answer))
    yield parts.table(tables.failure_modes(answer))
    yield parts.table(tables.one_more_look(answer))
    for k, count in enumerate(answer.quality.kits):
        yield pictures.get("kit", "") if k == 0 else ""
        yield parts.table(tables.kit(answer, count))
    yield parts.table(tables.fits(answer))


def rate(answer: Answer, pictures: Mapping[str, str]) -> Iterator[str]:
    """Will it make the rate? How it comes up while the work is learned."""
    yield pictures.get("learning", "")
    yield parts.table(tables.learning(answer))
