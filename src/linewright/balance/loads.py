"""Which sets of tasks can one station take next? The loads of a partly built line, each found once.

The tasks that could still enter the station stand in a fixed order that respects what comes before what; a walk takes
or leaves each in turn. It turns back where the load can no longer be filled enough (total of what is left, sums that
can be reached), where a task that must be here is left out, or where a task left out would still fit.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from linewright.balance.bits import ONE, Words, add, any_between, has, shifted_into
from linewright.balance.kernel import kernel

Ints = NDArray[np.int64]

FOUND, EMPTY, PAUSED = 1, 0, 2
DEPTH, POS, FILLED, TURN, NODES = range(5)  # places in the row ``walk``


class Case(NamedTuple):
    """The plain problem for one direction and one number of stations, prepared for the search.

    ``weights`` (tasks x rows) and ``rooms``: in every row, the weights of one load never exceed its room; row 0 is the
    times and the takt. ``latest``: last station (from 0) of each task. ``tail``: ticks of line that must follow it.
    ``better[better_start[j]:]``: tasks that ``j`` may take the place of without loss. ``price``: stations that a task
    is worth, by which unfinished lines are compared.
    """

    stations: int
    room: int
    times: Ints
    before_start: Ints
    before: Ints
    after_start: Ints
    after: Ints
    latest: Ints
    tail: Ints
    tail_order: Ints
    weights: Ints
    rooms: Ints
    better_start: Ints
    better: Ints
    price: NDArray[np.float64]


class Space(NamedTuple):
    """Room to work in for the walk over the loads of one station."""

    task: Ints  # task at each position
    position: Ints  # position of each task, -1 outside
    time: Ints  # time at each position
    missing: Ints  # tasks before it that are neither done nor in the load
    must: NDArray[np.bool_]
    inside: NDArray[np.bool_]
    chain: Ints
    chains: Words
    rest: Ints  # total time from each position on
    sums: Words  # sums that can be reached from each position on
    stack: Ints
    needs: Ints
    ready: Ints
    walk: Ints


def make_space(n: int, room: int, sums: bool) -> Space:
    """Room to work in for ``n`` tasks; ``sums`` says whether sums up to ``room`` are kept."""
    words = (n + 63) // 64
    return Space(
        task=np.zeros(n, np.int64),
        position=np.full(n, -1, np.int64),
        time=np.zeros(n, np.int64),
        missing=np.zeros(n, np.int64),
        must=np.zeros(n, np.bool_),
        inside=np.zeros(n, np.bool_),
        chain=np.zeros(n, np.int64),
        chains=np.zeros((n, words), np.uint64),
        rest=np.zeros(n + 1, np.int64),
        sums=np.zeros((n + 1, room // 64 + 1) if sums else (1, 1), np.uint64),
        stack=np.zeros(n + 1, np.int64),
        needs=np.zeros(n + 2, np.int64),
        ready=np.zeros(n, np.int64),
        walk=np.zeros(5, np.int64),
    )


@kernel()
def list_tasks(case: Case, done: Words, level: int, pick: NDArray[np.float64], space: Space) -> int:
    """Fill ``space`` with the tasks that could enter station ``level``; how many, or -1 where one that must cannot.

    Among the tasks that may come next the one with the greatest ``pick`` stands first.
    """
    n = len(case.times)
    ready = 0
    musts = 0
    for i in range(n):
        space.position[i] = -1
        if has(done, i):
            continue
        if case.latest[i] <= level:
            musts += 1
        waits = 0
        for k in range(case.before_start[i], case.before_start[i + 1]):
            if not has(done, case.before[k]):
                waits += 1
        space.missing[i] = waits  # by task here, by position below
        if waits == 0:
            space.ready[ready] = i
            ready += 1
    count = 0
    while ready > 0:
        best = 0
        for r in range(1, ready):
            if pick[space.ready[r]] > pick[space.ready[best]]:
                best = r
        i = space.ready[best]
        ready -= 1
        space.ready[best] = space.ready[ready]
        if not _chain_fits(case, done, i, count, space):
            continue
        space.position[i] = count
        space.task[count] = i
        space.time[count] = case.times[i]
        space.must[count] = case.latest[i] <= level
        musts -= space.must[count]
        count += 1
        for k in range(case.after_start[i], case.after_start[i + 1]):
            j = case.after[k]
            space.missing[j] -= 1
            if space.missing[j] == 0:
                space.ready[ready] = j
                ready += 1
    return count if musts == 0 else -1


@kernel()
def _chain_fits(case: Case, done: Words, i: int, p: int, space: Space) -> bool:
    """Whether task ``i`` and everything open before it fit into one station."""
    time = case.times[i]
    chains = space.chains[p]
    chains[:] = np.uint64(0)
    longest = 0
    parents = 0
    for k in range(case.before_start[i], case.before_start[i + 1]):
        j = case.before[k]
        if has(done, j):
            continue
        q = space.position[j]
        parents += 1
        longest = max(longest, space.chain[q])
        for w in range(len(chains)):
            chains[w] |= space.chains[q, w]
    if longest + time > case.room:
        return False
    if parents > 1:
        longest = 0
        for q in range(p):
            if has(chains, q):
                longest += space.time[q]
        if longest + time > case.room:
            return False
    add(chains, p)
    space.chain[p] = longest + time
    return True


@kernel()
def start_walk(case: Case, done: Words, count: int, need: int, use_sums: bool, space: Space) -> None:
    """Begin the walk over the loads of at least ``need`` ticks among the ``count`` tasks listed."""
    for p in range(count):
        space.inside[p] = False
        i = space.task[p]
        waits = 0
        for k in range(case.before_start[i], case.before_start[i + 1]):
            if not has(done, case.before[k]):
                waits += 1
        space.missing[p] = waits
    space.rest[count] = 0
    if use_sums:
        space.sums[count, :] = np.uint64(0)
        space.sums[count, 0] = ONE
    for p in range(count - 1, -1, -1):
        space.rest[p] = space.rest[p + 1] + space.time[p]
        if use_sums:
            shifted_into(space.sums[p], space.sums[p + 1], space.time[p], case.room)
    space.needs[0] = max(need, 0)
    space.walk[:] = 0


@kernel(inline="always")
def _count_for(after_start: Ints, after: Ints, position: Ints, missing: Ints, i: int, by: int) -> None:
    """Tell the listed tasks right behind ``i`` that one more or one fewer task is missing before them."""
    for k in range(after_start[i], after_start[i + 1]):
        q = position[after[k]]
        if q >= 0:
            missing[q] += by


@kernel()
def next_load(case: Case, count: int, use_sums: bool, budget: int, space: Space) -> int:
    """Walk on to the next load: FOUND, EMPTY at the end, PAUSED after ``budget`` steps (the walk can go on later).

    The whole walk is one function over local variables: it is where nearly all time goes.
    """
    after_start, after, top = case.after_start, case.after, case.room
    task, position, time = space.task, space.position, space.time
    missing, must, inside = space.missing, space.must, space.inside
    rest, sums, stack, needs, walk = space.rest, space.sums, space.stack, space.needs, space.walk
    depth, p, filled = walk[DEPTH], walk[POS], walk[FILLED]
    result = PAUSED
    steps = 0
    back = walk[TURN] != 0
    while steps < budget:
        steps += 1
        if not back:
            low = max(needs[depth] - filled, 0)
            room = top - filled
            back = rest[p] < low or (use_sums and not any_between(sums[p], low, room))
            if not back:
                while p < count and (missing[p] != 0 or time[p] > room):
                    if must[p]:
                        back = True
                        break
                    p += 1
            if not back:
                if p < count:  # take it
                    stack[depth] = p
                    depth += 1
                    needs[depth] = needs[depth - 1]
                    inside[p] = True
                    filled += time[p]
                    _count_for(after_start, after, position, missing, task[p], -1)
                    p += 1
                    continue
                back = True
                if low == 0:
                    result = FOUND
                    break
        while depth > 0:  # leave out the last task that may be left out
            depth -= 1
            p = stack[depth]
            inside[p] = False
            filled -= time[p]
            _count_for(after_start, after, position, missing, task[p], 1)
            if not must[p]:
                back = False
                break
        if back:
            result = EMPTY
            break
        # a task left out that would fit must be kept out by what fills the station instead
        needs[depth] = max(needs[depth], top - time[p] + 1)
        p += 1
    walk[DEPTH], walk[POS], walk[FILLED], walk[TURN] = depth, p, filled, back
    walk[NODES] += steps
    return result


@kernel()
def resume_walk(case: Case, taken: Words, position: int, turned: int, space: Space) -> None:
    """Put a freshly started walk back to where it paused: the positions taken, the next one to look at."""
    depth = 0
    filled = 0
    for p in range(position):
        if has(taken, p):
            space.stack[depth] = p
            depth += 1
            space.needs[depth] = space.needs[depth - 1]
            space.inside[p] = True
            filled += space.time[p]
            _count_for(case.after_start, case.after, space.position, space.missing, space.task[p], -1)
        elif space.missing[p] == 0 and space.time[p] <= case.room - filled:
            space.needs[depth] = max(space.needs[depth], case.room - space.time[p] + 1)
    space.walk[DEPTH], space.walk[POS], space.walk[FILLED], space.walk[TURN] = depth, position, filled, turned


@kernel()
def outdone(case: Case, count: int, space: Space) -> bool:
    """Whether a task of the load can give its place to one left out that is longer and has more behind it (Jackson)."""
    spare = case.room - space.walk[FILLED]
    for q in range(count):
        if space.inside[q] or space.missing[q] != 0:
            continue
        j = space.task[q]
        for k in range(case.better_start[j], case.better_start[j + 1]):
            p = space.position[case.better[k]]
            if p >= 0 and space.inside[p] and space.time[q] - space.time[p] <= spare:
                return True
    return False
