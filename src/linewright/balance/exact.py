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

MEMORY = 600_000_000  # bytes of both directions together; half as much again while a store grows
MUCH_WIDER = 2  # the end of the line that opens so many times wider than the other
WIDER_SHARE = 6  # is searched with a sixth of the work only
DUAL_AFTER = (0.3, 5.0)  # seconds of search before the strongest weights are worth a try, and a longer one
DUAL_SHARE = 0.3  # of the search time so far is what a try may take
SHAKE = 0.03  # by how much a task's weight is changed at random
SHAKE_SHARE = 0.15  # of the time left goes to random weights where more than one station is open
STEP_SHARE = 0.12  # of the time goes to each wide step down of the search
EFFORT_SHARES = (0.3, 0.1, 0.1)  # of the time left that each effort of the heuristic may take
MIXTURES = (  # power of the price, work behind, tasks behind
    (1.0, 0.0, 0.0),
    (1.0, 0.25, 0.0),
    (1.0, 0.0, 0.05),
    (2.0, 0.5, 0.0),
    (1.0, 2.5, 0.0),
    (2.0, 0.0, 0.0),
    (1.0, 1.0, 0.02),
    (1.0, 10.0, 0.0),
    (1.0, 0.0, 0.2),
    (2.0, 2.0, 0.0),
    (1.0, 0.5, 0.1),
    (1.0, 25.0, 0.0),
)
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
        filler = Filler(case, ready.sums)
        for mixture in MIXTURES[:tries]:
            station = filler.fill(weigh(case, *mixture), most_loads, most_steps)
            if station is not None:
                return station.max() - station if turned else station
            if clock.over:
                return None
    return None


class Filler:
    """The heuristic for one case, with its room to work in."""

    def __init__(self, case: Case, sums: bool) -> None:
        n = len(case.times)
        self.case, self.sums = case, sums
        self.space = make_space(n, case.room, sums)
        self.done, self.best = np.zeros((2, (n + 63) // 64), np.uint64)

    def fill(self, weight: NDArray[np.float64], most_loads: int, most_steps: int) -> Ints | None:
        """Stations (from 0) of a line filled by ``weight``, or None where it does not fit."""
        station = np.zeros(len(weight), np.int64)
        args = self.case, weight, self.sums, most_loads, most_steps, self.space, self.done, self.best, station
        return station if fill_line(*args) >= 0 else None


def weigh(case: Case, power: float, behind: float, follow: float) -> NDArray[np.float64]:
    """What a task weighs in the heuristic: its price, and more the more work or tasks hang on it."""
    share = case.price**power
    work = case.tail / (case.room * case.stations)
    tasks = np.diff(case.after_start).astype(np.float64)
    weight: NDArray[np.float64] = share + behind * work + follow * share.mean() * tasks
    return weight


def shake(ready: Ready, seconds: float, seed: int, clock: Clock) -> Ints | None:
    """The heuristic again and again with weights drawn at random, both directions in turn."""
    random = np.random.default_rng(seed)
    part = clock.part(seconds)
    fillers = [Filler(case, ready.sums) for case in (ready.front, ready.back)]
    turned = False
    while not part.over:
        filler = fillers[turned]
        power, behind = random.uniform(1.0, 3.0), 10 ** random.uniform(-1.5, 0.7)
        weight = weigh(filler.case, power, behind, 0.0)
        weight *= random.uniform(1.0 - SHAKE, 1.0 + SHAKE, len(weight))
        station = filler.fill(weight, 1000, 20_000)
        if station is not None:
            return station.max() - station if turned else station
        turned = not turned
    return None


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

    def _shake(self) -> None:
        clock = self.clock.part(SHAKE_SHARE * (self.clock.seconds - self.clock.spent))
        while self.used > self.bound and not clock.over:
            station = shake(self._case(self.used - 1), clock.seconds - clock.spent, self.seed, clock)
            if station is not None:
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
