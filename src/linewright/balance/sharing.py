"""A bound for lines of long tasks: which tasks can share a station at all, given the order and the number of stations?

Where stations hold two or three tasks, every load can be listed. Weights are sought so that no load weighs more than
one and all tasks together weigh most (a linear program, the dual of the covering of the tasks by loads). They are
rounded down to whole numbers and held against every load listed, so the bound is exact.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from linewright.balance.bounds import conflicts
from linewright.balance.kernel import kernel
from linewright.balance.loads import Ints
from linewright.balance.prepare import Plain, prepare

SCALE = 1_000_000
MOST_LOADS = 300_000  # more are not listed, and there is no bound
WIDEST_LOAD = 8  # tasks in a load; lines with larger loads are not listed


@kernel(heavy=True)
def list_loads(times: Ints, room: int, apart: NDArray[np.bool_], most: int) -> tuple[Ints, Ints, bool]:
    """Every set of two or more tasks that can share a station, as starts and tasks; False where there are too many."""
    n = len(times)
    starts = np.zeros(most + 1, np.int64)
    tasks = np.zeros(4 * most, np.int64)
    stack = np.zeros(WIDEST_LOAD + 1, np.int64)
    count = filled = 0
    for first in range(n):
        stack[0] = first
        depth, load, i = 1, times[first], first + 1
        while depth > 0:
            while i < n:
                fits = load + times[i] <= room
                for d in range(depth):
                    fits = fits and not apart[stack[d], i]
                if fits:
                    break
                i += 1
            if i == n:
                depth -= 1
                load -= times[stack[depth]]
                i = stack[depth] + 1
                continue
            if depth == WIDEST_LOAD or count == most or filled + depth + 1 > len(tasks):
                return starts, tasks, False
            stack[depth] = i
            load += times[i]
            depth += 1
            i += 1
            for d in range(depth):
                tasks[filled + d] = stack[d]
            filled += depth
            count += 1
            starts[count] = filled
    return starts[: count + 1].copy(), tasks[:filled].copy(), True


def stations_for(plain: Plain, room: int, stations: int, seconds: float) -> int | None:
    """Stations needed at least by a line that is held to ``stations``; None where it cannot be told in time.

    Above ``stations`` it proves that these are too few; below or equal it holds for every smaller number as well.
    """
    from scipy.optimize import linprog
    from scipy.sparse import csr_array

    ready = prepare(plain, room, stations)
    if ready is None:
        return stations + 1
    case, order = ready.front, plain.order
    earliest = stations - 1 - ready.back.latest
    apart = conflicts(case.times, case.room, order.follow, order.lead, earliest, case.latest)
    starts, tasks, whole = list_loads(case.times, case.room, apart, MOST_LOADS)
    if not whole:
        return None
    n = len(case.times)
    if len(tasks) == 0:
        return n  # every task needs a station of its own
    loads: Any = csr_array((np.ones(len(tasks)), tasks, starts), shape=(len(starts) - 1, n))
    answer = linprog(
        -np.ones(n),
        A_ub=loads,
        b_ub=np.ones(len(starts) - 1),
        bounds=(0, 1),
        method="highs-ipm",
        options={"time_limit": max(0.1, seconds)},
    )
    if answer.x is None:
        return None
    weights = np.clip(np.floor(np.asarray(answer.x, np.float64) * SCALE), 0, SCALE).astype(np.int64)
    most = max(SCALE, int(np.add.reduceat(weights[tasks], starts[:-1]).max()))
    return -(-int(weights.sum()) // most)
