"""A calendar: how many are there at any time, as a step function that repeats every week.

Crews and stations have calendars; a week begins on Monday at 00:00. Times are whole nanoseconds.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

NS = 1_000_000_000
MINUTE = 60 * NS
HOUR = 60 * MINUTE
DAY = 24 * HOUR
WEEK = 7 * DAY
LONGEST_BREAK = 2 * HOUR
"""Who is away for longer than this has gone home: with the next who comes a shift begins."""


@dataclass(frozen=True, slots=True)
class Calendar:
    """``level[k]`` are there from ``at[k]`` until ``at[k + 1]`` (the last until the week ends); ``at[0]`` is 0.

    Shapes [n_steps] each; ``at`` rises strictly below WEEK; neighbouring levels differ.
    """

    at: NDArray[np.int64]
    level: NDArray[np.int64]

    @property
    def open_ns(self) -> int:
        """Time in a week at which anyone is there, in ns."""
        return int(self.lengths[self.level > 0].sum())

    @property
    def total_ns(self) -> int:
        """The integral of the level over a week: people times ns."""
        return int((self.lengths * self.level).sum())

    @property
    def most(self) -> int:
        """The greatest level."""
        return int(self.level.max())

    @property
    def lengths(self) -> NDArray[np.int64]:
        """How long each step lasts, in ns; they add up to WEEK."""
        return np.diff(np.append(self.at, WEEK))

    def at_time(self, time_ns: int) -> int:
        """How many are there at a time counted from any Monday 00:00."""
        return int(self.level[np.searchsorted(self.at, time_ns % WEEK, side="right") - 1])


def always(level: int = 1) -> Calendar:
    """A calendar that never changes."""
    return Calendar(np.zeros(1, dtype=np.int64), np.full(1, level, dtype=np.int64))


def shifts_begin(at: NDArray[np.int64], level: NDArray[np.int64], whole: int = WEEK) -> NDArray[np.bool_]:
    """[n_steps] whether a shift begins with a step: somebody comes where nobody was there for over LONGEST_BREAK.

    A break begins no shift, and shifts that follow each other are one. The steps repeat after ``whole`` ns.

    >>> day = from_spans([(8 * HOUR, 12 * HOUR, 1), (13 * HOUR, 17 * HOUR, 1)])
    >>> shifts_begin(day.at, day.level).tolist()
    [False, True, False, False, False]
    """
    n = len(at)
    found = np.zeros(n, dtype=np.bool_)
    for k in np.flatnonzero(level > 0).tolist():
        gone, j = 0, k
        while level[j - 1] == 0:
            gone += int(at[j] - at[j - 1]) % whole
            j = (j - 1) % n
        found[k] = gone > LONGEST_BREAK
    return found


def shifts_of(calendar: Calendar) -> list[tuple[int, int]]:
    """(begin, end) in ns of every shift of the week; the last may end in the week after. None where nobody goes.

    >>> week = from_spans([(6 * HOUR, 11 * HOUR, 2), (12 * HOUR, 14 * HOUR, 2)])
    >>> [(begin // HOUR, end // HOUR) for begin, end in shifts_of(week)]
    [(6, 14)]
    """
    at, level = calendar.at.tolist(), calendar.level.tolist()
    found = calendar.at[shifts_begin(calendar.at, calendar.level)].tolist()
    ends = [(at[(k + 1) % len(at)] - 1) % WEEK + 1 for k in range(len(at)) if level[k] > 0]
    spans = []
    for k, begin in enumerate(found):
        upto = found[k + 1] if k + 1 < len(found) else found[0] + WEEK
        spans.append((begin, max(end + shift for end in ends for shift in (0, WEEK) if begin < end + shift <= upto)))
    return spans


def from_spans(spans: list[tuple[int, int, int]]) -> Calendar:
    """A calendar from (begin, end, level) in ns from Monday 00:00; overlapping spans add, past-the-week spans wrap."""
    changes: dict[int, int] = {0: 0}
    for begin, end, level in spans:
        length = end - begin
        whole, rest = divmod(length, WEEK)
        changes[0] += whole * level
        if rest == 0:
            continue
        begin %= WEEK
        end = begin + rest
        changes[begin] = changes.get(begin, 0) + level
        if end < WEEK:
            changes[end] = changes.get(end, 0) - level
        elif end > WEEK:
            changes[0] += level
            changes[end - WEEK] = changes.get(end - WEEK, 0) - level
    at, level_now = [], 0
    levels: list[int] = []
    for time in sorted(changes):
        level_now += changes[time]
        if not levels or levels[-1] != level_now:
            at.append(time)
            levels.append(level_now)
    return Calendar(np.array(at, dtype=np.int64), np.array(levels, dtype=np.int64))
