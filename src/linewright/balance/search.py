"""Can the line be built with so many stations? A complete search that remembers what it has seen.

A state is the set of tasks done after so many stations. The search goes round the stations, each time opening the most
promising state there (cyclic best first); every load of its next station that bounds and dominance leave gives a new
state, kept once per set. A state with very many loads is opened in parts and goes on where it stopped. Branch, bound
and remember after Sewell and Jacobson (INFORMS Journal on Computing 24, 2012) and Morrison, Sewell and Jacobson
(European Journal of Operational Research 236, 2014).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from linewright.balance.bits import Words, add, count_ones, has
from linewright.balance.kernel import kernel
from linewright.balance.loads import (
    DEPTH,
    EMPTY,
    FILLED,
    FOUND,
    NODES,
    POS,
    TURN,
    Case,
    Ints,
    Space,
    list_tasks,
    next_load,
    outdone,
    resume_walk,
    start_walk,
)

GOING, SOLVED, EXHAUSTED, FULL = range(4)  # what a turn of the search ends with
STATES, PARTS, FREE_PARTS, LEVEL, OPEN, LAST, STEPS, OPENED = range(8)  # places in ``Store.tally``
NONE = -1
VOID = -2


class Store(NamedTuple):
    """All states. Each is in the heap of its level until it is closed; ``left``, ``next`` make pairing heaps."""

    sets: Words
    level: NDArray[np.int16]
    parent: NDArray[np.int32]
    priced: NDArray[np.float64]  # price of all tasks done
    key: NDArray[np.float32]
    part: NDArray[np.int32]  # where its walk paused; -1 while it has not begun
    left: NDArray[np.int32]
    next: NDArray[np.int32]
    table: NDArray[np.int32]  # hash table of sets, open addressing
    heads: NDArray[np.int32]  # top of the heap of each level
    part_taken: Words
    part_position: NDArray[np.int32]
    part_free: NDArray[np.int32]
    tally: Ints


def make_store(words: int, levels: int, states: int, parts: int, table: int) -> Store:
    """An empty store with room for so many states, paused walks and table places."""
    return Store(
        sets=np.zeros((states, words), np.uint64),
        level=np.zeros(states, np.int16),
        parent=np.full(states, NONE, np.int32),
        priced=np.zeros(states),
        key=np.zeros(states, np.float32),
        part=np.full(states, NONE, np.int32),
        left=np.full(states, NONE, np.int32),
        next=np.full(states, NONE, np.int32),
        table=np.full(table, NONE, np.int32),
        heads=np.full(levels + 1, NONE, np.int32),
        part_taken=np.zeros((parts, words), np.uint64),
        part_position=np.zeros(parts, np.int32),
        part_free=np.zeros(parts, np.int32),
        tally=np.zeros(8, np.int64),
    )


@kernel(heavy=True)
def _hash(words: Words) -> np.uint64:
    h = np.uint64(0x9E3779B97F4A7C15)
    for k in range(len(words)):
        h ^= words[k]
        h *= np.uint64(0xBF58476D1CE4E5B9)
        h ^= h >> np.uint64(29)
    h *= np.uint64(0x94D049BB133111EB)
    return h ^ (h >> np.uint64(32))


@kernel(heavy=True)
def _find(store: Store, words: Words) -> int:
    """The place of a set in the table: its own, or the free one where it would go."""
    mask = np.uint64(len(store.table) - 1)
    place = _hash(words) & mask
    while True:
        s = store.table[place]
        if s == NONE:
            return int(place)
        same = True
        for k in range(len(words)):
            if store.sets[s, k] != words[k]:
                same = False
                break
        if same:
            return int(place)
        place = (place + np.uint64(1)) & mask


@kernel(heavy=True)
def refill_table(store: Store) -> None:
    """Enter every state into an emptied table; of two with one set the later, which has the lower level, stays."""
    for s in range(store.tally[STATES]):
        store.table[_find(store, store.sets[s])] = s


@kernel(heavy=True)
def _meld(store: Store, a: int, b: int) -> int:
    if a == NONE:
        return b
    if b == NONE:
        return a
    if store.key[b] < store.key[a] or (store.key[b] == store.key[a] and b < a):
        a, b = b, a
    store.next[b] = store.left[a]
    store.left[a] = b
    return a


@kernel(heavy=True)
def _push(store: Store, s: int) -> None:
    store.left[s] = NONE
    store.next[s] = NONE
    level = store.level[s]
    store.heads[level] = _meld(store, store.heads[level], s)
    store.tally[OPEN] += 1


@kernel(heavy=True)
def _pop(store: Store, level: int) -> int:
    top = int(store.heads[level])
    pairs = NONE  # first pass: meld neighbours, chained backwards
    s = store.left[top]
    while s != NONE:
        a = s
        b = store.next[a]
        if b == NONE:
            s = NONE
        else:
            s = store.next[b]
            store.next[b] = NONE
        store.next[a] = NONE
        a = _meld(store, a, b)
        store.next[a] = pairs
        pairs = a
    head = NONE
    while pairs != NONE:
        rest = store.next[pairs]
        store.next[pairs] = NONE
        head = _meld(store, head, pairs)
        pairs = rest
    store.heads[level] = head
    store.left[top] = NONE
    store.tally[OPEN] -= 1
    return top


@kernel(heavy=True)
def _spread_over(case: Case, words: Words, level: int, left: Ints) -> bool:
    """Whether what is left after ``level`` stations passes every bound; ``left`` becomes its weight in each row."""
    n, rows = case.weights.shape
    left[:] = 0
    for i in range(n):
        if not has(words, i):
            for b in range(rows):
                left[b] += case.weights[i, b]
    stations = case.stations - level
    for b in range(rows):
        if left[b] > stations * case.rooms[b]:
            return False
    line = stations * case.room
    total = 0
    for k in range(n):
        i = case.tail_order[k]
        if not has(words, i):
            total += case.times[i]
            if total + case.tail[i] > line:
                return False
    return True


@kernel(heavy=True)
def _load_passes(case: Case, space: Space, left: Ints, stations: int) -> bool:
    """Whether what remains after the load at hand fits into ``stations`` stations, row by row."""
    depth = space.walk[DEPTH]
    for b in range(len(left)):
        remains = left[b] - stations * case.rooms[b]
        if remains > 0:
            for d in range(depth):
                remains -= case.weights[space.task[space.stack[d]], b]
            if remains > 0:
                return False
    return True


@kernel(heavy=True)
def _close(store: Store, s: int) -> None:
    if store.part[s] >= 0:
        store.part_free[store.tally[FREE_PARTS]] = store.part[s]
        store.tally[FREE_PARTS] += 1
    store.part[s] = NONE


@kernel(heavy=True)
def _remember(case: Case, store: Store, words: Words, parent: int, priced: float) -> int:
    """Keep the new set in ``words`` unless it was met at this level or before; its state, or -1."""
    level = int(store.level[parent]) + 1
    place = _find(store, words)
    known = store.table[place]
    if known != NONE and store.level[known] <= level:
        return NONE
    s = int(store.tally[STATES])
    store.tally[STATES] += 1
    store.table[place] = s
    done = 0
    for k in range(len(words)):
        store.sets[s, k] = words[k]
        done += count_ones(words[k])
    store.level[s] = level
    store.parent[s] = parent
    store.part[s] = NONE
    store.priced[s] = priced
    store.key[s] = 1000.0 * (level - priced) / level - 0.02 * (len(case.times) - done)
    if known != NONE:
        _close(store, known)
        store.part[known] = VOID  # met again with fewer stations: the older one is void
    return s


@kernel(heavy=True)
def _pause(store: Store, s: int, space: Space) -> None:
    part = store.part[s]
    if part == NONE:
        if store.tally[FREE_PARTS] > 0:
            store.tally[FREE_PARTS] -= 1
            part = store.part_free[store.tally[FREE_PARTS]]
        else:
            part = store.tally[PARTS]
            store.tally[PARTS] += 1
        store.part[s] = part
    store.part_taken[part, :] = np.uint64(0)
    for d in range(space.walk[DEPTH]):
        add(store.part_taken[part], space.stack[d])
    store.part_position[part] = 2 * space.walk[POS] + space.walk[TURN]


@kernel(heavy=True)
def _open_state(
    case: Case,
    store: Store,
    s: int,
    pick: NDArray[np.float64],
    use_sums: bool,
    most_loads: int,
    most_steps: int,
    space: Space,
    left: Ints,
    words: Words,
) -> bool:
    """Give state ``s`` its next loads. True where one of them finishes the line."""
    level = int(store.level[s])
    if not _spread_over(case, store.sets[s], level, left):
        _close(store, s)
        return False
    count = list_tasks(case, store.sets[s], level, pick, space)
    if count <= 0:
        _close(store, s)
        return False
    stations = case.stations - level - 1
    need = left[0] - stations * case.room
    start_walk(case, store.sets[s], count, need, use_sums, space)
    if store.part[s] >= 0:
        part = store.part[s]
        resume_walk(case, store.part_taken[part], store.part_position[part] >> 1, store.part_position[part] & 1, space)
    loads = 0
    steps = most_steps
    while True:
        before = space.walk[NODES]
        found = next_load(case, count, use_sums, steps, space)
        steps -= space.walk[NODES] - before
        if found == EMPTY:
            _close(store, s)
            break
        if found == FOUND:
            loads += 1
            if _load_passes(case, space, left, stations) and not outdone(case, count, space):
                for k in range(len(words)):
                    words[k] = store.sets[s, k]
                priced = store.priced[s]
                for d in range(space.walk[DEPTH]):
                    add(words, space.task[space.stack[d]])
                    priced += case.price[space.task[space.stack[d]]]
                child = _remember(case, store, words, s, priced)
                if child != NONE:
                    if left[0] == space.walk[FILLED]:
                        store.tally[LAST] = child
                        return True
                    _push(store, child)
        if found != FOUND or loads >= most_loads or steps <= 0:
            _pause(store, s, space)
            store.key[s] += np.float32(1.0)
            _push(store, s)
            break
    store.tally[STEPS] += most_steps - steps
    store.tally[OPENED] += 1
    return False


@kernel(heavy=True)
def begin(store: Store) -> None:
    """Put the empty line into the store."""
    store.tally[STATES] = 1
    store.table[_find(store, store.sets[0])] = 0
    _push(store, 0)


@kernel(heavy=True)
def turn(
    case: Case,
    store: Store,
    pick: NDArray[np.float64],
    use_sums: bool,
    most_loads: int,
    most_steps: int,
    work: int,
    space: Space,
) -> int:
    """Search on for about ``work`` steps. GOING, SOLVED, EXHAUSTED (proved: no), or FULL (the store must grow)."""
    left = np.zeros(len(case.rooms), np.int64)
    words = np.zeros(store.sets.shape[1], np.uint64)
    tally = store.tally
    end = tally[STEPS] + work
    opened = 0
    while tally[STEPS] < end and opened * 50 < work:
        if tally[OPEN] == 0:
            return EXHAUSTED
        if (
            tally[STATES] + most_loads >= len(store.level)
            or 2 * (tally[STATES] + most_loads) >= len(store.table)
            or tally[PARTS] + 1 >= len(store.part_free)
        ):
            return FULL
        level = int(tally[LEVEL])
        while store.heads[level] == NONE:
            level = (level + 1) % case.stations
        tally[LEVEL] = (level + 1) % case.stations
        s = _pop(store, level)
        if store.part[s] == VOID:
            continue
        opened += 1
        if _open_state(case, store, s, pick, use_sums, most_loads, most_steps, space, left, words):
            return SOLVED
    return GOING
