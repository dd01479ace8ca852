"""The same stations, loaded more evenly: tasks move or change places while the spread of the loads falls.

A descent over single moves and exchanges that keep the order and the greatest load; it is a heuristic, and its result
says how far it is from an even share of whole ticks.
"""

from __future__ import annotations

import numpy as np

from linewright.balance.bits import has
from linewright.balance.kernel import kernel
from linewright.balance.loads import Ints
from linewright.balance.order import Order

ROUNDS = 60


@kernel()
def _limits(order: Order, station: Ints, stations: int, i: int) -> tuple[int, int]:
    """The first and last station where task ``i`` may go while the others stay."""
    low, high = 0, stations - 1
    for k in range(order.before_start[i], order.before_start[i + 1]):
        low = max(low, station[order.before[k]])
    for k in range(order.after_start[i], order.after_start[i + 1]):
        high = min(high, station[order.after[k]])
    return low, high


@kernel()
def _gain(a: int, b: int, by: int) -> int:
    """By how much half the sum of squared loads falls where ``by`` ticks go from load ``a`` to load ``b``."""
    return by * (a - b - by)


@kernel()
def even_out(times: Ints, order: Order, station: Ints, stations: int, takt: int) -> Ints:
    """A balance with no greater sum of squared loads, none above ``takt``; ``station`` counts from 0."""
    n = len(times)
    station = station.copy()
    loads = np.zeros(stations, np.int64)
    for i in range(n):
        loads[station[i]] += times[i]
    for _ in range(ROUNDS):
        moved = False
        for i in range(n):
            low, high = _limits(order, station, stations, i)
            best, to = 0, -1
            for s in range(low, high + 1):
                gain = _gain(loads[station[i]], loads[s], times[i])
                if s != station[i] and gain > best and loads[s] + times[i] <= takt:
                    best, to = gain, s
            if to >= 0:
                loads[station[i]] -= times[i]
                loads[to] += times[i]
                station[i] = to
                moved = True
        for i in range(n):
            low, high = _limits(order, station, stations, i)
            for j in range(n):
                a, b = station[i], station[j]
                by = times[i] - times[j]
                if by <= 0 or a == b or not low <= b <= high or loads[b] + by > takt:
                    continue
                if has(order.follow[i], j) or has(order.follow[j], i) or _gain(loads[a], loads[b], by) <= 0:
                    continue
                back_low, back_high = _limits(order, station, stations, j)
                if back_low <= a <= back_high:
                    station[i], station[j] = b, a
                    loads[a] -= by
                    loads[b] += by
                    moved = True
                    low, high = _limits(order, station, stations, i)
        if not moved:
            break
    return station


def least_squares(total: int, stations: int) -> int:
    """The sum of squared loads of the most even share of ``total`` whole ticks: no balance is below it."""
    each, rest = divmod(total, stations)
    return (stations - rest) * each * each + rest * (each + 1) ** 2
