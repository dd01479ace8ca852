"""Good balances of lines whose tasks are long: tasks are put together, anywhere in the line, until nothing fits.

Any sharing of the tasks is a line as long as no two stations wait for each other. So the longest task looks for company
first, wherever in the line, and takes what fits and adds the least new waiting; the order of the stations comes out at
the end. Where stations hold two or three tasks this beats filling station after station.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from linewright.balance.bits import ONE, Words, add, count_ones, has
from linewright.balance.kernel import kernel
from linewright.balance.loads import Ints
from linewright.balance.order import Order

WORSE = 0.01  # squared spare stations that a change may cost on average: less is stuck sooner, more wanders


@kernel(heavy=True)
def _burden(lead: Words, follow: Words, u: int, v: int) -> int:
    """Pairs of groups that begin to wait where ``u`` and ``v`` become one; -1 where they would wait for each other."""
    only = np.zeros(4, np.int64)
    for k in range(lead.shape[1]):
        lead_u, lead_v, follow_u, follow_v = lead[u, k], lead[v, k], follow[u, k], follow[v, k]
        if (lead_u & follow_v) | (lead_v & follow_u):
            return -1
        only[0] += count_ones(lead_u & ~lead_v)
        only[1] += count_ones(lead_v & ~lead_u)
        only[2] += count_ones(follow_u & ~follow_v)
        only[3] += count_ones(follow_v & ~follow_u)
    return int(only[0] * only[3] + only[1] * only[2])


@kernel(heavy=True)
def _join(lead: Words, follow: Words, u: int, v: int) -> None:
    """Let group ``u`` take in ``v``: whatever waits for one now waits for both."""
    words = lead.shape[1]
    own_u, own_v = ONE << np.uint64(u & 63), ONE << np.uint64(v & 63)
    for k in range(words):
        lead[u, k] |= lead[v, k]
        follow[u, k] |= follow[v, k]
    for side in (lead, follow):
        side[u, u >> 6] &= ~own_u
        side[u, v >> 6] &= ~own_v
    for x in range(lead.shape[0]):
        for from_u, theirs in ((lead, follow), (follow, lead)):
            if has(from_u[u], x):
                for k in range(words):
                    theirs[x, k] |= theirs[u, k]
                theirs[x, u >> 6] |= own_u
                theirs[x, v >> 6] &= ~own_v


@kernel(heavy=True)
def _absorb(
    times: Ints,
    room: int,
    lead: Words,
    follow: Words,
    group: Ints,
    open_: Ints,
    noise: NDArray[np.float64],
    fill: float,
) -> None:
    """Join the groups listed in ``open_``, the longest first; ``group`` names a task of each task's group."""
    n = len(times)
    load = np.zeros(n, np.int64)
    for i in range(n):
        load[group[i]] += times[i]
    alive = np.zeros(n, np.bool_)
    alive[open_] = True
    for u in open_[np.argsort(-load[open_] * noise[open_])]:
        while alive[u]:
            best, chosen = np.inf, -1
            for v in open_:
                if v == u or not alive[v] or load[u] + load[v] > room:
                    continue
                burden = _burden(lead, follow, u, v)
                if burden < 0:
                    continue
                worth = (burden + 1.0) * noise[v] * (1.0 + fill * (room - load[u] - load[v]) / room)
                if worth < best:
                    best, chosen = worth, v
            if chosen < 0:
                break
            _join(lead, follow, u, chosen)
            alive[chosen] = False
            load[u] += load[chosen]
            for i in range(n):
                if group[i] == chosen:
                    group[i] = u


@kernel(heavy=True)
def _stations(lead: Words, group: Ints) -> Ints:
    """Station (from 0) of each task: a group stands behind all that it waits for, so it waits for more groups."""
    n = len(group)
    waits = np.full(n, n + 1, np.int64)
    for i in range(n):
        u = group[i]
        if waits[u] > n:
            waits[u] = 0
            for k in range(lead.shape[1]):
                waits[u] += count_ones(lead[u, k])
    place = np.zeros(n, np.int64)
    for rank, u in enumerate(np.argsort(waits)):
        place[u] = rank
    return place[group]


