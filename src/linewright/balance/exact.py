"""The fewest stations of a plain line, proved where time allows: bounds, heuristic, then the complete search.

The search asks again and again "could it be one station fewer?", from the front and from the back of the line in
turns. The answer is proved only when that search came to its end.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache

import numpy as np
from numpy.typing import NDArray

from linewright.balance.dual import dual_weights
from linewright.balance.hoffmann import fill_line
from linewright.balance.line import Line
from linewright.balance.loads import Case, Ints, make_space
from linewright.balance.prepare import Plain, Ready, prepare
from linewright.balance.search import (
    EXHAUSTED,
    FULL,
    GOING,
    LAST,
    PARTS,
    SOLVED,
    STATES,
    begin,
    make_store,
    refill_table,
    turn,
)

MEMORY = 700_000_000  # bytes that both directions may use together
MUCH_WIDER = 2  # the end of the line that opens so many times wider than the other
WIDER_SHARE = 6  # is searched with a sixth of the work only
DUAL_AFTER = (0.3, 5.0)  # seconds of search before the strongest weights are worth a try, and a longer one
DUAL_SHARE = 0.3  # of the search time so far is what a try may take
EFFORTS = ((1, 1, 200), (4, 1000, 20_000), (12, 5000, 200_000))  # weights tried, loads and steps per station


@dataclass(slots=True)
class Clock:
    """When to stop: a time limit and a word from outside; and whom to tell how far it is."""

    seconds: float
    cancel: Callable[[], bool] | None = None
    progress: Callable[[int, int], None] | None = None
    started: float = field(default_factory=time.perf_counter)

    @property
    def spent(self) -> float:
        """Seconds since the start."""
        return time.perf_counter() - self.started

    @property
    def over(self) -> bool:
        """Whether to stop now."""
        return self.spent >= self.seconds or (self.cancel is not None and self.cancel())

    def part(self, seconds: float) -> Clock:
        """A clock for a part of the work that also stops when this one does."""
        return Clock(min(seconds, self.seconds - self.spent), self.cancel)

    def tell(self, bound: int, stations: int) -> None:
        """Say the bound and the best so far."""
        if self.progress is not None:
            self.progress(bound, stations)


@dataclass(frozen=True, slots=True)
class Decision:
    """Whether so many stations do: ``station`` (from 0) of each task kept; None where there is no way or none known."""

    station: Ints | None
    bound: int
    reason: str  # "proved", "time", "memory"
    states: int = 0


@dataclass(frozen=True, slots=True)
class Fewest:
    """The best found: ``station`` (from 0) of each task kept, the bound on stations, why it stopped, states seen."""

    station: Ints
    bound: int
    reason: str  # "proved", "time", "memory"
    states: int = 0


class Direction:
    """The search in one direction, its store growing as needed."""

    def __init__(self, case: Case, sums: bool, memory: int) -> None:
        self.case = case
        self.sums = sums
        n = len(case.times)
        self.space = make_space(n, case.room, sums)
        self.words = (n + 63) // 64
        self.most_loads = 64
        self.pick = case.times.astype(np.float64) + case.tail / (1.0 + case.room * case.stations)
        self.store = make_store(self.words, case.stations, 1 << 12, 1 << 8, 1 << 13)
        self.memory = memory
        begin(self.store)

    def add_row(self, weights: Ints, room: int) -> None:
        """Let one more row of weights prune from now on."""
        case = self.case
        self.case = case._replace(weights=np.column_stack((case.weights, weights)), rooms=np.append(case.rooms, room))

    def run(self, work: int) -> int:
        """Search for about ``work`` steps; FULL only where the memory is used up."""
        while True:
            code = turn(self.case, self.store, self.pick, self.sums, self.most_loads, 50_000, work, self.space)
            if code != FULL or not self._grow():
                return int(code)

    @property
    def breadth(self) -> int:
        """States kept behind the second station: how widely the line opens from this end."""
        return int(np.count_nonzero(self.store.level[: self.states] == 2))

    @property
    def states(self) -> int:
        """States kept so far."""
        return int(self.store.tally[STATES])

    def _grow(self) -> bool:
        old = self.store
        states, parts = len(old.level), len(old.part_free)
        if old.tally[STATES] + self.most_loads >= states:
            states *= 2
        if old.tally[PARTS] + 1 >= parts:
            parts *= 2
        table = 2 * states
        size = states * (8 * self.words + 30) + 4 * table + parts * (8 * self.words + 8)
        if size > self.memory:
            return False
        new = make_store(self.words, self.case.stations, states, parts, table)
        for name in ("sets", "level", "parent", "priced", "key", "part", "left", "next"):
            getattr(new, name)[: len(old.level)] = getattr(old, name)
        for name in ("part_taken", "part_position", "part_free"):
            getattr(new, name)[: len(old.part_free)] = getattr(old, name)
        new.heads[:] = old.heads
        new.tally[:] = old.tally
        refill_table(new)
        self.store = new
        return True

    def station(self) -> Ints:
        """Station (from 0) of each task in the answer found."""
        n = len(self.case.times)
        station = np.zeros(n, np.int64)
        s = int(self.store.tally[LAST])
        while s > 0:
            parent = int(self.store.parent[s])
            new = self.store.sets[s] & ~self.store.sets[parent]
            bits = np.unpackbits(new.view(np.uint8), bitorder="little")[:n]
            station[np.flatnonzero(bits)] = self.store.level[s] - 1
            s = parent
        return station


def squeeze(station: Ints) -> Ints:
    """Stations numbered without gaps."""
    return np.unique(station, return_inverse=True)[1].astype(np.int64)


def try_to_fill(ready: Ready, effort: int, clock: Clock) -> Ints | None:
    """The heuristic at one of three efforts, both directions; stations (from 0), or None where it finds no way."""
    tries, most_loads, most_steps = EFFORTS[effort]
    for turned, case in ((False, ready.front), (True, ready.back)):
        n = len(case.times)
        words = (n + 63) // 64
        space = make_space(n, case.room, ready.sums)
        done, best = np.zeros(words, np.uint64), np.zeros(words, np.uint64)
        station = np.zeros(n, np.int64)
        for weight in _weights(case)[:tries]:
            used = fill_line(case, weight, ready.sums, most_loads, most_steps, space, done, best, station)
            if used >= 0:
                return used - 1 - station if turned else station
            if clock.over:
                return None
    return None


def _weights(case: Case) -> list[NDArray[np.float64]]:
    """What a task weighs in the heuristic: its time, and more the more work or tasks hang on it."""
    times = case.times.astype(np.float64)
    behind = case.tail.astype(np.float64)
    follow = np.diff(case.after_start).astype(np.float64)
    unit = times.mean() if len(times) else 1.0
    return [
        times + a * behind + b * unit * follow
        for a, b in (
            (0.0, 0.0),
            (0.005, 0.0),
            (0.0, 0.05),
            (0.05, 0.0),
            (0.02, 0.02),
            (0.2, 0.0),
            (0.0, 0.2),
            (0.01, 0.1),
            (0.5, 0.0),
            (0.001, 0.01),
            (0.0, 0.5),
            (1.0, 0.5),
        )
    ]


def fewest(plain: Plain, room: int, clock: Clock) -> Fewest:
    """The fewest stations of ``room`` ticks each."""
    if len(plain.times) == 0:
        return Fewest(np.zeros(0, np.int64), 1, "proved")
    bound = max(1, -(-int(plain.times.sum()) // room))
    while (ready := prepare(plain, room, bound)) is None:
        bound += 1
    best = try_to_fill(ready, 0, clock)
    if best is None:
        loose = prepare(plain, room, 2 * bound + 1)
        best = None if loose is None else try_to_fill(loose, 0, Clock(1e9))
        if best is None:
            raise AssertionError("filling every station as far as it goes always ends within twice the bound")
    best = squeeze(best)
    cases = _Cases(plain, room, bound, ready)
    for effort in (0, 1, 2):
        low, step = bound, 1
        while low <= int(best.max()) and not clock.over:  # from the bound up in widening steps, then between
            stations = min(low + step - 1, int(best.max()))
            found = try_to_fill(cases[stations], effort, clock)
            if found is not None:
                best, step = squeeze(found), 1
            else:
                low, step = stations + 1, 2 * step
    clock.tell(bound, int(best.max()) + 1)
    states = 0
    while int(best.max()) + 1 > bound:
        if clock.over:
            return Fewest(best, bound, "time", states)
        decision = feasible(cases[int(best.max())], clock)
        states += decision.states
        if decision.station is None:
            if decision.reason != "proved":
                return Fewest(best, max(bound, decision.bound), decision.reason, states)
            bound = int(best.max()) + 1
        else:
            best = squeeze(decision.station)
        clock.tell(bound, int(best.max()) + 1)
    return Fewest(best, bound, "proved", states)


class _Cases(dict[int, Ready]):
    """The line made ready for each number of stations that is asked for, from the bound up."""

    def __init__(self, plain: Plain, room: int, bound: int, ready: Ready) -> None:
        super().__init__({bound: ready})
        self.plain, self.room = plain, room

    def __missing__(self, stations: int) -> Ready:
        ready = prepare(self.plain, self.room, stations)
        if ready is None:
            raise AssertionError("more stations than a bound allows cannot be too few")
        self[stations] = ready
        return ready


def feasible(ready: Ready, clock: Clock) -> Decision:
    """Whether the line can be built with the stations of ``ready``: an answer, or proved that there is none."""
    directions = [Direction(case, ready.sums, MEMORY // 2) for case in (ready.front, ready.back)]
    begun = clock.spent
    duals = list(DUAL_AFTER)
    bound = 0
    work = 20_000
    alive = [True, True]
    while any(alive):
        for side, direction in enumerate(directions):
            if not alive[side]:
                continue
            wider = all(alive) and direction.breadth > MUCH_WIDER * directions[1 - side].breadth
            code = direction.run(work // WIDER_SHARE if wider else work)
            states = sum(d.states for d in directions)
            if code == SOLVED:
                station = direction.station()
                return Decision(squeeze(int(station.max()) - station if side else station), 0, "proved", states)
            if code == EXHAUSTED:
                return Decision(None, 0, "proved", states)
            alive[side] = code == GOING
            if clock.over:
                return Decision(None, bound, "time", states)
        searched = clock.spent - begun
        if duals and searched > duals[0]:
            duals.pop(0)
            bound = max(bound, _sharpen(directions, DUAL_SHARE * searched))
            if bound > ready.front.stations:
                return Decision(None, bound, "proved", states)
        work = min(2 * work, 2_000_000)
    return Decision(None, bound, "memory", sum(d.states for d in directions))


def _sharpen(directions: list[Direction], seconds: float) -> int:
    """Add the strongest weights to both searches; the bound on stations that they give."""
    case = directions[0].case
    row = dual_weights(case.times, case.room, seconds)
    if row is None:
        return 0
    for direction in directions:
        direction.add_row(*row)
    return -(-int(row[0].sum()) // row[1])


@cache
def warm_up() -> None:
    """Load or compile the engine, so that the time allowed is spent on the line (the first run ever takes longer)."""
    times = np.array([3, 4, 5, 6], np.int64)
    names = tuple("abcd")
    line = Line(names, times, np.array([0, 0, 1, 1, 1], np.int64), np.array([0], np.int64))
    ready = prepare(Plain.of(line), 9, 2)
    if ready is not None:
        try_to_fill(ready, 0, Clock(1.0))
        feasible(ready, Clock(1.0))
