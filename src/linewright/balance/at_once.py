"""What the kernels that make a line ready do, said in whole arrays: while nothing is compiled this is ten times faster.

The kernels themselves are loops over single tasks, which machine code runs fastest. Both give the same numbers; the
tests compare them.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from linewright.balance.bits import Words, unpacked

Ints = NDArray[np.int64]
ROWS = 16
"""Rows of weights kept at most."""
ROUNDING = 20
"""Functions of the rounding family for each threshold."""


def weight_rows(times: Ints, room: int) -> tuple[Ints, Ints]:
    """The strongest weights (tasks x rows) and their rooms; row 0 is the times themselves."""
    rows, rooms, worth = [times], [room], [math.inf]
    rows += [np.zeros_like(times)] * (ROWS - 1)
    rooms += [1] * (ROWS - 1)
    worth += [-1.0] * (ROWS - 1)
    least, weakest = -1.0, 1
    for threshold in (0, *np.unique(times).tolist()):
        if 2 * threshold > room:
            break
        weighed, weight_rooms = _weigh(times, room, threshold)
        values = (weighed.sum(axis=1) / weight_rooms).tolist()
        for k, value in enumerate(values):
            if value > least and value not in worth:
                rows[weakest], rooms[weakest], worth[weakest] = weighed[k], int(weight_rooms[k]), value
                least = min(worth)
                weakest = worth.index(least)
    order = sorted((b for b in range(ROWS) if worth[b] >= 0), key=lambda b: -worth[b])
    return np.array([rows[b] for b in order]).T.copy(), np.array([rooms[b] for b in order])


def _weigh(times: Ints, room: int, threshold: int) -> tuple[Ints, Ints]:
    """Weights of all functions with a threshold (functions x tasks) and their rooms: the third family, the threshold
    alone, then rounding; without a threshold rounding only."""
    cut = np.where(times > room - threshold, room, times)
    cut[times < threshold] = 0
    k = np.arange(1, ROUNDING + 1)[:, None]
    more = (k + 1) * cut
    rounded = more // room * room
    rounded = np.where(rounded == more, k * cut, rounded)
    if threshold == 0:
        return rounded, room * k[:, 0]
    whole = room // threshold
    third = np.where(2 * times > room, 2 * (whole - (room - times) // threshold), np.where(2 * times == room, whole, 2))
    third[times < threshold] = 0
    return np.concatenate([[third, cut], rounded]), np.array([2 * whole, room, *(room * k[:, 0]).tolist()])


def tails(times: Ints, room: int, follow: Words, sequence: Ints, weights: Ints, rooms: Ints) -> tuple[Ints, Ints, Ints]:
    """What must follow each task: ticks of line, stations from its own on, and the tasks by tail, greatest first."""
    n = len(times)
    tail, stations, by_tail = np.zeros(n, np.int64), np.zeros(n, np.int64), np.zeros(n, np.int64)
    behind = unpacked(follow, n)
    for known, i in enumerate(sequence[::-1].tolist()):
        before = by_tail[:known]
        after = before[behind[i, before]]
        total = weights[after].sum(axis=0)
        longest = int((times[after].cumsum() + tail[after]).max(initial=0))
        full = int((-(-total // rooms)).max())
        longest = max(longest, (full - 1) * room + 1) if full > 0 else longest
        whole = -(-longest // room) * room
        if longest + times[i] > whole:
            longest = whole
        tail[i] = longest
        stations[i] = max(1, int((-(-(total + weights[i]) // rooms)).max()), -(-(longest + int(times[i])) // room))
        k = int(np.searchsorted(-tail[before], -longest, side="right"))
        by_tail[k + 1 : known + 1] = by_tail[k:known].copy()
        by_tail[k] = i
    return tail, stations, by_tail


def conflicts(times: Ints, room: int, follow: Words, lead: Words, earliest: Ints, latest: Ints) -> NDArray[np.bool_]:
    """Pairs that can never share a station: together too long, with what lies between them, or at different places."""
    together = times[:, None] + times[None, :] > room
    places = latest[:, None] < earliest[None, :]
    apart: NDArray[np.bool_] = together | places | places.T
    behind = unpacked(follow, len(times))
    ahead = unpacked(lead, len(times))
    for i in range(len(times)):
        last, inner = np.flatnonzero(behind[i] & ~apart[i]), np.flatnonzero(behind[i])
        between = ahead[np.ix_(last, inner)] @ times[inner]
        long = last[times[i] + times[last] + between > room]
        apart[i, long] = apart[long, i] = True
    return apart


def better_tasks(times: Ints, follow: Words) -> tuple[Ints, Ints]:
    """For each task, those it may take the place of without loss: not longer, and with nothing else behind them."""
    n = len(times)
    behind = unpacked(follow, n)
    found: list[list[int]] = []
    for j in range(n):
        free = ~behind[:, j] & ~behind[j] & (times <= times[j])
        free[j] = False
        one = np.flatnonzero(free)
        covered = ~(follow[one] & ~follow[j]).any(axis=1)
        more = (times[one] < times[j]) | (follow[one] != follow[j]).any(axis=1) | (one > j)
        found.append(one[covered & more].tolist())
    return (
        np.cumsum([0, *(len(one) for one in found)]),
        np.array([i for one in found for i in one], np.int64),
    )
