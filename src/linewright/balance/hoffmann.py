"""A good balance at once: fill station after station with the best of many loads.

After Hoffmann (Management Science 9, 1963), with the weighted choice of Sewell and Jacobson: among the loads that the
walk finds first, the one whose tasks weigh most is taken. Several weights, caps and both directions are tried.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from linewright.balance.bits import Words, add
from linewright.balance.kernel import kernel
from linewright.balance.loads import DEPTH, FOUND, NODES, Case, Ints, Space, list_tasks, next_load, start_walk


@kernel()
def fill_line(
    case: Case,
    weight: NDArray[np.float64],
    use_sums: bool,
    most_loads: int,
    most_steps: int,
    space: Space,
    done: Words,
    best: Words,
    station: Ints,
) -> int:
    """Fill the line; ``station`` (from 0) of each task is set. How many stations, or -1 where it does not fit."""
    n = len(case.times)
    done[:] = np.uint64(0)
    remains = 0
    for i in range(n):
        remains += case.times[i]
    level = 0
    while remains > 0:
        if level == case.stations:
            return -1
        count = list_tasks(case, done, level, weight, space)
        if count <= 0:
            return -1
        need = remains - (case.stations - level - 1) * case.room
        start_walk(case, done, count, need, use_sums, space)
        best_weight = -1.0
        steps = most_steps
        for _ in range(most_loads):
            before = space.walk[NODES]
            if next_load(case, count, use_sums, steps, space) != FOUND:
                break
            steps -= space.walk[NODES] - before
            total = 0.0
            for d in range(space.walk[DEPTH]):
                total += weight[space.task[space.stack[d]]]
            if total > best_weight:
                best_weight = total
                best[:] = np.uint64(0)
                for d in range(space.walk[DEPTH]):
                    add(best, space.stack[d])
            if steps <= 0:
                break
        if best_weight < 0:
            return -1
        for p in range(count):
            if (best[p >> 6] >> np.uint64(p & 63)) & np.uint64(1):
                i = space.task[p]
                add(done, i)
                station[i] = level
                remains -= case.times[i]
        level += 1
    return level
