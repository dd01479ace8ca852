"""How long do compiling a plan and solving its material balance take, against the bare linear algebra?

Plans: the generated one of plan_reading.py (5,000 operations, 4,000 items), the same with two makers and a choice for
many items (a linear program), and a route of 150 operations with faults, checks and rework. In the same run the
equations alone are solved by scipy.sparse.linalg.spsolve and by scipy.optimize.linprog (HiGHS).
The worst imbalance of an item is printed with them.
Run: python benchmarks/network_and_flow.py [--quick] [--json]
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from common import Measured, median, run
from linewright.base.problems import Problems
from linewright.flow import solve_flow
from linewright.flow.columns import assemble, sources
from linewright.flow.goals import goals
from linewright.network import Network, compile_network
from linewright.network.equations import equations
from linewright.network.journeys import journeys
from linewright.plan.model import Plan
from linewright.plan.read import read_document
from plan_reading import large_plan


def read(text: str) -> Plan:
    problems = Problems()
    plan = read_document(tomllib.loads(text), Path(), problems)
    problems.raise_errors()
    assert plan is not None
    return plan


def with_rivals(plan: Plan) -> Plan:
    """Every third route gets a dearer rival, so that the balance has something to choose."""
    more = {}
    for k, route in enumerate(plan.routes.values()):
        if k % 3 == 0:
            rows = tuple(replace(o, id=f"{o.id}_too", yields=0.98, check=None, faults={}) for o in route.operations[:5])
            more[f"{route.id}_too"] = replace(route, id=f"{route.id}_too", operations=rows)
    return replace(plan, routes={**plan.routes, **more}, fingerprint="rivals")


def checked_route(operations: int) -> str:
    """A route in which every tenth operation checks for the faults of the nine before it and sends back."""
    out = ['[plan]\nname = "Checked"\nmoney = "EUR"\nmakes = "p"\ndemand = "10 each/day"', '[items.p]\nunit = "each"']
    out.append('[routes.r]\ngives = "p"')
    for k in range(operations):
        out.append(f'[[routes.r.operations]]\nid = "o{k}"\ntime = "1 min"')
        if k % 10 == 9:
            finds = ", ".join(f"f{j} = 0.9" for j in range(k - 9, k, 4))
            then = f'{{ rework = "o{k - 9}", at_most = 2, else = "scrap" }}'
            out.append(f"check = {{ finds = {{ {finds} }}, then = {then}, false_alarms = 0.01 }}")
        elif k % 10 in (0, 4, 8):
            out.append(f"faults = {{ f{k} = 0.02 }}")
    return "\n".join(out)


def bare_solve(network: Network) -> tuple[Callable[[], object], Callable[[], object]]:
    """The same equations by the libraries alone, matrices ready."""
    from scipy.optimize import linprog
    from scipy.sparse.linalg import spsolve

    journey = journeys(network)
    rows = equations(network, journey)
    where = sources(network, rows)
    system = assemble(network, rows, where)
    cost = goals(network, rows, where, system, journey)[-1]
    return (
        lambda: spsolve(system.matrix, system.right),
        lambda: linprog(cost, A_eq=system.matrix, b_eq=system.right, method="highs"),
    )


def measure(quick: bool) -> Measured:
    """All timings."""
    times, size = (3, (1000, 800)) if quick else (7, (5000, 4000))
    plan = read(large_plan(*size))
    network, rivals = compile_network(plan), compile_network(with_rivals(plan))
    checked = compile_network(read(checked_route(150)))
    square, _ = bare_solve(network)
    _, program = bare_solve(rivals)

    def fresh(network: Network, work: Callable[[Network], Any]) -> Callable[[], object]:
        return lambda: work(replace(network, notes={}))

    result: Measured = {
        "operations": len(network.operations.ids),
        "items": len(network.items.ids),
        "compile_s": median(lambda: compile_network(plan), times),
        "flow_s": median(fresh(network, solve_flow), times),
        "flow_with_choices_s": median(fresh(rivals, solve_flow), times),
        "journeys_of_checked_route_s": median(fresh(checked, journeys), times),
        "states_of_checked_route": journeys(checked).states,
        "spsolve_alone_s": median(square, times),
        "linprog_alone_s": median(program, times),
    }
    result["flow_over_spsolve"] = result["flow_s"] / result["spsolve_alone_s"]
    result["choices_over_linprog"] = result["flow_with_choices_s"] / result["linprog_alone_s"]
    flow = solve_flow(network)
    gap = np.abs(flow.bought + flow.made - flow.used - flow.delivered - flow.left_over - flow.sold - flow.disposed)
    result["worst_imbalance"] = float(gap.max() / flow.used.max())
    return result


if __name__ == "__main__":
    run(measure, __doc__)
