"""How many visits can one place make in a week when people go home and standing goes on? Exact for one place.

A place takes a piece, the crewed parts of the visit wait for the crew, the rest goes on through the night, and the
place is free when the visit ends. With fixed times the end of a visit is a rising function f of its beginning, with
f(t + week) = f(t) + week, so that starting as early as possible is best and the rate is that of the orbit of f.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from linewright.base.calendar import WEEK
from linewright.capacity.hours import Hours
from linewright.network.model import Stops

_LONGEST = 3000  # visits followed before the orbit is left open


@dataclass(frozen=True, slots=True)
class Step:
    """A part of a visit, ``length`` ns: by a crew in ``hours``, or by itself where ``hours`` is None.

    ``stop`` says how a crewed part meets the end of the crew's time; ``fits`` is how much must fit (its own length).
    """

    length: int
    hours: Hours | None = None
    stop: int = Stops.ANYWHERE


def pass_time(step: Step, at: int) -> int | None:
    """When a step begun no earlier than ``at`` (ns) is done at the earliest; None where it never can be.

    Work that must fit and is longer than any stretch of the week is begun all the same, and goes on to its end.

    >>> day = Hours(((0, 8), (24, 32)))
    >>> pass_time(Step(5, day), 6), pass_time(Step(5, day, Stops.FITS), 6), pass_time(Step(5, day, Stops.FINISH), 6)
    (27, 29, 11)
    """
    if step.hours is None or step.length == 0:
        return at + step.length
    spans = step.hours.spans
    if not spans:
        return None
    left, longest = step.length, max(step.hours.runs)
    week, k = _place(step.hours, at)
    for _ in range(len(spans) * (2 + step.length // max(1, step.hours.open_ns)) + len(spans)):
        begin, end = week * WEEK + spans[k][0], week * WEEK + spans[k][1]
        start = max(at, begin)
        room = end - start
        if room > 0 and (step.stop == Stops.FINISH or (step.stop == Stops.FITS and step.length > longest)):
            return start + left
        if room >= left:
            return start + left
        if step.stop == Stops.ANYWHERE:
            left -= max(0, room)
        k += 1
        if k == len(spans):
            week, k = week + 1, 0
    return None


def _place(hours: Hours, at: int) -> tuple[int, int]:
    """Week and index of the first span that ends after ``at``."""
    week, within = divmod(at, WEEK)
    k = bisect_right([end for _, end in hours.spans], within)
    return (week, k) if k < len(hours.spans) else (week + 1, 0)


@dataclass(frozen=True, slots=True)
class Orbit:
    """Visits of one place: ``visits`` in ``weeks``; ``exact`` where the pattern recurs, else a bound from above.

    ``weeks`` is 0 where nothing bounds them.
    """

    visits: int
    weeks: int
    exact: bool

    @property
    def per_week(self) -> float:
        """Visits in a week (inf where the visit takes no time)."""
        return self.visits / self.weeks if self.weeks else float("inf")


def orbit(steps: Sequence[Step], longest: int = _LONGEST) -> Orbit | None:
    """Visits that one place makes in the long run; None where the visit can never end.

    Follows the orbit until it recurs (exact). Where it does not within ``longest`` visits, the bound k / m is given:
    after k visits at least m whole weeks have passed, and f rises, so m more weeks pass in every further k visits.

    >>> eight_to_four = Hours(tuple((d * 86_400 * 10**9 + 28_800 * 10**9, d * 86_400 * 10**9 + 57_600 * 10**9)
    ...                             for d in range(7)))
    >>> minute = 60 * 10**9
    >>> found = orbit([Step(10 * minute, eight_to_four), Step(300 * minute), Step(5 * minute, eight_to_four)])
    >>> found.per_week / 7, found.exact
    (2.0, True)
    """
    if all(step.length == 0 for step in steps):
        return Orbit(1, 0, True)
    at, first = 0, {0: (0, 0)}
    for visit in range(1, longest + 1):
        for step in steps:
            done = pass_time(step, at)
            if done is None:
                return None
            at = done
        weeks, within = divmod(at, WEEK)
        if within in first:
            before, then = first[within]
            return Orbit(visit - before, weeks - then, True)
        first[within] = (visit, weeks)
    return Orbit(longest, at // WEEK, False)
