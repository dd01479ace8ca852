"""The examples: the bound is never below what is played, and equal to it where chance and choice are taken out.

What is left of an example without chance and choice: its operations with their mean times, loads, standing, places,
finite stores and hand-overs, what they take of each other, each kind of visit at a station of its own, always open.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from linewright.capacity import measure_capacity
from linewright.flow import solve_flow
from linewright.network import Network, compile_network
from linewright.network.model import DIRECT, NOWHERE
from linewright.plan import PlanBuilder, read_plan
from linewright.simulate import Quotas, simulate
from linewright.simulate.recurring import recurring_rate

EXAMPLES = Path(__file__).parents[2] / "examples"


def example(name: str) -> Network:
    """One of the five, in one variant."""
    plan = read_plan(EXAMPLES / f"{name}.toml")
    for option in plan.options.values():
        plan = plan.change(f"options.{option.id}.shares", {option.values[-1]: "100 %"})
    return compile_network(plan)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "weeks"), [("trailer", 12), ("cider", 44), ("reedboard", 12), ("hivekit", 12), ("boot", 8)]
)
def test_the_bound_holds_on_every_example(name: str, weeks: int) -> None:
    """Flat out, as written, all variants together; and it is a bound that says something."""
    network = compile_network(read_plan(EXAMPLES / f"{name}.toml"))
    flow = solve_flow(network)
    bound = measure_capacity(network, flow).multiple * float(network.items.demand.sum())
    mix = Quotas(flow.mix, flow.choice_mix)
    played = simulate(network, release="flat out", quotas=mix, seed=3, days=7 * weeks, replications=4).rate
    assert played.low <= bound * (1 + 1e-9)
    assert played.high >= 0.85 * bound


PARTS = [
    ("trailer", ["shell", "gear", "trailer"]),
    ("cider", ["bottle", "case"]),
    ("reedboard", ["raw_board", "board"]),
    ("hivekit", ["deep", "flat", "shallow_saw", "shallow", "fixings", "kit"]),
    ("boot", ["upper", "insole", "sole", "boot", "pair"]),
]


def without_luck(n: Network, routes: list[str]) -> Network:
    """These routes of a plan, the last making what is wanted, without chance and choice."""
    p, started = n.operations, solve_flow(n).started
    here = [r for id in routes for r, name in enumerate(n.routes.ids) if name.split(" [")[0] == id and started[r] > 0]
    made = {int(n.routes.item[r]) for r in here}
    wanted = int(n.routes.item[here[-1]])
    visits = {int(p.visit[o]): o for r in here for o in range(n.routes.first[r], n.routes.last[r] + 1)}
    room = 100 + 2 * sum(int(n.stations.places[s]) * float(p.load_most[o]) for o in visits.values() for s in _at(n, o))
    plan = PlanBuilder(
        "without luck", makes=n.items.ids[wanted], demand=_amount(n, wanted, 1) + "/day", release="flat out",
        open_pieces=int(room),
    )  # fmt: skip
    for s, id in enumerate(n.stores.ids):
        plan.store(id, room=_unit(n, float(n.stores.room[s]), s))
    for v, o in visits.items():
        for s in _at(n, o):
            plan.station(f"{n.stations.ids[s]}_{v}", places=int(n.stations.places[s]))
    for i in made:
        store = int(n.item_store[i])
        plan.item(n.items.ids[i], unit=n.items.units[i], **({"store": n.stores.ids[store]} if store >= 0 else {}))
    for r in here:
        item = int(n.routes.item[r])
        route = plan.route(n.routes.ids[r], gives=n.items.ids[item])
        for o in range(n.routes.first[r], n.routes.last[r] + 1):
            route.operation(p.ids[o], **_fields(n, o, item, made))
    return compile_network(plan.build())


def _at(n: Network, o: int) -> list[int]:
    return [int(s) for s in n.operations.stations.row(o)[0][:1]]


def _amount(n: Network, item: int, amount: float) -> str:
    return f"{amount:g} {n.items.units[item]}"


def _unit(n: Network, room: float, store: int) -> Any:
    items = np.flatnonzero(n.item_store == store)
    return int(room) if not items.size or n.items.counted[items[0]] else _amount(n, int(items[0]), room)


def _fields(n: Network, o: int, item: int, made: set[int]) -> dict[str, Any]:
    """An operation with its mean times; ``each`` of a load is part of its time."""
    p, load = n.operations, float(n.operations.load_most[o])
    fields: dict[str, Any] = {}
    fields["time"] = f"{round(float(p.time.mean[o]) + float(p.each[o]) * load)} ns"
    if p.stand.mean[o] > 0:
        fields["stand"] = f"{round(float(p.stand.mean[o]))} ns"
    if load > 1:
        fields["load"] = int(load) if n.items.counted[item] else _amount(n, item, load)
    for s in _at(n, o):
        fields["station"] = f"{n.stations.ids[s]}_{p.visit[o]}"
    takes = {int(i): float(a) for i, a in zip(*p.takes.row(o), strict=True) if int(i) in made}
    if takes:
        fields["takes"] = {n.items.ids[i]: _amount(n, i, a) for i, a in takes.items()}
    if p.pieces_out[o] != 1 and o != n.routes.last[p.route[o]]:
        fields["gives"] = {n.items.ids[item]: _amount(n, item, float(p.pieces_out[o]))}
    if p.then_to[o] != NOWHERE:
        fields["then_to"] = "next" if p.then_to[o] == DIRECT else n.stores.ids[int(p.then_to[o])]
    return fields


@pytest.mark.parametrize(("name", "routes"), PARTS)
def test_what_is_left_without_chance_and_choice_is_played_at_the_bound(name: str, routes: list[str]) -> None:
    network = without_luck(example(name), routes)
    capacity = measure_capacity(network, solve_flow(network))
    found = recurring_rate(network, weeks=2)
    assert found is not None
    assert found.rate == pytest.approx(capacity.wanted[0].rate, rel=1e-9)
    if name != "hivekit":  # 25 deep panels a board, 10 a kit: too many firings of one kind for another to be set out
        assert capacity.honesty.status == "exact", capacity.honesty.notes
