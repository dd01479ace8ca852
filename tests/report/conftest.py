"""Plans of the invented works, built in Python: a short one with every kind of branch, and long ones by number."""

from __future__ import annotations

import random
from collections.abc import Callable

import numpy as np
import pytest

from linewright.answer.hazards import cautions_of
from linewright.answer.model import Answer
from linewright.answer.quality.model import CheckLoad, FaultStep, FaultWay, Quality
from linewright.base.problems import Level, Problem
from linewright.base.results import Honesty, Provenance
from linewright.base.units import read_quantity
from linewright.capacity.model import Bound, Capacity, Effectiveness, Hours, Resource, Waiting, Wanted
from linewright.cost.model import Cost, CrewCost, OperationCost, Parts, ProductCost
from linewright.flow.model import Escape, Flow, Scrap
from linewright.network import compile_network
from linewright.network.model import Links
from linewright.plan.model import (
    Amount,
    Check,
    Crew,
    Demand,
    Duration,
    Item,
    Mass,
    Move,
    Operation,
    Plan,
    Reaction,
    Route,
    Shift,
    Station,
    Store,
)


def minutes(value: float) -> Duration:
    return Duration(fixed=read_quantity(f"{value:g} min"))


def takes(*items: str) -> tuple[Amount, ...]:
    return tuple(Amount(item, read_quantity(1)) for item in items)


@pytest.fixture(scope="session")
def kit() -> Plan:
    """A plan with a branch, a merge, a store, a rework, a recycle and a by-product sold."""
    feed = Amount("chips", read_quantity(1), any_of=("oversize", "chips"))
    mill = Route(
        "particles",
        "furnish",
        (
            Operation("mill", "Mill chips & oversize <again>", time=minutes(2), takes=(feed,), hazards=("noise",)),
            Operation("carry", move=Move(time=minutes(1))),
            Operation(
                "screen",
                time=minutes(1),
                gives=(Amount("furnish", rest=True), Amount("oversize", share=0.2), Amount("dust", share=0.03)),
            ),
        ),
    )
    rework = Reaction("rework", rework="glue", at_most=2)
    board = Route(
        "board",
        "board",
        (
            Operation("glue", time=minutes(1), takes=takes("furnish", "resin"), station=("blender",)),
            Operation("mix", time=minutes(1), station=("blender",), then_to="bunker"),
            Operation("cool", stand=minutes(30), station=("cooler",)),
            Operation("look", check=Check({"void": 0.9}, {"*": rework}), time=minutes(1), faults={"void": 0.02}),
            Operation("pack", time=minutes(1), takes=takes("box"), crew={"presser": 1.0}),
        ),
    )
    box = Route("box", "box", (Operation("fold", time=minutes(0.5), takes=takes("blank")),))
    kilo = Mass(read_quantity("1 kg"))
    items = {k: Item(k, "each", mass=kilo) for k in ("chips", "oversize", "dust", "furnish")}
    items |= {k: Item(k, "each") for k in ("resin", "board", "box", "blank")}
    return Plan(
        "Kit & <board>",
        "EUR",
        (Demand("board", read_quantity("36 each/day")),),
        items,
        {"particles": mill, "board": board, "box": box},
        stations={"blender": Station("blender"), "cooler": Station("cooler", hazards=("hot_surface",))},
        crews={"presser": Crew("presser", {"day": 2}, wage=read_quantity("25 EUR/h", money="EUR"))},
        shifts={"day": Shift("day", ((360, 840),))},
        stores={"bunker": Store("bunker", read_quantity(20))},
    )


@pytest.fixture(scope="session")
def numbered() -> Callable[[int, int], Plan]:
    """Make a plan with so many operations from a seed: sub-assemblies that join, checks with rework, by-products."""
    return numbered_plan


def numbered_plan(operations: int, seed: int) -> Plan:
    draw = random.Random(seed)
    words = ("stitch", "trim", "glue", "press", "fold", "mark", "punch", "skive", "last", "buff", "dry", "lace")
    what = ("heel counter", "tongue lining", "toe cap", "eyelet row", "collar foam", "quarter seam", "vamp")
    routes, items, waiting = {}, {}, []
    left, number = operations, 0
    while left > 0:
        last = left <= 24
        length = left if last else min(left - 8, draw.randint(4, 18))
        route_id = f"part_{len(routes)}" if not last else "boot"
        made = []
        joins = waiting if last else draw.sample(waiting, min(len(waiting), draw.choice([0, 0, 1, 2])))
        waiting = [w for w in waiting if w not in joins]
        places = {item: draw.randrange(length) for item in joins}
        for k in range(length):
            number += 1
            key = f"op_{number}"
            parts = [item for item, at in places.items() if at == k]
            if draw.random() < 0.3:
                bought = f"bought_{number}"
                items[bought] = Item(bought, "each", name=draw.choice(what))
                parts.append(bought)
            check = None
            if k > 2 and draw.random() < 0.12:
                back = Reaction("rework", rework=f"op_{number - draw.randint(1, 3)}")
                check = Check({"flaw": 0.9}, {"*": back})
            made.append(
                Operation(
                    key,
                    f"{draw.choice(words)} {draw.choice(what)}".capitalize(),
                    time=minutes(draw.randint(1, 90) / 10),
                    takes=takes(*parts),
                    check=check,
                    station=(f"bench_{number // 3}",),
                    stand=minutes(15) if draw.random() < 0.08 else None,
                )
            )
        items[route_id] = Item(route_id, "each")
        routes[route_id] = Route(route_id, route_id, tuple(made))
        waiting.append(route_id)
        left -= length
    return Plan(
        "Numbered", "EUR", (Demand(next(reversed(routes)), read_quantity("36 each/day")),), items, routes
    )  # fmt: skip


