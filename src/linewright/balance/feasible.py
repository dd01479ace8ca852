"""Can the line be built with so many stations? The search from both ends of the line, in turns, on one thread.

The end that opens less widely gets most of the work; the strongest weights are computed when the first ones do not do.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linewright.balance.clock import Clock
from linewright.balance.dual import dual_weights
from linewright.balance.loads import Case, Ints, make_space
from linewright.balance.prepare import Ready
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
LEAST_WORK = 20_000  # steps of a turn, of the first one and near the end of the time
DUAL_SHARE = 0.3  # of the search time so far is what a try may take


@dataclass(frozen=True, slots=True)
class Decision:
    """Whether so many stations do: ``station`` (from 0) of each task kept; None where there is no way or none known."""

    station: Ints | None
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
        self.pace = 0.0  # seconds of a step in the latest turn
        begin(self.store)

    def add_row(self, weights: Ints, room: int) -> None:
        """Let one more row of weights prune from now on."""
        case = self.case
        self.case = case._replace(weights=np.column_stack((case.weights, weights)), rooms=np.append(case.rooms, room))

    def run(self, work: int, clock: Clock) -> int:
        """Search for about ``work`` steps, fewer near the end of the time; FULL only where the memory is used up."""
        begun = clock.spent
        half = max(0.0, clock.seconds - begun) / 2  # the pace is that of the turn before, and may have slackened
        if work * self.pace > half:
            work = max(LEAST_WORK, int(half / self.pace))
        while True:
            code = turn(self.case, self.store, self.pick, self.sums, self.most_loads, 50_000, work, self.space)
            if code != FULL or not self._grow():
                self.pace = (clock.spent - begun) / work
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


def feasible(ready: Ready, clock: Clock) -> Decision:
    """Whether the line can be built with the stations of ``ready``: an answer, or proved that there is none."""
    directions = [Direction(case, ready.sums, MEMORY // 2) for case in (ready.front, ready.back)]
    begun = clock.spent
    duals = list(DUAL_AFTER)
    bound = 0
    work = LEAST_WORK
    alive = [True, True]
    while any(alive):
        for side, direction in enumerate(directions):
            if not alive[side]:
                continue
            wider = all(alive) and direction.breadth > MUCH_WIDER * directions[1 - side].breadth
            code = direction.run(work // WIDER_SHARE if wider else work, clock)
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
            bound = max(bound, _sharpen(directions, min(DUAL_SHARE * searched, clock.seconds - clock.spent)))
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
