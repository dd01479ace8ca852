"""Variants simulated: pairs never mix, nothing is lost, the mix is kept, what is fixed comes out as the flow says."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.base.calendar import WEEK
from linewright.flow import solve_flow
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import Quotas, simulate
from linewright.simulate.engine import Engine
from linewright.simulate.kernel import rows as r
from linewright.simulate.simulate import prepare


def shoes(
    parts: list[int], *, left_yield: str = "100 %", load: int = 1, release: str = "takt", **stitch: Any
) -> Network:
    """Shoes of some sizes and two sides, stitched, pressed in loads, and matched to pairs."""
    sizes = [str(36 + k) for k in range(len(parts))]
    plan = PlanBuilder("Shoes", release=release, **({"open_pieces": 12} if release != "takt" else {}))
    plan.shift("day", hours="06:00-14:00").crew("maker", people=9, shift="day")
    shares = {s: f"{100 * n / sum(parts)!r} %" for s, n in zip(sizes, parts, strict=True)}
    plan.document["options"] = {
        "size": {"values": sizes, "shares": shares}, "side": {"values": ["left", "right"]},
    }  # fmt: skip
    plan.station("bench", places=3).station("press").station("table")
    plan.item("leather", unit="m2", free=True)
    plan.item("shoe", unit="each", options=["size", "side"]).item("pair", unit="pair", options="size")
    fields: dict[str, Any] = {
        "time": {"by": "size", "table": {s: f"{60 + 7 * k} s" for k, s in enumerate(sizes)}},
        "yield_": {"by": "side", "table": {"left": left_yield}, "else": "100 %"},
    }
    route = plan.route("shoe", gives="shoe").operation(
        "stitch", station="bench", crew="maker", takes={"leather": "0.1 m2"}, **{**fields, **stitch}
    )
    route.operation("press", station="press", time="40 s", **({"load": load} if load > 1 else {}))
    plan.route("pair", gives="pair").operation(
        "match", station="table", crew="maker", time="30 s",
        takes={"shoe": {"same": ["size"], "made_of": {"side": {"left": 1, "right": 1}}}},
    ).operation("box", station="table", crew="maker", time="20 s")  # fmt: skip
    plan.demand("pair", "120 pair/day")
    return compile_network(plan.build())


def played(network: Network, weeks: int = 1, seed: int = 0) -> tuple[Engine, Any]:
    prepared = prepare(network)
    engine = Engine(prepared.template, seed=seed, replication=0)
    while not engine.advance(weeks * WEEK):
        pass
    engine.settle()
    return engine, prepared


def amounts(engine: Engine, prepared: Any, column: int) -> dict[str, float]:
    rows = zip(prepared.network.items.ids, prepared.layout.items, strict=True)
    return {id: float(engine.x[row + column]) for id, row in rows}


@given(
    st.lists(st.integers(1, 9), min_size=1, max_size=4), st.sampled_from(["100 %", "80 %", "55 %"]),
    st.sampled_from([1, 4]), st.sampled_from(["takt", "pull", "flat out"]), st.integers(0, 3),
)  # fmt: skip
@settings(max_examples=30)
def test_a_left_only_ever_meets_a_right_of_its_size(
    parts: list[int], left_yield: str, load: int, release: str, seed: int
) -> None:
    """Of every size as many lefts as rights are used, one for each pair begun; what is made and not used lies there."""
    network = shoes(parts, left_yield=left_yield, load=load, release=release)
    engine, prepared = played(network, weeks=2, seed=seed)
    used, made, pool = (amounts(engine, prepared, c) for c in (r.I_USED, r.I_MADE_UNITS, r.I_POOL))
    begun = {
        id: float(engine.x[row + r.O_RUNS])
        for id, row in zip(network.operations.ids, prepared.layout.operations, strict=True)
    }
    for size in range(36, 36 + len(parts)):
        pairs = begun[f"match [{size}]"]
        for side in ("left", "right"):
            id = f"shoe [{size}, {side}]"
            assert used[id] == pytest.approx(pairs)
            assert made[id] - used[id] == pytest.approx(pool[id])
    total = sum(begun[f"match [{36 + k}]"] for k in range(len(parts)))
    assert total > 0
    # the mix is that of the demand but for what is under way
    for k, part in enumerate(parts):
        assert abs(begun[f"match [{36 + k}]"] - total * part / sum(parts)) <= 14


@given(st.lists(st.integers(1, 9), min_size=2, max_size=4), st.sampled_from([1, 4]))
@settings(max_examples=20)
def test_orphans_are_what_is_left_when_pairs_are_taken_away(parts: list[int], load: int) -> None:
    """The engine's count of units without a mate against the stocks it was counted from."""
    network = shoes(parts, left_yield="60 %", load=load)
    engine, prepared = played(network, weeks=2)
    pool = amounts(engine, prepared, r.I_POOL)
    for name, row in prepared.layout.mates.items():
        size = name.removeprefix("shoe [").removesuffix("]")
        left, right = pool[f"shoe [{size}, left]"], pool[f"shoe [{size}, right]"]
        assert float(engine.x[row + r.M_ORPHANS]) == pytest.approx(abs(left - right))


