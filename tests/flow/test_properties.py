"""What must not change the balance: the order of writing, the demand, the units that things are written in."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.flow import Flow, solve_flow
from linewright.network.compile import compile_network
from linewright.plan.build import PlanBuilder
from linewright.plan.model import Plan

FIELDS = ("bought", "made", "used", "delivered", "sold", "disposed", "left_over", "seconds", "going_round")


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    """A small works: parts, choices, a by-product that may go round, yields, a check; prices often tied."""
    plan = PlanBuilder("Harrow Fen Works, a test", makes="m0", demand="100 each/day", money="EUR")
    for k in range(3):
        plan.item(f"raw{k}", unit="kg", buy=f"{draw(st.sampled_from([1, 2]))} EUR")
    plan.item("rest", unit="kg", **draw(st.sampled_from([{}, {"sell": "0.5 EUR"}, {"disposal": "0.1 EUR"}])))
    depth = draw(st.integers(1, 3))
    for k in range(depth):
        plan.item(f"m{k}", unit="each")
    for k in range(depth):
        for maker in range(draw(st.integers(1, 2))):
            route = plan.route(f"make{k}_{maker}", gives=f"m{k}")
            takes: dict[str, Any] = {}
            if k + 1 < depth:
                takes[f"m{k + 1}"] = draw(st.integers(1, 3))
            if draw(st.booleans()):
                takes["feed"] = {"any_of": draw(st.permutations(["raw0", "raw1", "rest"])), "amount": "1 kg"}
            else:
                takes[f"raw{draw(st.integers(0, 2))}"] = "1 kg"
            fields: dict[str, Any] = {"takes": takes, "time": "1 min"}
            if (k, maker) == (0, 0) or draw(st.booleans()):
                fields["gives"] = {"rest": draw(st.sampled_from(["0.1 kg", "0.2 kg"]))}
            if draw(st.booleans()):
                fields["yield_"] = draw(st.sampled_from([0.9, 0.97]))
            route.operation(f"a{k}_{maker}", **fields)
            if draw(st.booleans()):
                check = {"finds": {"gap": 0.9}, "then": {"rework": f"a{k}_{maker}", "at_most": 1}}
                route.operation(f"b{k}_{maker}", time="1 min", faults={"gap": 0.05}, check=check)
    return plan.build()


def solve(plan: Plan) -> Flow:
    return solve_flow(compile_network(plan))


def told(flow: Flow) -> dict[str, float]:
    """Every number by the names it belongs to."""
    out = {f"{field} {name}": float(getattr(flow, field)[i]) for field in FIELDS for i, name in enumerate(flow.items)}
    out |= {f"runs {name}": float(flow.runs[i]) for i, name in enumerate(flow.operations)}
    out |= {f"mix {name}": float(flow.mix[i]) for i, name in enumerate(flow.routes)}
    out |= {f"scrap {flow.operations[s.operation]} {s.reason}": s.pieces for s in flow.scrap}
    out |= {f"escape {flow.items[e.item]} {flow.faults[e.fault]}": e.share for e in flow.escapes}
    return out


def same(a: dict[str, float], b: dict[str, float]) -> None:
    scale = max(abs(v) for v in a.values())
    for key in a.keys() | b.keys():
        assert b.get(key, 0.0) == pytest.approx(a.get(key, 0.0), rel=1e-7, abs=1e-8 * scale), key


@settings(max_examples=60, deadline=None)
@given(plans())
def test_what_comes_in_goes_out(plan: Plan) -> None:
    flow = solve(plan)
    comes, goes = flow.bought + flow.made, flow.delivered + flow.used + flow.sold + flow.disposed + flow.left_over
    assert goes == pytest.approx(comes, rel=1e-9, abs=1e-9 * float(comes.max()))
    assert flow.finished.sum() >= flow.delivered.sum() * (1 - 1e-12)
    for field in FIELDS:
        assert (getattr(flow, field) >= 0).all(), field
    known = np.isfinite(flow.mass_in) & np.isfinite(flow.mass_out)
    assert flow.mass_out[known] == pytest.approx(flow.mass_in[known], rel=plan.tolerance / (1 - plan.tolerance))


@settings(max_examples=60, deadline=None)
@given(plans(), st.integers(0, 2**32 - 1))
def test_order_of_writing_changes_nothing(plan: Plan, seed: int) -> None:
    order = random.Random(seed)

    def shuffled(table: Any) -> dict[str, Any]:
        keys = list(table)
        order.shuffle(keys)
        return {key: table[key] for key in keys}

    other = replace(plan, items=shuffled(plan.items), routes=shuffled(plan.routes))
    same(told(solve(plan)), told(solve(other)))


@settings(max_examples=30, deadline=None)
@given(plans(), st.sampled_from([0.001, 7.0, 1e6]))
def test_demand_scales_everything(plan: Plan, factor: float) -> None:
    quantity = plan.demand[0].rate
    more = replace(quantity, value=quantity.value * factor)
    other = replace(plan, demand=(replace(plan.demand[0], rate=more),))
    a, b = solve(plan), solve(other)
    for field in (*FIELDS, "runs", "started"):
        x, y = getattr(a, field), getattr(b, field)
        assert y / factor == pytest.approx(x, rel=1e-7, abs=1e-8 * float(np.abs(a.runs).max())), field


@pytest.mark.parametrize(("unit", "factor"), [("kg", 1.0), ("t", 1000.0), ("g", 0.001)])
def test_units_of_an_item_change_nothing(unit: str, factor: float) -> None:
    """The same plan with glue written, bought and taken in kg, t or g."""
    plan = PlanBuilder("Harrow Fen Works, a test", makes="desk", demand="40 each/day", money="EUR")
    plan.item("desk", unit="each").item("glue", unit=unit, buy=f"{3 * factor} EUR")
    plan.route("desk", gives="desk").operation("join", time="4 min", takes={"glue": f"{0.42 / factor} {unit}"})
    flow = solve(plan.build())
    network = compile_network(plan.build())
    assert flow.bought[flow.items.index("glue")] == pytest.approx(40 * 0.42, rel=1e-12)
    assert flow.units[flow.items.index("glue")] == "kg"
    assert network.items.buy[flow.items.index("glue")] == pytest.approx(3, rel=1e-12)


def test_a_route_of_a_t_item_takes_for_one_tonne() -> None:
    """One piece is one unit as written: 80 kg of resin for each t of board stock."""
    plan = PlanBuilder("Harrow Fen Works, a test", makes="stock", demand="2 t/day", money="EUR")
    plan.item("stock", unit="t").item("resin", unit="kg", buy="1 EUR").item("chips", unit="t", buy="90 EUR")
    plan.route("stock", gives="stock").operation(
        "blend", time={"rate": "4 t/h"}, takes={"resin": "80 kg", "chips": "0.92 t"}
    )
    flow = solve(plan.build())
    assert dict(zip(flow.items, flow.bought, strict=True)) == pytest.approx(
        {"stock": 0, "resin": 160, "chips": 1840}, rel=1e-12
    )
    assert flow.runs == pytest.approx([2])


@settings(max_examples=20, deadline=None)
@given(plans())
def test_the_chosen_mix_declared_gives_the_same_balance(plan: Plan) -> None:
    network = compile_network(plan)
    chosen = solve_flow(network)
    rivals = np.bincount(network.routes.item)[network.routes.item] > 1
    same(told(chosen), told(solve_flow(network, np.where(rivals, chosen.mix, np.nan), chosen.choice_mix)))