def given_answer(plan: Plan, *, makes: bool = True) -> Answer:
    """An answer with given numbers, so that the look of a report is tested apart from the engines."""
    network = compile_network(plan)
    operations, items = len(network.operations.ids), len(network.items.ids)
    made_by = Provenance("given", "0", network.fingerprint)
    honesty = Honesty("bound")

    def amounts(step: float, every: int) -> np.ndarray:
        return np.array([step * (k + 1) if k % every == 0 else 0.0 for k in range(items)])

    flow = Flow(
        network.operations.ids, network.routes.ids, network.items.ids, network.items.units, ("water", "dust <fine>"),
        ("void",), np.full(operations, 37.0), np.full(operations, 36.0), np.full(operations, 37.0),
        np.full(operations, np.nan), np.full(operations, np.nan), np.full(len(network.routes.ids), 37.0),
        np.full(len(network.routes.ids), 36.0), np.ones(len(network.routes.ids)),
        np.full(len(network.routes.ids), 0.95), network.items.demand, amounts(2.5, 2), amounts(1.0, 3),
        amounts(1.0, 3), amounts(0.5, 5), amounts(0.1, 7), amounts(0.1, 4), np.zeros(items), amounts(3.0, 6),
        Links(np.zeros(items + 1, dtype=np.int64), np.zeros(0, dtype=np.int64), np.zeros(0)), np.array([12.0, 3.5]),
        (Scrap(0, "yield", 1.2, 3.4), Scrap(1, "void", 0.4, float("nan"))),
        (Escape(int(np.argmax(network.items.demand)), 0, 0.0012),), (), np.zeros(0), made_by, honesty,
    )  # fmt: skip
    names = [("station", key) for key in network.stations.ids] + [("crew", key) for key in network.crews.ids]
    busy = tuple(
        Resource(kind, key, 1 + k % 3, 7.75, Hours(5 - 0.2 * k, 0.1, 0.3, 0.2, 0.1, 0, 0.6 * (k % 2), 0.15),
                 0.9 - 0.02 * k, 1, 1.11 + 0.2 * k)
        for k, (kind, key) in enumerate(names)
    )  # fmt: skip
    multiple = 1.113 if makes else 0.84
    first = plan.demand[0].item
    unit = plan.items[first].unit
    limits = tuple(
        Bound("load", key, multiple + 0.3 * k, 36 * (multiple + 0.3 * k), f"the hours of {key} are full")
        for k, (_, key) in enumerate(names[:5])
    )
    capacity = Capacity(
        (Wanted(first, unit, 36.0, 36 * multiple, 775.0),), makes, multiple, 7.75, 5, busy, limits,
        (Effectiveness(names[0][1], 0.95, 0.9, 0.99, 0.85, 0.8, 0.05),),
        (Waiting(names[0][1], 0.9, 0.2, 1.0, 0.3, 0.55, 2.4), Waiting(names[1][1], 1.1, 0.2, 1.0, 0.3, None, None)),
        12.0, 3.4, "The first station is full first.", ("stores have room",), honesty, made_by,
    )  # fmt: skip
    parts = Parts(240.0, 81.5, 3.25, 0.0, 6.0, 4.4, 1.1, 12.0, 0.5, -2.0, 60.0)
    product = ProductCost(
        first, unit, 36.0, parts, parts.total, 394.75, 400.0, 520.0, 520.0 - parts.total, 1.0, (),
        tuple(OperationCost(o, 1.02, 4.0, 2.0, 0.5, 0.0, 0.1) for o in network.operations.ids),
    )  # fmt: skip
    crews = tuple(CrewCost(key, 6.0, 8.5, 25.0, 150.0, 212.5) for key in network.crews.ids)
    cost = Cost(
        "EUR", (product,), crews, 36 * parts.total, ("wax",), ("people are paid the whole shift",), honesty, made_by
    )
    warning = Problem("items.wax", "no price is written; counted as nothing", level=Level.WARNING)
    quality = Quality(
        (CheckLoad("look", 37.0, 37.0, 1.2, 0.4, 0.0, 0.3),),
        (FaultWay("void", 20_000.0, 1200.0, (FaultStep("glue", "made", 0.02, 20_000.0),
                                             FaultStep("look", "looked for", 0.9, 1200.0))),),
        1200.0, False, (), None, (), (), (), None, Honesty("exact"),
    )  # fmt: skip
    return Answer(
        plan, network, flow, capacity, cost, quality, cautions_of(plan), (warning,), ("people come on time",), made_by
    )  # fmt: skip


@pytest.fixture(scope="session")
def given(kit: Plan) -> Answer:
    """The answer of the short plan, with given numbers."""
    return given_answer(kit)
