"""The way of a fault to the customer, worked out from steps alone, agrees with the plan's journeys solved by flow."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.flow import solve_flow
from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.quality.chain import Step, follow

SHARE = st.sampled_from([0.0, 0.01, 0.2, 0.5])
FINDS = st.sampled_from([0.0, 0.5, 0.97, 1.0])


@st.composite
def ways(draw: st.DrawFn) -> list[Step]:
    """Two or three operations that make faults, each followed by a check that scraps what it fails."""
    steps = []
    for k in range(draw(st.integers(2, 3))):
        names = [f"f{j}" for j in range(k + 1)]
        makes = {names[-1]: draw(SHARE)}
        finds = {n: draw(FINDS) for n in names}
        steps.append(Step(f"make{k}", makes=makes))
        steps.append(Step(f"look{k}", finds=finds, false_alarms=draw(SHARE), one_in=draw(st.sampled_from([1, 4]))))
    return steps


@settings(max_examples=40, deadline=None)
@given(ways())
def test_scrapping_checks_one_after_another(steps: list[Step]) -> None:
    plan = PlanBuilder("Harrow Fen Works, a test", makes="part", demand="100 each/day", money="EUR")
    plan.item("raw", unit="kg", buy="1 EUR").item("part", unit="each")
    route = plan.route("way", gives="part")
    for step in steps:
        fields: dict[str, Any] = {"time": "1 min"}
        if step.makes:
            fields["faults"] = {f: p for f, p in step.makes.items() if p > 0}
        else:
            fields["check"] = {
                "finds": dict(step.finds),
                "false_alarms": step.false_alarms,
                "one_in": step.one_in,
                "then": "scrap",
            }
        if step is steps[0]:
            fields["takes"] = {"raw": "1 kg"}
        route.operation(step.name, **fields)
    flow = solve_flow(compile_network(plan.build()))
    chain = follow(steps)
    assert flow.finished[0] / flow.started[0] == pytest.approx(chain.shipped, rel=1e-9)
    escapes = {flow.faults[e.fault]: e.share for e in flow.escapes}
    for fault, share in chain.escapes.items():
        assert escapes.get(fault, 0.0) == pytest.approx(share, abs=1e-12)