def test_fixed_times_come_out_as_the_flow_says() -> None:
    """Without luck the rates of all variants and the runs of all operations are those of the flow, to 1e-9."""
    network = shoes([3, 2, 1])
    flow = solve_flow(network)
    run = simulate(network, quotas=Quotas(flow.mix, flow.choice_mix), replications=1, days=70)
    assert run.variants == ("pair [36]", "pair [37]", "pair [38]")
    assert run.variant_rates.mean == pytest.approx(run.variant_demand, rel=1e-9)
    assert run.rate.mean == pytest.approx(120.0, rel=1e-9)
    expected = np.bincount(network.origin.operation, flow.runs)  # type: ignore[union-attr]
    assert run.runs.mean == pytest.approx(expected, rel=1e-9)


def test_told_as_written() -> None:
    run = simulate(shoes([3, 2, 1]), replications=1, days=14, trace=True)
    assert run.operations == ("stitch", "press", "match", "box")
    assert run.items == ("pair",)
    assert run.demand.tolist() == [120.0]
    assert run.mates == ("shoe [36]", "shoe [37]", "shoe [38]")
    assert run.trace is not None
    assert {record.operation for record in run.trace.records} <= {*run.operations, ""}


def test_flat_out_keeps_the_mix() -> None:
    run = simulate(shoes([5, 3, 2], release="flat out"), replications=1, days=56)
    made = run.variant_rates.mean / run.variant_rates.mean.sum()
    assert made == pytest.approx([0.5, 0.3, 0.2], abs=0.005)


def test_a_load_mixes_variants_only_where_nothing_differs() -> None:
    """Presses of four: all sizes together where the press is the same for all; sizes apart where it is not."""
    from linewright.simulate.sharing import load_classes, shared_visits

    mixed = shoes([1, 1], load=4)
    steps = [id for id in mixed.operations.ids if id.startswith("press")]
    classes = dict(zip(mixed.operations.ids, load_classes(mixed, shared_visits(mixed)), strict=True))
    assert len({classes[id] for id in steps}) == 1
    route = "routes.shoe.operations[press]"
    apart = mixed.change(f"{route}.time", {"by": "size", "table": {"36": "40 s", "37": "50 s"}})
    classes = dict(zip(apart.operations.ids, load_classes(apart, shared_visits(apart)), strict=True))
    assert classes["press [36, left]"] == classes["press [36, right]"] != classes["press [37, left]"]


def test_a_setup_for_one_option_is_not_done_for_another() -> None:
    """Colour changes need a wash, sizes do not: setups with four sizes of two colours are as many as with one size."""

    def washes(sizes: int, when: str) -> float:
        plan = PlanBuilder("Paint").shift("day", hours="06:00-14:00").crew("painter", people=1, shift="day")
        plan.document["options"] = {
            "size": {"values": [str(k) for k in range(sizes)]}, "colour": {"values": ["red", "white"]},
        }  # fmt: skip
        table = {"red": {"white": "6 min"}, "white": {"red": "1 min"}}
        plan.item("door", unit="each", options=["size", "colour"]).station("booth")
        plan.route("door", gives="door").operation(
            "spray", station="booth", crew="painter", time="2 min",
            setup={"when": when, "table": table} if when != "item changes" else {"when": when, "time": "3 min"},
        )  # fmt: skip
        plan.demand("door", "40 each/day")
        run = simulate(compile_network(plan.build()), replications=1, days=28)
        return float(run.state_share.mean[0][run.states.index("setting up")])

    assert washes(4, "colour changes") > 0
    assert washes(4, "item changes") == 0.0  # a variant is the same item


def test_the_same_bits_without_the_compiler() -> None:
    """Families, mixed loads and orphans give the same memory in plain Python."""
    network = shoes([3, 2], left_yield="80 %", load=4)
    memories = []
    for compiler in (True, False):
        prepared = prepare(network)
        engine = Engine(prepared.template, seed=5, replication=0, compiler=compiler)
        while not engine.advance(WEEK + WEEK // 28):
            pass
        memories.append((engine.m.copy(), engine.x.copy()))
    fixed = prepared.template.fixed
    assert (memories[0][0][:fixed] == memories[1][0][:fixed]).all()
    assert (memories[0][1][:fixed] == memories[1][1][:fixed]).all()
