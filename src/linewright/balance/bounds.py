"""How few stations could there be at best? Bounds that hold for every balance.

Dual feasible functions turn times into weights so that no load can weigh more than its room (Fekete and Schepers,
Mathematical Programming 91, 2001; the rounding family holds the bounds LM2 and LM3). A one-machine rule gives the part
of the line that must follow each task (Johnson, Management Science 34, 1988). Times are raised where nothing could use
the difference. All in whole numbers, so nothing is lost to rounding.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from linewright.balance.bits import ONE, Words, count_ones, has, shifted_into
from linewright.balance.loads import Ints

ROWS = 16
ROUNDING = 20
MOST_SUM_WORDS = 60_000_000  # words touched by one raising of the times; beyond it the rule is left out
WIDEST = 1 << 16  # the largest room for which sums are listed


@njit(cache=True, nogil=True)
def _weigh(times: Ints, room: int, threshold: int, k: int, row: Ints) -> int:
    """Weights of one function: the threshold, then rounding with ``k`` (0: none, -1: the third family). Its room."""
    for i in range(len(times)):
        t = times[i]
        if t < threshold:
            row[i] = 0
        elif k < 0:
            whole = room // threshold
            if 2 * t > room:
                row[i] = 2 * (whole - (room - t) // threshold)
            else:
                row[i] = whole if 2 * t == room else 2
        else:
            if t > room - threshold:
                t = room
            if k > 0:
                t = k * t if (k + 1) * t % room == 0 else (k + 1) * t // room * room
            row[i] = t
    if k < 0:
        return 2 * (room // threshold)
    return room * max(k, 1)


@njit(cache=True, nogil=True)
def weight_rows(times: Ints, room: int) -> tuple[Ints, Ints]:
    """The strongest weights (tasks x rows) and their rooms; row 0 is the times themselves."""
    n = len(times)
    rows = np.zeros((ROWS, n), np.int64)
    rooms = np.ones(ROWS, np.int64)
    worth = np.full(ROWS, -1.0)
    rows[0] = times
    rooms[0] = room
    worth[0] = np.inf
    thresholds = np.unique(times)
    row = np.zeros(n, np.int64)
    for at in range(len(thresholds) + 1):
        threshold = 0 if at == 0 else thresholds[at - 1]
        if 2 * threshold > room:
            break
        for k in range(-1 if at > 0 else 1, ROUNDING + 1):
            weight_room = _weigh(times, room, threshold, k, row)
            value = row.sum() / weight_room
            worst = np.argmin(worth)
            known = False
            for b in range(ROWS):
                known = known or worth[b] == value
            if value > worth[worst] and not known:
                worth[worst] = value
                rows[worst] = row
                rooms[worst] = weight_room
    used = np.flatnonzero(worth >= 0)
    order = used[np.argsort(-worth[used])]
    return rows[order].T.copy(), rooms[order]


@njit(cache=True, nogil=True)
def tails(times: Ints, room: int, follow: Words, sequence: Ints, weights: Ints, rooms: Ints) -> tuple[Ints, Ints, Ints]:
    """What must follow each task: ticks of line, stations from its own on, and the tasks by tail, greatest first."""
    n, rows = weights.shape
    tail = np.zeros(n, np.int64)
    stations = np.ones(n, np.int64)
    by_tail = np.zeros(n, np.int64)
    total = np.zeros(rows, np.int64)
    for known in range(n):
        i = sequence[n - 1 - known]
        total[:] = 0
        work = 0
        for k in range(known):
            j = by_tail[k]
            if has(follow[i], j):
                work += times[j]
                tail[i] = max(tail[i], work + tail[j])
                for b in range(rows):
                    total[b] += weights[j, b]
        for b in range(rows):
            after = -(-total[b] // rooms[b])
            if after > 0:
                tail[i] = max(tail[i], (after - 1) * room + 1)
            stations[i] = max(stations[i], -(-(total[b] + weights[i, b]) // rooms[b]))
        whole = -(-tail[i] // room) * room
        if tail[i] + times[i] > whole:
            tail[i] = whole
        stations[i] = max(stations[i], -(-(tail[i] + times[i]) // room))
        k = known
        while k > 0 and tail[by_tail[k - 1]] < tail[i]:
            by_tail[k] = by_tail[k - 1]
            k -= 1
        by_tail[k] = i
    return tail, stations, by_tail


@njit(cache=True, nogil=True)
def conflicts(times: Ints, room: int, follow: Words, lead: Words, earliest: Ints, latest: Ints) -> NDArray[np.bool_]:
    """Pairs that can never share a station: together too long, with what lies between them, or at different places."""
    n = len(times)
    apart = np.zeros((n, n), np.bool_)
    for i in range(n):
        for j in range(n):
            if times[i] + times[j] > room or latest[i] < earliest[j] or latest[j] < earliest[i]:
                apart[i, j] = apart[j, i] = True
            elif has(follow[i], j):
                between = times[i] + times[j]
                for w in range(follow.shape[1]):
                    both = follow[i, w] & lead[j, w]
                    while both != np.uint64(0) and between <= room:
                        lowest = both & (~both + ONE)
                        between += times[64 * w + count_ones(lowest - ONE)]
                        both ^= lowest
                    if between > room:
                        break
                if between > room:
                    apart[i, j] = apart[j, i] = True
    return apart


@njit(cache=True, nogil=True)
def reachable_room(times: Ints, room: int) -> int:
    """The fullest a station can get: the greatest sum of times up to ``room``."""
    sums = np.zeros(room // 64 + 1, np.uint64)
    sums[0] = ONE
    for t in times:
        shifted_into(sums, sums, t, room)
    top = room
    while not has(sums, top):
        top -= 1
    return top


@njit(cache=True, nogil=True)
def raise_times(times: Ints, room: int, apart: NDArray[np.bool_]) -> bool:
    """Raise each time by what no set of tasks beside it can fill. True where any was raised."""
    n = len(times)
    sums = np.zeros(room // 64 + 1, np.uint64)
    raised = False
    for i in np.argsort(-times):
        rest = room - times[i]
        sums[:] = np.uint64(0)
        sums[0] = ONE
        full = False
        for j in range(n):
            if j != i and times[j] <= rest and not apart[i, j]:
                shifted_into(sums, sums, times[j], rest)
                if has(sums, rest):
                    full = True
                    break
        if full:
            continue
        top = rest
        while not has(sums, top):
            top -= 1
        times[i] += rest - top
        raised = True
    return raised
