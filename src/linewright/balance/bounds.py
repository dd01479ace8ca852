"""How few stations could there be at best? Bounds that hold for every balance.

Dual feasible functions turn times into weights so that no load can weigh more than its room (Fekete and Schepers,
Mathematical Programming 91, 2001; the rounding family holds the bounds LM2 and LM3). A one-machine rule gives the part
of the line that must follow each task (Johnson, Management Science 34, 1988). Times are raised where nothing could use
the difference. All in whole numbers, so nothing is lost to rounding.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from linewright.balance import at_once
from linewright.balance.at_once import ROUNDING, ROWS
from linewright.balance.bits import ONE, Words, count_ones, has
from linewright.balance.kernel import kernel
from linewright.balance.loads import Ints

MOST_SUM_WORDS = 60_000_000  # words touched by one raising of the times; beyond it the rule is left out
WIDEST = 1 << 16  # the largest room for which sums are listed


@kernel()
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


@kernel(plain=at_once.weight_rows)
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


@kernel(plain=at_once.tails)
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


@kernel(plain=at_once.conflicts)
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


def reachable_room(times: Ints, room: int) -> int:
    """The fullest a station can get: the greatest sum of times up to ``room``."""
    return _sums(times.tolist(), room).bit_length() - 1


def raise_times(times: Ints, room: int, apart: NDArray[np.bool_]) -> bool:
    """Raise each time by what no set of tasks beside it can fill. True where any was raised."""
    raised = False
    for i in np.argsort(-times, kind="stable"):
        rest = room - int(times[i])
        beside = ~apart[i] & (times <= rest)
        beside[i] = False
        top = _sums(times[beside].tolist(), rest).bit_length() - 1
        if top < rest:
            times[i] += rest - top
            raised = True
    return raised


def _sums(times: Sequence[int], room: int) -> int:
    """The sums up to ``room`` that sets of times have, as the bits of one number; no more once ``room`` is reached."""
    sums, full = 1, (1 << (room + 1)) - 1
    for time in times:
        sums |= (sums << time) & full
        if sums >> room:
            break
    return sums