@kernel(heavy=True)
def merge(times: Ints, room: int, order: Order, noise: NDArray[np.float64], fill: float) -> Ints:
    """Station (from 0) of each task. ``noise`` changes the sequence of tasks and their worth; ``fill`` is how much a
    full station counts against the waiting that it adds."""
    lead, follow = order.lead.copy(), order.follow.copy()
    group = np.arange(len(times))
    _absorb(times, room, lead, follow, group, np.arange(len(times)), noise, fill)
    return _stations(lead, group)


@kernel(heavy=True)
def _close(order: Order, group: Ints, sequence: Ints, lead: Words, follow: Words) -> None:
    """What leads and follows each group; ``sequence`` holds the tasks by station, each behind what it waits for."""
    lead[:] = np.uint64(0)
    follow[:] = np.uint64(0)
    for i in sequence:
        u = group[i]
        for k in range(order.before_start[i], order.before_start[i + 1]):
            v = group[order.before[k]]
            if v != u and not has(lead[u], v):
                lead[u] |= lead[v]
                add(lead[u], v)
    for i in sequence[::-1]:
        u = group[i]
        for k in range(order.after_start[i], order.after_start[i + 1]):
            v = group[order.after[k]]
            if v != u and not has(follow[u], v):
                follow[u] |= follow[v]
                add(follow[u], v)


@kernel(heavy=True)
def _count(times: Ints, room: int, group: Ints) -> tuple[int, float]:
    """Groups, and the sum of their squared spare shares: more where few groups hold the spare time of all."""
    load = np.zeros(len(group), np.int64)
    for i in range(len(group)):
        load[group[i]] += times[i]
    spare = (room - load[load > 0]) / room
    return len(spare), (spare * spare).sum()


@kernel(heavy=True)
def improve(times: Ints, room: int, order: Order, station: Ints, rounds: int, seed: int) -> Ints:
    """The same or fewer stations: again and again some stations are taken apart and put together anew.

    Of as many stations, those are kept that gather the spare time in few of them, or lose little of that.
    """
    n = len(times)
    np.random.seed(seed)
    rank = np.zeros(n, np.int64)
    for k, i in enumerate(order.sequence):
        rank[i] = k
    best = station.copy()
    count, gathered = _count(times, room, best)
    lead, follow = np.zeros_like(order.lead), np.zeros_like(order.lead)
    noise = np.ones(n)
    for _ in range(rounds):
        load = np.zeros(count, np.int64)
        for i in range(n):
            load[best[i]] += times[i]
        apart = np.zeros(count, np.bool_)
        width = np.random.randint(2, 25)
        centre = np.random.randint(count)
        short = np.flatnonzero(load + times.min() <= room)
        if len(short) > 0:  # near a station that could still take something
            centre = short[np.random.randint(len(short))]
        for s in range(max(0, centre - width), min(count, centre + width + 1)):
            apart[s] = np.random.random() < 0.5
        first = np.full(count, -1, np.int64)
        group = np.arange(n)
        for i in range(n):
            s = best[i]
            if not apart[s]:
                if first[s] < 0:
                    first[s] = i
                group[i] = first[s]
        sequence = np.argsort(best * n + rank)
        _close(order, group, sequence, lead, follow)
        listed = np.zeros(n, np.bool_)
        for i in range(n):
            s = best[i]
            listed[group[i]] = apart[s] or load[s] + times.min() <= room
        change = 0.02 + 0.05 * np.random.random()
        for i in range(n):
            noise[i] = 1.0 - change * np.random.random()
        _absorb(times, room, lead, follow, group, np.flatnonzero(listed), noise, 10.0 ** (3 * np.random.random() - 1))
        used, now = _count(times, room, group)
        if used < count or (used == count and now >= gathered - WORSE * np.random.exponential()):
            best = _stations(lead, group)
            count, gathered = used, now
    return best
