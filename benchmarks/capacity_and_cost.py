"""How long do capacity and cost take on a large plan, and the slowest ring of events against a linear program?

The plan is the generated one of plan_reading.py (5,000 operations, 4,000 items). The ring: a line of many stations with
finite stores; its greatest cycle ratio is also the answer of a linear program, solved by HiGHS (through SciPy) in the
same run. Both answers are compared.
Run: python benchmarks/capacity_and_cost.py [--quick] [--json]
"""

from __future__ import annotations

import random
import sys
import tempfile
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from common import Measured, median, run
from plan_reading import large_plan


def line_with_stores(stations: int, seed: int = 1) -> tuple[int, list[int], list[int], list[float], list[int]]:
    """Events of a line that also skips: 2 nodes a station, places, rooms, and a way back for forms."""
    draw = random.Random(seed)
    tails, heads, weights, tokens = [], [], [], []

    def edge(tail: int, head: int, weight: float, held: int) -> None:
        tails.append(tail)
        heads.append(head)
        weights.append(weight)
        tokens.append(held)

    for s in range(stations):
        enter, leave = 2 * s, 2 * s + 1
        edge(enter, leave, draw.randint(20, 90), 0)
        edge(leave, enter, 0.0, draw.randint(1, 3))
        if s + 1 < stations:
            edge(leave, enter + 2, 0.0, 0)
            edge(enter + 2, leave, 0.0, draw.randint(1, 6))
        if s >= 40 and s % 20 == 0:
            edge(leave, 2 * (s - 40), 0.0, draw.randint(20, 60))
    return 2 * stations, tails, heads, [float(w) for w in weights], tokens


def by_linear_program(n: int, tails: list[int], heads: list[int], weights: list[float], tokens: list[int]) -> float:
    """Least r with x_head - x_tail + r tokens >= weight for every edge."""
    from scipy.optimize import linprog
    from scipy.sparse import coo_array

    m = len(tails)
    rows = np.arange(m)
    data = np.concatenate([np.ones(m), -np.ones(m), -np.asarray(tokens, dtype=float)])
    columns = np.concatenate([tails, heads, np.full(m, n)])
    matrix = coo_array((data, (np.concatenate([rows, rows, rows]), columns)), shape=(m, n + 1)).tocsr()
    goal = np.zeros(n + 1)
    goal[-1] = 1.0
    bounds = [(None, None)] * n + [(0, None)]
    return float(linprog(goal, matrix, -np.asarray(weights), bounds=bounds, method="highs").fun)


def measure(quick: bool) -> Measured:
    """All timings."""
    from linewright.capacity import measure_capacity
    from linewright.capacity.ratio import slowest_ring
    from linewright.cost import cost_of_one
    from linewright.flow import solve_flow
    from linewright.network import compile_network
    from linewright.plan import check_plan

    operations, items, times, stations = (500, 400, 3, 200) if quick else (5000, 4000, 7, 2000)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "large.toml"
        file.write_text(large_plan(operations, items))
        plan, problems = check_plan(file)
    assert plan is not None, list(problems)[:3]
    network = compile_network(plan)
    flow = solve_flow(network)
    capacity = measure_capacity(network, flow)
    line = line_with_stores(stations)
    ring = slowest_ring(*line)
    assert ring is not None
    assert abs(ring.ratio - by_linear_program(*line)) < 1e-6 * ring.ratio
    own = median(lambda: slowest_ring(*line), times)
    program = median(lambda: by_linear_program(*line), times)
    return {
        "operations": operations,
        "items": items,
        "capacity_seconds": median(lambda: measure_capacity(network, flow), times),
        "cost_seconds": median(lambda: cost_of_one(network, flow, capacity), times),
        "ring_events": line[0],
        "ring_seconds": own,
        "ring_by_linear_program_seconds": program,
        "linear_program_over_ring": program / own,
    }


if __name__ == "__main__":
    run(measure, __doc__)
