"""Absorbing Markov chains of production: a textbook line with inspection and rework, and rolled throughput yield."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest

from linewright.base.problems import Problems
from linewright.flow import solve_flow
from linewright.network.compile import compile_network
from linewright.network.journeys import journeys
from linewright.network.model import Network
from linewright.plan.read import read_document


def compiled(text: str) -> Network:
    problems = Problems()
    plan = read_document(tomllib.loads(text), Path(), problems)
    problems.raise_errors()
    assert plan is not None
    return compile_network(plan)


TWO_MACHINES = """
[plan]
name = "Two machines"
money = "EUR"
makes = "unit"
demand = "1000 each/day"
[items.unit]
unit = "each"
[items.blank]
unit = "each"
buy = "1 EUR"
[routes.main]
gives = "unit"
[[routes.main.operations]]
id = "machine_1"
takes = { blank = 1 }
yield = "95 %"
[[routes.main.operations]]
id = "inspect_1"
faults = { "junk 1" = "3 %", "redo 1" = 0.07216494845360824 }   # 0.07 / 0.97: what is not junk already
[routes.main.operations.check]
finds = { "junk 1" = 1.0, "redo 1" = 1.0 }
then = { "junk 1" = "scrap", "redo 1" = { rework = "machine_1", at_most = 60 } }
[[routes.main.operations]]
id = "machine_2"
yield = "95 %"
[[routes.main.operations]]
id = "inspect_2"
faults = { "junk 2" = "3 %", "redo 2" = 0.07216494845360824 }
[routes.main.operations.check]
finds = { "junk 2" = 1.0, "redo 2" = 1.0 }
then = { "junk 2" = "scrap", "redo 2" = { rework = "machine_2", at_most = 60 } }
"""


def test_two_machines_with_inspection() -> None:
    """Taha, Operations Research, analysis of absorbing states: two machines, 5 % junked, then 3 % junked, 7 % again.

    Printed (from memory): expected visits 1.07, 1.02, 0.98, 0.93; good 0.84, junk 0.16. The chain without end is
    solved here by the fundamental matrix; 60 returns cut off less than 1e-60 of it.
    """
    q = np.zeros((4, 4))
    q[0, 1], q[1, 0], q[1, 2] = 0.95, 0.07, 0.90
    q[2, 3], q[3, 2] = 0.95, 0.07
    visits = np.linalg.inv(np.eye(4) - q)[0]
    found = journeys(compiled(TWO_MACHINES))
    assert found.runs == pytest.approx(visits, rel=1e-12)
    assert found.good[0] == pytest.approx(visits[3] * 0.90, rel=1e-12)
    assert found.runs == pytest.approx([1.07, 1.02, 0.98, 0.93], abs=0.005)
    assert found.good[0] == pytest.approx(0.84, abs=0.005)
    assert sum(found.scrap.values()) == pytest.approx(0.16, abs=0.005)
    assert sum(found.scrap.values()) + found.good[0] == pytest.approx(1, rel=1e-12)


def steps(kind: str) -> str:
    rows = "".join(
        f'[[routes.main.operations]]\nid = "step_{k}"\n{"takes = { blank = 1 }" if k == 0 else ""}\n'
        + (f"yield = {y}\n" if kind == "yield" else f'faults = {{ "fault {k}" = {1 - y} }}\n')
        for k, y in enumerate((0.98, 0.95, 0.97, 0.99))
    )
    return TWO_MACHINES.partition("[[routes.main.operations]]")[0] + rows


@pytest.mark.parametrize("kind", ["yield", "faults"])
def test_rolled_throughput_yield(kind: str) -> None:
    """Four steps of 98, 95, 97 and 99 %: their product, 0.894039 (the definition used in quality work)."""
    flow = solve_flow(compiled(steps(kind)))
    assert flow.rolled_yield[0] == pytest.approx(0.894039, abs=1e-6)
    started = 1000 / 0.894039 if kind == "yield" else 1000
    assert flow.started[0] == pytest.approx(started, rel=1e-6)
