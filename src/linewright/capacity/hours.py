"""When can something work? Sets of open time within the week, and what lies between them.

A set is kept as disjoint sorted spans in ns from Monday 00:00 and repeats every week.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from linewright.base.calendar import WEEK, Calendar

HOUR_NS = 3_600_000_000_000


@dataclass(frozen=True, slots=True)
class Hours:
    """Open spans (begin, end) in ns within [0, WEEK], sorted, disjoint and not touching."""

    spans: tuple[tuple[int, int], ...]

    @property
    def open_ns(self) -> int:
        """Open time in a week, in ns."""
        return sum(end - begin for begin, end in self.spans)

    @property
    def always(self) -> bool:
        """Whether it never closes."""
        return self.open_ns == WEEK

    @property
    def gaps(self) -> tuple[int, ...]:
        """Lengths of the closed times of a week, in ns; the one over the week's end is one gap."""
        if not self.spans:
            return (WEEK,)
        ends = [end for _, end in self.spans]
        begins = [begin for begin, _ in self.spans[1:]] + [self.spans[0][0] + WEEK]
        return tuple(b - e for e, b in zip(ends, begins, strict=True) if b > e)

    @property
    def runs(self) -> tuple[int, ...]:
        """Lengths of the open times of a week, in ns; one that goes over the week's end is one run."""
        if len(self.spans) > 1 and self.spans[0][0] == 0 and self.spans[-1][1] == WEEK:
            first = self.spans[0][1] + WEEK - self.spans[-1][0]
            return (first, *(end - begin for begin, end in self.spans[1:-1]))
        return tuple(end - begin for begin, end in self.spans)


def when(calendar: Calendar, at_least: float = 1.0) -> Hours:
    """The time at which a calendar's level is ``at_least`` so many."""
    ends = [*calendar.at[1:].tolist(), WEEK]
    return join(
        (begin, end)
        for begin, end, level in zip(calendar.at.tolist(), ends, calendar.level.tolist(), strict=True)
        if level >= at_least - 1e-9
    )


ALWAYS = Hours(((0, WEEK),))
NEVER = Hours(())


def join(spans: Iterable[tuple[int, int]]) -> Hours:
    """Spans that may touch or overlap as one set."""
    out: list[tuple[int, int]] = []
    for begin, end in sorted(spans):
        if out and begin <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], end))
        elif end > begin:
            out.append((begin, end))
    return Hours(tuple(out))


def either(sets: Iterable[Hours]) -> Hours:
    """The time at which any of the sets is open."""
    sets = set(sets)
    if len(sets) == 1:
        return sets.pop()
    return join(span for hours in sets for span in hours.spans)


def both(one: Hours, other: Hours) -> Hours:
    """The time at which both sets are open.

    >>> both(Hours(((0, 10), (20, 30))), Hours(((5, 25),))).spans
    ((5, 10), (20, 25))
    """
    if one.always or one == other:
        return other
    if other.always:
        return one
    return join((max(a, c), min(b, d)) for a, b in one.spans for c, d in other.spans if max(a, c) < min(b, d))
