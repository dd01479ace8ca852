"""The plain problem made ready for the search: order, bounds, raised times, windows, in both directions.

``Plain`` is a line without rules and without tasks of no time (they are put back where what they wait for ends).
``prepare`` sharpens it for one number of stations and says at once where that number is too small.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from linewright.balance.bounds import (
    MOST_SUM_WORDS,
    WIDEST,
    conflicts,
    raise_times,
    reachable_room,
    tails,
    weight_rows,
)
from linewright.balance.line import Line
from linewright.balance.loads import Case, Ints
from linewright.balance.order import Order, better_tasks, make_order

CLEARLY = 0.5  # stations by which a row must beat the times to count
RAISES = 3  # how often times are raised; each raise narrows the windows, which may allow another


@dataclass(frozen=True)
class Plain:
    """Times and order of the tasks that take time; ``kept`` are their places in the line."""

    line: Line
    kept: Ints
    times: Ints
    order: Order

    @classmethod
    def of(cls, line: Line) -> Plain:
        """The plain problem of a line; its rules are not looked at."""
        whole = make_order(line.starts.copy(), line.before.copy())
        kept = np.flatnonzero(line.times > 0)
        if len(kept) == line.n:
            return cls(line, kept, line.times.copy(), whole)
        place = {int(i): k for k, i in enumerate(kept)}
        by_task = [[place[j] for j in _members(whole.lead[i]) if j in place] for i in kept]
        starts = np.zeros(len(kept) + 1, np.int64)
        starts[1:] = np.cumsum([len(b) for b in by_task])
        before = np.array([j for b in by_task for j in b], np.int64)
        return cls(line, kept, line.times[kept].copy(), make_order(starts, before))

    @cached_property
    def turned(self) -> Order:
        """The order seen from the end of the line."""
        return self.order.turned()

    def whole(self, station: Ints) -> Ints:
        """Stations (from 0) of all tasks of the line, from those of the tasks kept."""
        full = np.full(self.line.n, -1, np.int64)
        full[self.kept] = station
        if len(self.kept) < self.line.n:
            order = make_order(self.line.starts.copy(), self.line.before.copy())
            for i in order.sequence:
                before = self.line.before[self.line.starts[i] : self.line.starts[i + 1]]
                if full[i] < 0:
                    full[i] = max((int(full[p]) for p in before), default=0)
        return full


def _members(words: np.ndarray[tuple[int, ...], np.dtype[np.uint64]]) -> list[int]:
    bits = np.unpackbits(words.view(np.uint8), bitorder="little")
    return [int(i) for i in np.flatnonzero(bits)]


@dataclass(frozen=True, slots=True)
class Ready:
    """One number of stations, made ready: the case from the front and from the back of the line."""

    front: Case
    back: Case
    sums: bool  # whether sums up to the room are listed in the walk


def prepare(plain: Plain, room: int, stations: int) -> Ready | None:
    """The two cases for ``stations`` stations of ``room`` ticks; None where a bound proves that they are too few."""
    times = plain.times.copy()
    order, turned = plain.order, plain.turned
    n = len(times)
    unit = int(np.gcd.reduce(times)) if n else 1
    times //= unit
    room //= unit
    sums = room <= WIDEST
    if sums:
        room = int(reachable_room(times, room))
    raising = sums and n * n * (room // 64 + 1) <= MOST_SUM_WORDS
    for again in range(RAISES + 1):
        weights, rooms = weight_rows(times, room)
        if (weights.sum(axis=0) > stations * rooms).any():
            return None
        tail, from_here, by_tail = tails(times, room, order.follow, order.sequence, weights, rooms)
        head, up_to_here, by_head = tails(times, room, order.lead, turned.sequence, weights, rooms)
        latest = stations - from_here
        earliest = up_to_here - 1
        if (latest < earliest).any():
            return None
        if not raising or again == RAISES:
            break
        apart = conflicts(times, room, order.follow, order.lead, earliest, latest)
        if not raise_times(times, room, apart):
            break
    front = _case(stations, room, times, order, latest, tail, by_tail, weights, rooms)
    back = _case(stations, room, times, turned, stations - up_to_here, head, by_head, weights, rooms)
    return Ready(front, back, sums)


def _case(
    stations: int,
    room: int,
    times: Ints,
    order: Order,
    latest: Ints,
    tail: Ints,
    tail_order: Ints,
    weights: Ints,
    rooms: Ints,
) -> Case:
    better_start, better = better_tasks(times, order.follow)
    return Case(
        stations,
        room,
        times,
        order.before_start,
        order.before,
        order.after_start,
        order.after,
        latest,
        tail,
        tail_order,
        weights,
        rooms,
        better_start,
        better,
        _price(weights, rooms),
    )


def _price(weights: Ints, rooms: Ints) -> NDArray[np.float64]:
    """The share of a station that a task takes: by time, or over all rows where some row is clearly stronger."""
    shares = weights / rooms
    totals = shares.sum(axis=0)
    return np.ascontiguousarray(shares.mean(axis=1) if totals.max() > totals[0] + CLEARLY else shares[:, 0])
