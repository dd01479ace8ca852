"""Ideas about who could learn whose work: one person of a crew that has time, for a crew that has not."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from linewright.improve.edits import value_at
from linewright.improve.ideas import Ideas
from linewright.improve.pressure import MOST_RELIEF
from linewright.plan.called import called
from linewright.plan.model import Crew
from linewright.plan.paths import join

PARTNERS = 2
"""Crews from which each crew may get a helper: the idlest ones."""
ASSUMES = (
    "at the full pace of the crew whose work it is, when there is none of his own to do; training takes time and money "
    "that are not in the plan"
)


def think_of_second_jobs(ideas: Ideas) -> None:
    """One person of each of the two idlest other crews learns a crew's work.

    They need not be idler than the crew itself: what counts is that they are free when it is not.
    """
    crews = list(ideas.plan.crews.values())
    use = ideas.pressure.use_of_crew
    for c, crew in enumerate(crews):
        others = sorted((k for k in range(len(crews)) if k != c), key=lambda k: float(use[k]))
        able = [(k, edit) for k in others if (edit := _one_more(ideas, crews[k], crew)) is not None]
        for k, (path, after) in able[:PARTNERS]:
            lender = crews[k]
            relief = min(max(1 - float(use[k]), 0.0) / (sum(crew.people.values()) + 1), MOST_RELIEF)
            promise = max(float(ideas.pressure.crew[c]) * relief, float(ideas.pressure.wait_for_crew[c]) / 2)
            more = "more " if crew.id in lender.can else ""
            what = f"one {more}{called(lender)} learns the work of {called(crew)}"
            ideas.add("second job", (lender.id, crew.id), what, {path: after}, promise, ASSUMES)


def _one_more(ideas: Ideas, lender: Crew, crew: Crew) -> tuple[str, object] | None:
    """The edit by which one more person of a crew can do another's work; None where all can."""
    known = lender.can.get(crew.id)
    path = f"{join('crews', lender.id)}.can"
    if known is None:
        return (join(path, crew.id), 1) if lender.can else (path, {crew.id: 1})
    if known.people >= max(lender.people.values()):
        return None
    written: Any = value_at(ideas.plan.document, join(path, crew.id))
    people = known.people + 1
    return join(path, crew.id), {**written, "people": people} if isinstance(written, Mapping) else people
