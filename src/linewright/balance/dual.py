"""The strongest weights of all, for lines where the ready-made ones leave a gap.

The dual of the Gilmore-Gomory program for bin packing (Operations Research 9, 1961) weighs each time so that no load
weighs more than one, and the whole as much as possible. Columns are added until none is missing or time is up; the
weights are then rounded down to whole numbers and their room is computed exactly, so the bound is safe at any stop.
"""

from __future__ import annotations

import time

import numpy as np
from numpy.typing import NDArray

from linewright.balance.kernel import kernel
from linewright.balance.loads import Ints

SCALE = 1_000_000
MOST_ROOM = 1 << 15


@kernel(heavy=True)
def heaviest_load(sizes: Ints, copies: Ints, weights: NDArray[np.float64], room: int) -> tuple[float, Ints]:
    """The load that weighs most, as a count of each size: a bounded knapsack by dynamic programming."""
    kinds = len(sizes)
    best = np.zeros(room + 1)
    took = np.zeros((kinds, room + 1), np.int16)
    for k in range(kinds):
        size = sizes[k]
        most = min(copies[k], room // size)
        if weights[k] <= 0:
            continue
        for filled in range(room, size - 1, -1):
            value = best[filled]
            for number in range(1, most + 1):
                if number * size > filled:
                    break
                other = best[filled - number * size] + number * weights[k]
                if other > value:
                    value = other
                    took[k, filled] = number
            best[filled] = value
    load = np.zeros(kinds, np.int64)
    filled = room
    for k in range(kinds - 1, -1, -1):
        load[k] = took[k, filled]
        filled -= load[k] * sizes[k]
    return best[room], load


def dual_weights(times: Ints, room: int, seconds: float) -> tuple[Ints, int] | None:
    """Weights of the tasks and their room, or None where the room is too wide to list or the program fails.

    After ``seconds`` the weights at hand are used as they are.
    """
    if room > MOST_ROOM:
        return None
    from scipy.optimize import linprog

    sizes, kind, copies = np.unique(times, return_inverse=True, return_counts=True)
    copies = copies.astype(np.int64)
    loads = [_filled_with(k, sizes, copies, room) for k in range(len(sizes))]
    value = np.zeros(len(sizes))
    end = time.perf_counter() + seconds
    while True:
        answer = linprog(
            -copies.astype(np.float64),
            A_ub=np.array(loads, np.float64),
            b_ub=np.ones(len(loads)),
            method="highs-ds",
        )
        if not answer.success:
            return None
        value = np.asarray(answer.x, np.float64)
        most, load = heaviest_load(sizes, copies, value, room)
        if most <= 1 + 1e-9 or time.perf_counter() > end:
            break
        loads.append(load)
    whole = np.floor(value * SCALE + 1e-6)
    most, _ = heaviest_load(sizes, copies, whole, room)  # whole numbers below 2**53: exact in floating point
    return (whole.astype(np.int64)[kind], int(most)) if most > 0 else None


def _filled_with(k: int, sizes: Ints, copies: Ints, room: int) -> Ints:
    """A load with as many of size ``k`` as possible, then of the others, longest first."""
    load = np.zeros(len(sizes), np.int64)
    for j in (k, *range(len(sizes) - 1, -1, -1)):
        if load[j] == 0:
            load[j] = min(copies[j], room // sizes[j])
            room -= int(load[j] * sizes[j])
    return load
