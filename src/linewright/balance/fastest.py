"""The fastest takt for a number of stations, by bisection over the same search.

Every takt below the answer is proved too short, by a bound or by a search that came to its end; where time runs out
first, the takts not yet decided are the gap.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linewright.balance.clock import Clock
from linewright.balance.feasible import feasible, squeeze
from linewright.balance.filling import try_to_fill
from linewright.balance.loads import Ints
from linewright.balance.prepare import Plain, Ready, prepare

FIRST_SLICE = 0.25  # seconds for one takt in the first round; four times as long in each round after


@dataclass(frozen=True, slots=True)
class Fastest:
    """The best takt found and its balance (``station`` from 0); no takt below ``bound`` can be met, in ticks."""

    takt: int
    station: Ints
    bound: int
    reason: str  # "proved", "time"


def fastest(plain: Plain, stations: int, clock: Clock) -> Fastest:
    """The least takt at which the line fits into ``stations`` stations."""
    if len(plain.times) == 0:
        return Fastest(0, np.zeros(0, np.int64), 0, "proved")
    return _Hunt(plain, stations, clock).answer()


class _Hunt:
    """Takts are in ``unit``s, the greatest length that divides every time: all sums are multiples of it."""

    def __init__(self, plain: Plain, stations: int, clock: Clock) -> None:
        self.plain, self.stations, self.clock = plain, stations, clock
        self.unit = int(np.gcd.reduce(plain.times))
        total = int(plain.times.sum()) // self.unit
        longest = int(plain.times.max()) // self.unit
        self.low = max(longest, -(-total // stations))  # nothing below is possible
        self.high = total  # all at one station
        self.best = np.zeros(len(plain.times), np.int64)

    def answer(self) -> Fastest:
        self._raise_low()
        for effort in (0, 1, 2):
            self._bisect_by_filling(effort)
        self.clock.tell(self.low * self.unit, self.high * self.unit)
        slice_seconds = FIRST_SLICE
        while self.low < self.high and not self.clock.over:
            self._bisect_by_search(slice_seconds)
            slice_seconds *= 4
        reason = "proved" if self.low == self.high else "time"
        return Fastest(self.high * self.unit, self.best, self.low * self.unit, reason)

    def _ready(self, takt: int) -> Ready | None:
        return prepare(self.plain, takt * self.unit, self.stations)

    def _raise_low(self) -> None:
        """Bounds alone: the least takt that they do not exclude, by widening steps and bisection."""
        step, fits = 1, self.low
        while fits < self.high and self._ready(fits) is None:
            self.low = fits + 1
            fits = min(self.high, fits + step)
            step *= 2
        while self.low < fits:
            middle = (self.low + fits) // 2
            if self._ready(middle) is None:
                self.low = middle + 1
            else:
                fits = middle

    def _keep(self, station: Ints) -> None:
        loads = np.bincount(station, weights=self.plain.times.astype(np.float64))
        self.high = min(self.high, int(loads.max()) // self.unit)
        self.best = squeeze(station)

    def _bisect_by_filling(self, effort: int) -> None:
        """The heuristic, from the bound upward in widening steps until it fits, then between."""
        low, step = self.low, 1
        while low < self.high and not self.clock.over:
            takt = min(low + step - 1, self.high - 1)
            ready = self._ready(takt)
            station = None if ready is None else try_to_fill(ready, effort, self.clock)
            if station is not None:
                self._keep(station)
                step = 1
            else:
                low = takt + 1
                step *= 2

    def _bisect_by_search(self, seconds: float) -> None:
        """One round of the search; a takt not decided within ``seconds`` is left open, and longer ones are tried."""
        low = self.low  # greater than self.low where a takt was left open
        while low < self.high and not self.clock.over:
            takt = (low + self.high) // 2 if low < self.high - 1 else self.high - 1
            ready = self._ready(takt)
            proved, station = ready is None, None
            if ready is not None:
                found = feasible(ready, self.clock.part(seconds))
                station, proved = found.station, found.reason == "proved"
            if station is not None:
                self._keep(station)
            else:
                low = takt + 1
                if proved:
                    self.low = max(self.low, low)
            self.clock.tell(self.low * self.unit, self.high * self.unit)
