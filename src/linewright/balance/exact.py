"""The fewest stations of a plain line, proved where time allows: bounds, heuristic, then the complete search.

The search asks again and again "could it be with fewer stations?". The answer is proved only when the search for one
station fewer came to its end.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from linewright.balance.clock import Clock
from linewright.balance.feasible import feasible, squeeze
from linewright.balance.filling import shake, try_to_fill
from linewright.balance.kernel import use_machine_code
from linewright.balance.line import Line
from linewright.balance.loads import Ints
from linewright.balance.merging import improve, merge
from linewright.balance.prepare import Plain, Ready, prepare
from linewright.balance.sharing import stations_for

SHAKE_SHARE = 0.15  # of the time left goes to random weights where more than one station is open
SHAKES = 300  # lines filled with random weights for one number of stations, at most
STEP_SHARE = 0.12  # of the time goes to each wide step down of the search
LONG_TASK = 0.25  # of a station: where tasks are longer on average, they are also put together anywhere in the line
MANY = range(201, 4001)  # tasks; shorter lines are left to the search, and longer ones take too long in one piece
MERGE_SHARE = 0.6  # of the time left goes to taking stations apart and putting them together
BOUND_SHARE = 0.5  # of the time then left goes to the bound of what can share a station
MERGES = 100  # pieces of that work at most, each of so many rounds
ROUNDS = 100
EFFORT_SHARES = (0.3, 0.1, 0.1)  # of the time left that each effort of the heuristic may take


@dataclass(frozen=True, slots=True)
class Fewest:
    """The best found: ``station`` (from 0) of each task kept, the bound on stations, why it stopped, states seen."""

    station: Ints
    bound: int
    reason: str  # "proved", "time", "memory"
    states: int = 0


def fewest(plain: Plain, room: int, clock: Clock, seed: int = 0) -> Fewest:
    """The fewest stations of ``room`` ticks each."""
    if len(plain.times) == 0:
        return Fewest(np.zeros(0, np.int64), 1, "proved")
    return _Descent(plain, room, clock, seed).answer()


class _Descent:
    """The best so far, the bound, and the line made ready for each number of stations that is asked for."""

    def __init__(self, plain: Plain, room: int, clock: Clock, seed: int) -> None:
        self.plain, self.room, self.clock, self.seed = plain, room, clock, seed
        self.bound = max(1, -(-int(plain.times.sum()) // room))
        self.states = 0
        self.ready: dict[int, Ready] = {}
        while (ready := prepare(plain, room, self.bound)) is None:
            self.bound += 1
        self.ready[self.bound] = ready
        self._keep(self._first(ready))

    def answer(self) -> Fewest:
        if self.used == self.bound:
            return Fewest(self.best, self.bound, "proved", self.states)
        self.clock.stand_still(warm_up)
        if len(self.plain.times) in MANY and self.plain.times.mean() > LONG_TASK * self.room:
            self._merge()
            self._share()
        for effort, share in enumerate(EFFORT_SHARES):
            self._fill(effort, self.clock.part(share * (self.clock.seconds - self.clock.spent)))
        self.clock.tell(self.bound, self.used)
        if self.used > self.bound + 1:
            self._shake()
        reason = self._search() if self.used > self.bound else "proved"
        return Fewest(self.best, self.bound, reason, self.states)

    def _case(self, stations: int) -> Ready:
        if stations not in self.ready:
            ready = prepare(self.plain, self.room, stations)
            if ready is None:
                raise AssertionError("more stations than a bound allows cannot be too few")
            self.ready[stations] = ready
        return self.ready[stations]

    def _keep(self, station: Ints) -> None:
        self.best = squeeze(station)
        self.used = int(self.best.max()) + 1
        self.clock.tell(self.bound, self.used)

    def _first(self, ready: Ready) -> Ints:
        """A first answer, at any cost in stations and whatever the clock says."""
        station = try_to_fill(ready, 0, self.clock)
        if station is None:
            loose = prepare(self.plain, self.room, 2 * self.bound + 1)
            station = None if loose is None else try_to_fill(loose, 0, Clock(1e9))
        if station is None:
            raise AssertionError("filling every station as far as it goes always ends within twice the bound")
        return station

    def _fill(self, effort: int, clock: Clock) -> None:
        """The heuristic from the bound up in widening steps until it fits, then between."""
        low, step = self.bound, 1
        while low < self.used and not clock.over:
            stations = min(low + step - 1, self.used - 1)
            station = try_to_fill(self._case(stations), effort, clock)
            if station is not None:
                self._keep(station)
                step = 1
            else:
                low, step = stations + 1, 2 * step

    def _merge(self) -> None:
        """Tasks put together anywhere in the line, then stations taken apart and put together anew."""
        plain, room = self.plain, self.room
        station = merge(plain.times, room, plain.order, np.ones(len(plain.times)), 4.0)
        if station.max() < self.used:
            self._keep(station)
        clock = self.clock.part(MERGE_SHARE * (self.clock.seconds - self.clock.spent))
        for piece in range(MERGES):
            if self.used <= self.bound or clock.over:
                break
            station = improve(plain.times, room, plain.order, station, ROUNDS, self.seed + piece)
            if station.max() + 1 < self.used:
                self._keep(station)

    def _share(self) -> None:
        """Raise the bound by what can share a station, first for one station fewer than found, then at the bound."""
        clock = self.clock.part(BOUND_SHARE * (self.clock.seconds - self.clock.spent))
        asked, took = self.used - 1, 0.0
        while self.used > self.bound and clock.seconds - clock.spent > took:
            begun = clock.spent
            least = stations_for(self.plain, self.room, asked, clock.seconds - clock.spent)
            if least is None or (asked == self.bound and least <= asked):
                break
            self.bound = max(self.bound, min(least, asked + 1))
            asked, took = self.bound, clock.spent - begun
            self.clock.tell(self.bound, self.used)

    def _shake(self) -> None:
        clock = self.clock.part(SHAKE_SHARE * (self.clock.seconds - self.clock.spent))
        while self.used > self.bound and not clock.over:
            station = shake(self._case(self.used - 1), SHAKES, self.seed, clock)
            if station is None:
                break
            self._keep(station)

    def _search(self) -> str:
        """The search, in wide steps down where much is open; the last step has all the time that is left."""
        step = max(1, (self.used - self.bound) // 2)
        while self.used > self.bound:
            if self.clock.over:
                return "time"
            step = min(step, self.used - self.bound)
            stations = self.used - step
            clock = self.clock if step == 1 else self.clock.part(STEP_SHARE * self.clock.seconds)
            decision = feasible(self._case(stations), clock)
            self.states += decision.states
            if decision.station is not None:
                self._keep(decision.station)
                continue
            if decision.reason == "proved":
                self.bound = stations + 1
            else:
                self.bound = max(self.bound, decision.bound)
                if step == 1:
                    return decision.reason
                step //= 2
            self.clock.tell(self.bound, self.used)
        return "proved"


@cache
def warm_up() -> None:
    """Load or compile the engine, so that the time allowed is spent on the line (the first run ever takes longer)."""
    use_machine_code()
    times = np.array([3, 4, 5, 6], np.int64)
    names = tuple("abcd")
    line = Line(names, times, np.array([0, 0, 1, 1, 1], np.int64), np.array([0], np.int64))
    ready = prepare(Plain.of(line), 9, 2)
    if ready is not None:
        try_to_fill(ready, 0, Clock(1.0))
        plain = Plain.of(line)
        improve(plain.times, 9, plain.order, merge(plain.times, 9, plain.order, np.ones(4), 4.0), 1, 0)
        feasible(ready, Clock(1.0))
