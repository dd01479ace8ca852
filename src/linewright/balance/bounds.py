"""How few stations could there be at best? Bounds that hold for every balance.

Dual feasible functions turn times into weights so that no load can weigh more than its room (Fekete and Schepers,
Mathematical Programming 91, 2001; the rounding family holds the bounds LM2 and LM3). A one-machine rule gives the part
of the line that must follow each task (Johnson, Management Science 34, 1988). Times are raised where nothing could use
the difference. All in whole numbers, so nothing is lost to rounding.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from linewright.balance.bits import Words, unpacked
from linewright.balance.loads import Ints

ROWS = 16
ROUNDING = 20
MOST_SUM_WORDS = 60_000_000  # words touched by one raising of the times; beyond it the rule is left out
WIDEST = 1 << 16  # the largest room for which sums are listed


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
    rounded = np.where(more % room == 0, k * cut, more // room * room)
    if threshold == 0:
        return rounded, room * k[:, 0]
    whole = room // threshold
    third = np.where(2 * times > room, 2 * (whole - (room - times) // threshold), np.where(2 * times == room, whole, 2))
    third[times < threshold] = 0
    return np.concatenate([[third, cut], rounded]), np.array([2 * whole, room, *(room * k[:, 0]).tolist()])


def tails(times: Ints, room: int, follow: Words, sequence: Ints, weights: Ints, rooms: Ints) -> tuple[Ints, Ints, Ints]:
    """What must follow each task: ticks of line, stations from its own on, and the tasks by tail, greatest first."""
    n = len(times)
    tail, stations = np.zeros(n, np.int64), np.ones(n, np.int64)
    by_tail: list[int] = []
    behind = unpacked(follow, n)
    for i in sequence[::-1].tolist():
        after = [j for j in by_tail if behind[i, j]]
        longest = 0
        total = weights[after].sum(axis=0)
        if after:
            longest = max(0, int((np.cumsum(times[after]) + tail[after]).max()))
            full = int((-(-total // rooms)).max())
            longest = max(longest, (full - 1) * room + 1) if full > 0 else longest
        whole = -(-longest // room) * room
        if longest + times[i] > whole:
            longest = whole
        tail[i] = longest
        stations[i] = max(1, int((-(-(total + weights[i]) // rooms)).max()), -(-(longest + int(times[i])) // room))
        k = len(by_tail)
        while k > 0 and tail[by_tail[k - 1]] < longest:
            k -= 1
        by_tail.insert(k, i)
    return tail, stations, np.array(by_tail, np.int64)


def conflicts(times: Ints, room: int, follow: Words, earliest: Ints, latest: Ints) -> NDArray[np.bool_]:
    """Pairs that can never share a station: together too long, with what lies between them, or at different places."""
    n = len(times)
    together = times[:, None] + times[None, :]
    places = latest[:, None] < earliest[None, :]
    behind = unpacked(follow, n)
    between = (behind * times.astype(np.float64)) @ behind  # sums of whole numbers, exact below 2 ** 53
    long = behind & (together + between > room)
    found: NDArray[np.bool_] = (together > room) | places | places.T | long | long.T
    return found


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
