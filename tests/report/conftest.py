"""Plans of the invented works, built in Python: a short one with every kind of branch, and long ones by number."""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest

from linewright.base.units import read_quantity
from linewright.plan.model import (
    Amount,
    Check,
    Demand,
    Duration,
    Item,
    Move,
    Operation,
    Plan,
    Reaction,
    Route,
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
            Operation("screen", time=minutes(1), gives=(Amount("oversize", share=0.2), Amount("dust", share=0.03))),
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
            Operation("pack", time=minutes(1), takes=takes("box")),
        ),
    )
    box = Route("box", "box", (Operation("fold", time=minutes(0.5), takes=takes("blank")),))
    items = {k: Item(k, "each") for k in ("chips", "oversize", "dust", "furnish", "resin", "board", "box", "blank")}
    return Plan(
        "Kit & <board>",
        "EUR",
        (Demand("board", read_quantity("36 each/day")),),
        items,
        {"particles": mill, "board": board, "box": box},
        stations={"blender": Station("blender"), "cooler": Station("cooler", hazards=("hot_surface",))},
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
