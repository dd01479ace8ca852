"""From a plan to its answer, and from a file to every problem that reading, compiling and solving it shows."""

from __future__ import annotations

import time
from collections.abc import Iterable
from pathlib import Path

from linewright import __version__
from linewright.answer.hazards import cautions_of
from linewright.answer.model import Answer
from linewright.base.problems import Problem, ProblemsError
from linewright.base.results import Provenance
from linewright.capacity import measure_capacity
from linewright.cost import cost_of_one
from linewright.flow import solve_flow
from linewright.network import compile_network
from linewright.plan import check_plan
from linewright.plan.model import Plan


def answer(plan: Plan) -> Answer:
    """Everything that is known about a plan without simulating it.

    Raises ProblemsError with every problem of the stage that failed.
    """
    began = time.perf_counter()
    network = compile_network(plan)
    flow = solve_flow(network)
    capacity = measure_capacity(network, flow)
    cost = cost_of_one(network, flow, capacity)
    later = (plan.placed(problem) for problem in (*network.problems, *flow.problems))
    found = _once([*plan.warnings, *later])
    assumptions = tuple(dict.fromkeys([*network.assumptions, *flow.notes, *capacity.assumptions]))
    made_by = Provenance("answer", __version__, network.fingerprint, seconds=time.perf_counter() - began)
    return Answer(plan, network, flow, capacity, cost, cautions_of(plan), found, assumptions, made_by)


def check(path: str | Path) -> tuple[Problem, ...]:
    """Every problem of a plan file: of reading it, and where it can be read of compiling and solving it."""
    plan, problems = check_plan(path)
    found = list(problems)
    if plan is not None:
        try:
            found += answer(plan).problems
        except ProblemsError as wrong:
            found += [plan.placed(problem) for problem in wrong.problems]
    return _once(found)


def _once(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    return tuple(dict.fromkeys(problems))
