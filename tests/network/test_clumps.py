"""Faults that come to a whole load, or to all that is cut out of one piece: by enumeration, and by the play."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linewright.answer import answer
from linewright.flow import solve_flow
from linewright.network import compile_network
from linewright.network.clumps import Clump, clumps_of
from linewright.network.model import Network
from linewright.plan import PlanBuilder
from linewright.simulate import simulate


def boxes(
    load: int, takes: int, share: float, *, cut: int = 1, outer: int = 0, look: dict[str, Any] | None = None
) -> PlanBuilder:
    """Sides come out of loads that are spoilt as a whole, boxes are nailed of so many, crates filled with boxes."""
    plan = PlanBuilder(
        "Boxes", makes="crate" if outer else "box", demand="1 each/day", release="flat out", open_pieces=6
    )
    plan.shift("always", hours="00:00-24:00", days="Mon-Sun").station("saw").station("bench").station("table")
    plan.item("side", unit="each").item("box", unit="each")
    route = plan.route("sides", gives="side")
    faults = {"split": f"{100 * share:g} %"}
    route.operation("cut", station="saw", time="2 min", load=load, faults=faults, faults_per="load")
    if cut > 1:
        route.operation("divide", station="bench", time="10 s", gives={"side": cut})
    if look is not None:
        route.operation("look", station="bench", time="5 s", check=look)
    plan.route("boxes", gives="box").operation("nail", station="table", time="4 min", takes={"side": takes})
    if outer:
        plan.item("crate", unit="each").station("packing")
        plan.route("crates", gives="crate").operation("pack", station="packing", time="3 min", takes={"box": outer})
    return plan


def computed(network: Network) -> float:
    """The share of what is delivered that carries the fault, by the balance."""
    return next(e.share for e in solve_flow(network).escapes if network.items.demand[e.item] > 0)


def first_principles(load: int, takes: int, share: float, step: int) -> float:
    """Users that begin at every place of a load in turn: the loads that each touches, all good or not."""
    good = [
        (1 - share) ** len({unit // load for unit in range(begin, begin + takes)}) for begin in range(0, load, step)
    ]
    return 1 - float(np.mean(good))


@given(st.integers(1, 12), st.integers(1, 30), st.floats(0.001, 0.6))
def test_users_that_begin_anywhere_touch_as_many_loads_as_counting_says(load: int, takes: int, share: float) -> None:
    assert Clump(load, load, False).met(share, takes) == pytest.approx(first_principles(load, takes, share, 1))


@given(st.integers(1, 12), st.integers(1, 30), st.floats(0.001, 0.6))
def test_where_nothing_is_lost_users_keep_step_with_loads(load: int, takes: int, share: float) -> None:
    step = int(np.gcd(load, takes))
    assert Clump(load, load, True).met(share, takes) == pytest.approx(first_principles(load, takes, share, step))


@given(st.floats(1, 40), st.floats(1, 40), st.floats(0, 1), st.floats(0, 50))
def test_no_more_than_units_by_themselves_and_no_fewer_than_one(
    row: float, load: float, share: float, units: float
) -> None:
    row = min(row, load)
    met = Clump(row, load, False).met(share, units)
    alone = 1 - (1 - share) ** units if units > 1 else share * units
    assert met >= share * min(units, 1.0) - 1e-12
    if row >= load or row <= 1:
        assert met <= alone + 1e-9


CASES: dict[str, dict[str, Any]] = {
    "one load is one box": {"load": 4, "takes": 4, "share": 0.1},
    "loads of five, boxes of four": {"load": 5, "takes": 4, "share": 0.1},
    "boxes of eight": {"load": 5, "takes": 8, "share": 0.05},
    "looked at, found ones scrapped": {
        "load": 5, "takes": 4, "share": 0.1, "look": {"finds": {"split": "60 %"}, "false_alarms": "2 %"},
    },
    "one in ten looked at": {"load": 5, "takes": 4, "share": 0.1, "look": {"finds": {"split": "99 %"}, "one_in": 10}},
    "boxes into crates": {"load": 20, "takes": 4, "share": 0.1, "outer": 3},
    "cut out of one sheet": {"load": 1, "takes": 4, "share": 0.1, "cut": 6, "look": {"finds": {"split": "50 %"}}},
}  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_the_play_counts_what_the_balance_says(name: str) -> None:
    case = CASES[name]
    network = compile_network(boxes(**case).build())
    found = next(e.share for e in simulate(network, days=56, replications=8).escapes if e.fault == "split")
    assert abs(found.mean - computed(network)) <= 1.7 * found.half_width  # seven intervals together (Bonferroni)
    q = next(e.share for e in solve_flow(network).escapes if network.items.ids[e.item] == "side")
    alone = 1 - (1 - q) ** (case["takes"] * case.get("outer", 1))
    assert found.high < alone  # what independent units would come to is far off


def stacks(load: int = 1, last: bool = False, share: float = 0.05) -> PlanBuilder:
    """Sheets are pressed, single or in loads spoilt as a whole, and four of them become a stack."""
    plan = PlanBuilder("Stacks", makes="stack", demand="1 each/day", release="flat out", open_pieces=30)
    plan.shift("always", hours="00:00-24:00", days="Mon-Sun").station("press").station("table").station("wrapper")
    plan.item("stack", unit="each")
    fields = {"load": load, "faults_per": "load"} if load > 1 else {}
    route = plan.route("stacks", gives="stack")
    route.operation("press", station="press", time="30 s", faults={"split": f"{100 * share:g} %"}, **fields)  # type: ignore[arg-type]
    route.operation("pile", station="table", time="40 s", gives={"stack": 0.25})
    if not last:
        route.operation("wrap", station="wrapper", time="1 min")
    return plan


@pytest.mark.parametrize(("load", "truth"), [(1, 1 - 0.95**4), (6, first_principles(6, 4, 0.05, 2))])
@pytest.mark.parametrize("last", [False, True])
def test_what_several_pieces_become_has_the_faults_of_all(load: int, truth: float, last: bool) -> None:
    """Four sheets a stack: 1 - 0.95^4 of the stacks; out of loads of six, which stacks keep step with, far fewer."""
    network = compile_network(stacks(load, last).build())
    assert computed(network) == pytest.approx(truth)
    found = next(e.share for e in simulate(network, days=28, replications=6).escapes if e.fault == "split")
    assert abs(found.mean - truth) <= 1.7 * found.half_width
    way = answer(stacks(load, last).build()).quality.way("split")
    assert way.made == pytest.approx(2e5)
    assert way.found == pytest.approx(0.0, abs=1e-9)


def test_a_check_of_the_user_rejects_no_more_than_carry_it() -> None:
    """What is scrapped at the box follows: one box in ten, where a load is a box."""
    plan = boxes(4, 4, 0.1)
    plan.document["routes"]["boxes"]["operations"].append(
        {"id": "probe", "station": "table", "time": "1 min", "check": {"finds": {"split": "100 %"}}}
    )
    network = compile_network(plan.build())
    flow = solve_flow(network)
    boxes_made = flow.runs[network.operations.ids.index("nail")]
    assert flow.scrapped().sum() == pytest.approx(0.1 * boxes_made)
    assert boxes_made == pytest.approx(1 / 0.9)


def test_faults_of_single_pieces_are_left_as_they_are() -> None:
    plan = PlanBuilder("Boxes", makes="box", demand="1 each/day").item("side", unit="each").item("box", unit="each")
    plan.route("sides", gives="side").operation("cut", time="2 min", load=5, faults={"split": "10 %"})
    plan.route("boxes", gives="box").operation("nail", time="4 min", takes={"side": 4})
    network = compile_network(plan.build())
    assert not clumps_of(network).of_items
    assert computed(network) == pytest.approx(1 - 0.9**4)


def test_how_much_of_a_fault_is_found_counts_the_faults_and_not_their_users() -> None:
    """Nobody looks: none is found, although ten spoilt sides come to fewer boxes than sides."""
    way = answer(boxes(5, 4, 0.1).build()).quality.way("split")
    assert way.escapes == pytest.approx(1e6 * first_principles(5, 4, 0.1, 1))
    assert way.made == pytest.approx(4e5)
    assert way.found == pytest.approx(0.0, abs=1e-12)
    looked = boxes(5, 4, 0.1, look={"finds": {"split": "60 %"}})
    assert answer(looked.build()).quality.way("split").found == pytest.approx(0.6)
