"""What comes before what, worked out once: everything that follows each task, and the order without detours."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from linewright.balance import at_once
from linewright.balance.bits import Words, add, has
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


@kernel()
def make_order(starts: Ints, before: Ints) -> Order:
    """The order from its compressed list of tasks before each task (no circles)."""
    n = len(starts) - 1
    words = (n + 63) // 64
    sequence = _sequence(starts, before)
    lead = np.zeros((n, words), np.uint64)
    follow = np.zeros((n, words), np.uint64)
    kept = np.zeros(len(before), np.bool_)
    for i in sequence:
        far = np.zeros(words, np.uint64)  # what comes before a task that comes before
        for k in range(starts[i], starts[i + 1]):
            far |= lead[before[k]]
        for k in range(starts[i], starts[i + 1]):
            kept[k] = not has(far, before[k]) and not has(lead[i], before[k])
            add(lead[i], before[k])
        lead[i] |= far
    for i in range(n):
        for j in range(n):
            if has(lead[i], j):
                add(follow[j], i)
    before_start = np.zeros(n + 1, np.int64)
    after_start = np.zeros(n + 1, np.int64)
    for i in range(n):
        before_start[i + 1] = before_start[i]
        for k in range(starts[i], starts[i + 1]):
            if kept[k]:
                before_start[i + 1] += 1
                after_start[before[k] + 1] += 1
    for i in range(n):
        after_start[i + 1] += after_start[i]
    new_before = np.zeros(before_start[n], np.int64)
    after = np.zeros(before_start[n], np.int64)
    place = after_start[:n].copy()
    at = 0
    for i in range(n):
        for k in range(starts[i], starts[i + 1]):
            if kept[k]:
                new_before[at] = before[k]
                at += 1
                after[place[before[k]]] = i
                place[before[k]] += 1
    return Order(before_start, new_before, after_start, after, follow, lead, sequence)


@kernel(plain=at_once.better_tasks)
def better_tasks(times: Ints, follow: Words) -> tuple[Ints, Ints]:
    """For each task, those it may take the place of without loss: not longer, and with nothing else behind them."""
    n, words = follow.shape
    starts = np.zeros(n + 1, np.int64)
    found = np.zeros(16 * n + 16, np.int64)
    filled = 0
    for j in range(n):
        for i in range(n):
            if i == j or times[j] < times[i] or has(follow[i], j) or has(follow[j], i):
                continue
            covers = True
            more = times[j] > times[i]
            for k in range(words):
                if follow[i, k] & ~follow[j, k] != np.uint64(0):
                    covers = False
                    break
                more = more or follow[i, k] != follow[j, k]
            if covers and (more or j < i):
                if filled == len(found):
                    found = np.concatenate((found, np.zeros(len(found), np.int64)))
                found[filled] = i
                filled += 1
        starts[j + 1] = filled
    return starts, found[:filled].copy()
