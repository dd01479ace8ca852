"""The way of every fault: at the end it is what the journeys say escapes, on plans drawn at random."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.flow import solve_flow
from linewright.network import compile_network
from linewright.network import way as module
from linewright.network.journeys import journeys
from linewright.network.way import way_of_faults
from linewright.plan import Plan, PlanBuilder

SHARE = st.sampled_from([0.02, 0.2, 0.5])
FINDS = st.sampled_from([0.0, 0.5, 0.97, 1.0])


@st.composite
def works(draw: st.DrawFn) -> Plan:
    """Parts that go into a product, both made with faults, checks and rework of either kind."""
    build = PlanBuilder("Harrow Fen Works, a test", makes="box", demand="100 each/day", money="EUR")
    build.item("raw", unit="each", buy="1 EUR").item("part", unit="each").item("box", unit="each")
    part = build.route("parts", gives="part")
    part.operation("a1", time="1 min", takes={"raw": 1}, faults={"f": draw(SHARE), "g": draw(SHARE)})
    part.operation("a2", time="1 min", check=draw(checks("a1", ["f", "g"])))
    box = build.route("boxes", gives="box")
    box.operation("b1", time="1 min", takes={"part": draw(st.integers(1, 3))}, faults={"h": draw(SHARE)})
    box.operation("b2", time="1 min", check=draw(checks("b1", ["f", "h"])))
    box.operation("b3", time="1 min", faults={"f": draw(SHARE)})
    box.operation("b4", time="1 min", check=draw(checks("b3", ["g", "h", "f"])))
    return build.build()


@st.composite
def checks(draw: st.DrawFn, back: str, faults: list[str]) -> dict[str, Any]:
    """A check that finds some faults and scraps or sends back."""
    again: dict[str, Any] = {"rework": back, "at_most": draw(st.integers(1, 2)), "takes_again": draw(st.booleans())}
    return {
        "finds": {fault: draw(FINDS) for fault in faults if draw(st.booleans())},
        "false_alarms": draw(st.sampled_from([0.0, 0.1])),
        "one_in": draw(st.sampled_from([1, 3])),
        "then": draw(st.sampled_from(["scrap", "again"])).replace("again", "") or again,
    }


@settings(max_examples=60, deadline=None)
@given(works())
def test_the_end_of_the_way_is_what_escapes(plan: Plan) -> None:
    network = compile_network(plan)
    flow = solve_flow(network)
    escapes = journeys(network).escapes
    together = way_of_faults(network, flow.mix, flow.choice_mix)
    before, module.TOGETHER = module.TOGETHER, 0
    try:
        apart = way_of_faults(network, flow.mix, flow.choice_mix)
    finally:
        module.TOGETHER = before
    np.testing.assert_allclose(apart.carried, together.carried, atol=1e-12)
    for route, last in enumerate(network.routes.last.tolist()):
        item = int(network.routes.item[route])
        for fault in range(len(network.faults)):
            assert together.carried[last, fault] == pytest.approx(escapes.get((item, fault), 0.0), abs=1e-12)
    assert (together.any_fault >= together.carried.max(axis=1) - 1e-12).all()
    assert (together.any_fault <= together.carried.sum(axis=1) + 1e-12).all()


def test_a_step_that_makes_a_fault_and_a_step_that_finds_it() -> None:
    build = PlanBuilder("Line", makes="box", demand="100 each/day", money="EUR")
    build.item("raw", unit="each", buy="1 EUR").item("box", unit="each")
    route = build.route("main", gives="box")
    route.operation("glue", time="1 min", takes={"raw": 1}, faults={"gap": 0.1})
    route.operation("look", time="1 min", check={"finds": {"gap": 0.8}, "then": {"rework": "glue", "at_most": 1}})
    network = compile_network(build.build())
    flow = solve_flow(network)
    way = way_of_faults(network, flow.mix, flow.choice_mix)
    sent_back = 0.08
    after_glue = (0.1 + sent_back * 0.1) / (1 + sent_back)  # both passes carry the same share
    passed = 0.02 + sent_back * 0.02
    shipped = 1 - sent_back + sent_back * (1 - 0.08)
    assert way.carried[:, 0] == pytest.approx([after_glue, passed / shipped])


def test_a_plan_without_faults() -> None:
    build = PlanBuilder("Line", makes="box", demand="100 each/day", money="EUR").item("box", unit="each")
    build.route("main", gives="box").operation("glue", time="1 min")
    network = compile_network(build.build())
    flow = solve_flow(network)
    way = way_of_faults(network, flow.mix, flow.choice_mix)
    assert way.carried.shape == (1, 0)
    assert not way.any_fault.any()
