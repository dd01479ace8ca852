"""Who can do whose work? What crews say they ``can`` becomes links from those who lend people to those who want them.

A lend is at most so many people of one crew at once at another's work, and their pace there. The allowance and presence
in the times stay those of the crew whose work it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from linewright.base.calendar import Calendar
from linewright.plan.model import Crew

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from linewright.network.model import Network


@dataclass(frozen=True, slots=True)
class Lends:
    """[n_lends] each, lenders in the plan's order: ``people`` of crew ``lender`` can do work of crew ``to`` at once.

    ``pace`` is theirs as a share of that of crew ``to``: its work takes 1 / pace as long.
    """

    lender: NDArray[np.int64]
    to: NDArray[np.int64]
    people: NDArray[np.int64]
    pace: NDArray[np.float64]

    def __len__(self) -> int:
        """How many there are."""
        return len(self.lender)

    def for_crew(self, crew: int) -> list[int]:
        """The lends that help a crew, in the order in which they are asked."""
        return [int(k) for k in np.flatnonzero(self.to == crew)]


def lends_of(crews: Iterable[Crew]) -> Lends:
    """What the crews of a plan can do besides."""
    listed = list(crews)
    number = {crew.id: k for k, crew in enumerate(listed)}
    rows = [(k, number[to], s.people, s.pace) for k, crew in enumerate(listed) for to, s in crew.can.items()]
    lender, to, people, pace = zip(*rows, strict=True) if rows else ((), (), (), ())
    return Lends(
        np.array(lender, dtype=np.int64), np.array(to, dtype=np.int64), np.array(people, dtype=np.int64),
        np.array(pace, dtype=np.float64),
    )  # fmt: skip


def able_to(network: Network, crew: int, calendars: Mapping[int, Calendar] | None = None) -> Calendar:
    """How many people could do the work of a crew at any time: its own, and those whom others can lend.

    ``calendars`` stand in for those of the crews that they name.
    """
    lends, known = network.crews.lends, calendars or {}

    def people(crew: int) -> Calendar:
        return known[crew] if crew in known else network.calendars[int(network.crews.calendar[crew])]

    found = lends.for_crew(crew)
    if not found:
        return people(crew)
    others = [people(int(lends.lender[k])) for k in found]
    at = np.unique(np.concatenate([people(crew).at, *(c.at for c in others)]))
    level = np.array([people(crew).at_time(int(t)) for t in at], dtype=np.int64)
    for k, calendar in zip(found, others, strict=True):
        level += np.minimum([calendar.at_time(int(t)) for t in at], lends.people[k])
    keep = np.concatenate([[True], level[1:] != level[:-1]])
    return Calendar(at[keep], level[keep])


def slowest(network: Network, crews: Iterable[int]) -> float:
    """How many times as long the slowest who may do work of any of the crews needs; 1 where nobody stands in."""
    lends = network.crews.lends
    return max((1 / float(lends.pace[k]) for crew in crews for k in lends.for_crew(crew)), default=1.0)
