"""What comes before what, worked out once: everything that follows each task, and the order without detours."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from linewright.balance.bits import Words, packed, unpacked
from linewright.balance.kernel import kernel
from linewright.balance.loads import Ints


class Order(NamedTuple):
    """An order in one direction: direct neighbours without detours, all that follow or lead, a sequence that obeys."""

    before_start: Ints
    before: Ints
    after_start: Ints
    after: Ints
    follow: Words
    lead: Words
    sequence: Ints

    def turned(self) -> Order:
        """The same order seen from the end of the line."""
        return Order(
            self.after_start,
            self.after,
            self.before_start,
            self.before,
            self.lead,
            self.follow,
            self.sequence[::-1].copy(),
        )


@kernel()
def _sequence(starts: Ints, before: Ints) -> Ints:
    n = len(starts) - 1
    waits = np.zeros(n, np.int64)
    sequence = np.zeros(n, np.int64)
    follow_start = np.zeros(n + 1, np.int64)
    for b in before:
        follow_start[b + 1] += 1
    for i in range(n):
        follow_start[i + 1] += follow_start[i]
    follow = np.zeros(len(before), np.int64)
    place = follow_start[:n].copy()
    for i in range(n):
        waits[i] = starts[i + 1] - starts[i]
        for k in range(starts[i], starts[i + 1]):
            follow[place[before[k]]] = i
            place[before[k]] += 1
    filled = 0
    for i in range(n):
        if waits[i] == 0:
            sequence[filled] = i
            filled += 1
    at = 0
    while at < filled:
        for k in range(follow_start[sequence[at]], follow_start[sequence[at] + 1]):
            j = follow[k]
            waits[j] -= 1
            if waits[j] == 0:
                sequence[filled] = j
                filled += 1
        at += 1
    return sequence


def make_order(starts: Ints, before: Ints) -> Order:
    """The order from its compressed list of tasks before each task (no circles)."""
    n = len(starts) - 1
    sequence = _sequence(starts, before)
    lead = np.zeros((n, n), np.bool_)
    direct: list[list[int]] = [[] for _ in range(n)]
    for i in sequence.tolist():
        parents = before[starts[i] : starts[i + 1]]
        far = np.asarray(lead[parents].any(axis=0))  # what comes before a task that comes before
        direct[i] = [b for b in dict.fromkeys(parents.tolist()) if not far[b]]
        lead[i] = far
        lead[i, parents] = True
    behind: list[list[int]] = [[] for _ in range(n)]
    for i, parents_of in enumerate(direct):
        for b in parents_of:
            behind[b].append(i)
    return Order(*_compressed(direct), *_compressed(behind), packed(lead.T), packed(lead), sequence)


def _compressed(lists: list[list[int]]) -> tuple[Ints, Ints]:
    """Where each list begins in all of them one behind the other."""
    starts = np.zeros(len(lists) + 1, np.int64)
    starts[1:] = np.cumsum([len(one) for one in lists])
    return starts, np.array([j for one in lists for j in one], np.int64)


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
    return _compressed(found)
