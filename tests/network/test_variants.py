"""Plans with options compiled: every variant that is wanted, what belongs together, and the plan told as written."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linewright.capacity import measure_capacity
from linewright.capacity.fold import fold_capacity
from linewright.cost import cost_of_one
from linewright.cost.fold import fold_cost
from linewright.flow import solve_flow
from linewright.flow.fold import fold_flow
from linewright.network import compile_network
from linewright.network.fold import fold_network
from linewright.network.model import Network
from linewright.network.variants import expand
from linewright.plan import PlanBuilder


def shoes(
    sizes: dict[str, float], *, lefts: float = 1.0, rights: float = 1.0, lost: str = "100 %", window: bool = False
) -> Network:
    """Shoes of some sizes, with shares of 100, matched to pairs."""
    plan = (
        PlanBuilder("Shoes", money="EUR")
        .shift("day", hours="07:00-15:00")
        .crew("maker", people=4, shift="day", wage="20 EUR/h")
    )
    plan.document["options"] = {
        "size": {"values": list(sizes), "shares": {s: f"{100 * share!r} %" for s, share in sizes.items()}},
        "side": {"values": ["left", "right"]},
    }
    plan.station("bench", places=4).station("press")
    plan.item("leather", unit="m2", buy="40 EUR")
    plan.item("sole", unit="each", options=["size", "side"], buy="3 EUR")
    plan.item("shoe", unit="each", options=["size", "side"]).item("pair", unit="pair", options=["size"], sell="60 EUR")
    times = {size: f"{3 + k / 7!r} min" for k, size in enumerate(sizes)}
    stitch = plan.route("shoe", gives="shoe").operation(
        "stitch", station="bench", crew="maker", time={"by": "size", "table": times}, takes={"leather": "0.1 m2"},
        yield_={"by": "side", "table": {"left": lost}, "else": "100 %"},
    )  # fmt: skip
    stitch.operation("sole", station="press", crew="maker", time="1 min", takes={"sole": {"same": ["size", "side"]}})
    pair = plan.route("pair", gives="pair").operation(
        "match", crew="maker", time="1 min",
        takes={"shoe": {"same": ["size"], "made_of": {"side": {"left": lefts, "right": rights}}}},
    )  # fmt: skip
    if window:
        pair.operation("wax", crew="maker", time="1 min", only_if={"size": next(iter(sizes))})
    plan.demand("pair", "60 pair/day")
    return compile_network(plan.build())


def test_only_what_is_wanted_is_made() -> None:
    network = shoes({"39": 0.5, "40": 0.5})
    assert network.items.ids[-2:] == ("pair [39]", "pair [40]")
    assert [i for i in network.items.ids if i.startswith("shoe")] == [
        "shoe [39, left]", "shoe [39, right]", "shoe [40, left]", "shoe [40, right]",
    ]  # fmt: skip
    assert network.items.demand.tolist()[-2:] == [30.0, 30.0]


def test_a_pair_never_mixes_sizes() -> None:
    network = shoes({"39": 0.5, "40": 0.3, "41": 0.2})
    origin = network.origin
    assert origin is not None
    sizes = [dict(values).get("size") for values in origin.values]
    for o, id in enumerate(network.operations.ids):
        made = sizes[int(network.routes.item[network.operations.route[o]])]
        taken = {sizes[i] for i in network.operations.takes.row(o)[0].tolist()} - {None}
        assert taken <= {made}, id


def test_problems_are_told_once_and_where_they_were_written() -> None:
    built = shoes({"39": 0.5, "40": 0.5})
    assert set(built.operations.paths) == {
        "routes.shoe.operations[0]", "routes.shoe.operations[1]", "routes.pair.operations[0]",
    }  # fmt: skip


def test_a_step_for_some_variants_is_left_out_for_the_others() -> None:
    network = shoes({"39": 0.5, "40": 0.5}, window=True)
    assert [i for i in network.operations.ids if i.startswith("wax")] == ["wax [39]"]
    flow = fold_flow(network, solve_flow(network))
    assert flow.runs[flow.operations.index("wax")] == pytest.approx(30.0)


def test_what_nobody_orders_is_kept_in_one_variant() -> None:
    plan = shoes({"39": 0.5, "40": 0.5}, window=True).written
    wanted = [{"item": "pair", "rate": "60 pair/day", "options": {"size": "40"}}]
    network = compile_network(plan.change("demand", wanted))
    assert "wax [39]" in network.operations.ids
    assert network.items.demand[network.items.ids.index("pair [39]")] == 0.0
    told = fold_network(network, solve_flow(network).runs, np.ones(len(network.items.ids)))
    assert told.operations.ids == ("stitch", "sole", "match", "wax")


def test_lost_lefts_are_made_again() -> None:
    flow = solve_flow(shoes({"39": 1.0}, lost="80 %"))
    made = dict(zip(flow.routes, flow.started.tolist(), strict=True))
    assert made["shoe [39, left]"] == pytest.approx(75.0)
    assert made["shoe [39, right]"] == pytest.approx(60.0)


def test_change_is_of_the_plan_as_written() -> None:
    network = shoes({"39": 0.5, "40": 0.5}).change("stations.bench.places", 9)
    assert int(network.stations.places[0]) == 9
    assert network.origin is not None


@given(
    st.lists(st.integers(1, 20), min_size=1, max_size=4), st.integers(1, 3), st.integers(1, 3), st.booleans(),
    st.sampled_from(["100 %", "90 %", "70 %"]),
)  # fmt: skip
def test_nothing_is_lost_in_telling_a_plan_as_written(
    parts: list[int], lefts: int, rights: int, window: bool, lost: str
) -> None:
    """Amounts, hours and money of the variants add up to those told of the whole."""
    shares = [part / sum(parts) for part in parts[:-1]]
    sizes = {str(39 + k): share for k, share in enumerate([*shares, 1 - sum(shares)])}
    network = shoes(sizes, lefts=lefts, rights=rights, window=window, lost=lost)
    flow = solve_flow(network)
    capacity = measure_capacity(network, flow)
    cost = cost_of_one(network, flow, capacity)
    told = fold_network(network, flow.runs, flow.bought + flow.made)
    whole, bounds, money = fold_flow(network, flow), fold_capacity(network, flow, capacity), fold_cost(network, cost)
    assert whole.runs.sum() == pytest.approx(flow.runs.sum())
    assert whole.delivered.sum() == pytest.approx(60.0)
    assert (whole.delivered + whole.used) == pytest.approx(whole.bought + whole.made)
    # hours of every operation: mean time x runs of the whole = sum over its variants
    hours = np.bincount(network.origin.operation, network.operations.time.mean * flow.runs)  # type: ignore[union-attr]
    assert told.operations.time.mean * whole.runs == pytest.approx(hours)
    # what the rows take at the mean is what the variants take together
    used = np.zeros(len(told.items.ids))
    for o in range(len(told.operations.ids)):
        index, units = told.operations.takes.row(o)
        np.add.at(used, index, units * whole.runs[o])
    assert used == pytest.approx(whole.used)
    assert bounds.multiple == capacity.multiple
    assert bounds.wanted[0].demand == pytest.approx(60.0)
    assert money.products[0].total * 60 == pytest.approx(cost.per_day, abs=0.5)
    assert sum(o.total for o in money.products[0].by_operation) == pytest.approx(
        sum(p.per_day * sum(o.total for o in p.by_operation) for p in cost.products) / 60
    )


def test_a_plan_without_options_is_untouched() -> None:
    plan = PlanBuilder("Stool", makes="stool", demand="10 each/day").shift("day", hours="06:00-14:00")
    plan.item("stool", unit="each").crew("fitter", people=1, shift="day")
    plan.route("main", gives="stool").operation("fit", crew={"fitter": 1}, time="4 min")
    network = compile_network(plan.build())
    flow = solve_flow(network)
    assert network.origin is None
    assert network.written is network.plan
    assert fold_network(network, flow.runs, flow.made) is network
    assert fold_flow(network, flow) is flow


@pytest.mark.parametrize(
    ("path", "after", "shared"),
    [
        ("stations.bench.places", 9, True),
        ("crews.maker.people", 5, True),
        ("routes.shoe.operations[sole].time", "2 min", False),
        ("options.size.shares", {"39": "70 %"}, False),
        ("demand[0].rate", "30 pair/day", False),
    ],
)
def test_variants_of_another_plan_are_taken_only_where_they_are_the_same(path: str, after: Any, shared: bool) -> None:
    plan = shoes({"39": 0.5, "40": 0.5}).written
    like, changed = expand(plan), plan.change(path, after)
    found, anew = expand(changed, like), expand(changed)
    assert (found.plan.routes is like.plan.routes) is shared
    assert found.plan == anew.plan
    assert found.origin.plan is changed
    assert (found.positions, found.demands) == (anew.positions, anew.demands)
    for name in ("items", "values", "routes", "operations"):
        assert getattr(found.origin, name) == getattr(anew.origin, name)
    one, other = compile_network(changed, like), compile_network(changed)
    assert (one.fingerprint, one.operations.paths) == (other.fingerprint, other.operations.paths)
    np.testing.assert_array_equal(one.stations.places, other.stations.places)
    np.testing.assert_array_equal(one.operations.time.mean, other.operations.time.mean)
