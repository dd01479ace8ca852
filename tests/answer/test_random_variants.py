"""Random plans with options, answered, played and balanced: no crash, the books balance, and the demand is kept."""

from __future__ import annotations

import random
from typing import Any

import pytest

from linewright.answer.ask import answer
from linewright.answer.ask_balance import share_out
from linewright.plan import PlanBuilder

OPTIONS: dict[str, Any] = {
    "size": {"values": ["s", "m", "l"]},
    "side": {"values": ["left", "right"]},
    "hue": {"values": ["red", "blue"], "shares": {"red": "70 %"}},
}


def by(luck: random.Random, option: str, low: int, high: int, unit: str) -> Any:
    """A number, or a table of them by an option."""
    if luck.random() < 0.6:
        return f"{luck.randint(low, high)} {unit}"
    return {"by": option, "table": {v: f"{luck.randint(low, high)} {unit}" for v in OPTIONS[option]["values"]}}


def a_step(luck: random.Random, options: list[str], first: bool) -> dict[str, Any]:
    option = luck.choice(options)
    values = OPTIONS[option]["values"]
    step: dict[str, Any] = {"station": luck.choice("xyz"), "crew": luck.choice("ab")}
    step["time"] = by(luck, option, 10, 60, "s")
    if luck.random() < 0.25:
        step["load"] = luck.choice([2, 3, {"least": 1, "most": 4, "waits": "10 min"}])
    if luck.random() < 0.2:
        step["yield_"] = by(luck, option, 90, 99, "%")
    if luck.random() < 0.3 and not first:
        step["only_if"] = {option: luck.sample(values, luck.randint(1, len(values)))}
    if luck.random() < 0.2:
        step["setup"] = {"when": luck.choice(["item changes", f"{option} changes"]), "time": "1 min"}
    if luck.random() < 0.2:
        step["clean"] = {"after": luck.choice(["load", "shift"]), "time": "1 min"}
    return step


def a_plan(seed: int) -> PlanBuilder:
    luck = random.Random(seed)
    plan = PlanBuilder(f"variants {seed}", money="EUR").shift("day", hours="06:00-14:00")
    plan.document["options"] = OPTIONS
    for crew in "ab":
        plan.crew(crew, people=luck.randint(3, 5), shift="day", wage="20 EUR/h")
    for station in "xyz":
        plan.station(station, places=luck.randint(2, 4))
    plan.item("raw", unit="kg", buy="1 EUR").item("alt", unit="kg", buy="2 EUR")
    plan.item("second", unit="each", sell="1 EUR")
    plan.item("paint", unit="L", options=["hue"], buy={"by": "hue", "table": {"red": "3 EUR"}, "else": "4 EUR"})
    both = luck.random() < 0.5
    plan.item("half", unit="each", options=["size", "side", *(["hue"] if both else [])])
    plan.item("body", unit="each", options=["size", "hue"])
    half = plan.route("half", gives="half")
    feed = {"any_of": ["raw", "alt"], "amount": "0.5 kg", "shares": {"raw": "60 %", "alt": "40 %"}}
    for k in range(luck.randint(1, 3)):
        takes = {"takes": luck.choice([{"raw": "0.5 kg"}, {"feed": feed}])} if k == 0 else {}
        faults = {"faults": {"bad": by(luck, "side", 1, 6, "%")}} if luck.random() < 0.4 else {}
        half.operation(f"h{k}", **a_step(luck, ["size", "side"], k == 0), **takes, **faults)
    then = luck.choice(["scrap", {"seconds": "second"}, {"rework": "h0", "at_most": 1}])
    half.operation("look", crew="a", time="5 s", check={"finds": {"bad": "90 %"}, "then": then})
    body = plan.route("body", gives="body")
    for k in range(luck.randint(1, 3)):
        step = a_step(luck, ["size", "hue"], k == 0)
        if k == 0:
            same = ["size", *(["hue"] if both else [])]
            step["takes"] = {"half": {"same": same, "made_of": {"side": {"left": 1, "right": luck.randint(1, 2)}}}}
        if luck.random() < 0.4:
            paint = luck.choice([{"same": ["hue"]}, {"options": {"hue": "red"}}])
            step.setdefault("takes", {})["paint"] = {"amount": "0.1 L", **paint}
        body.operation(f"b{k}", **step)
    plan.demand("body", f"{luck.randint(15, 40)} each/day")
    plan.line("all", routes=["half", "body"], **({"worst_model": "150 %"} if luck.random() < 0.5 else {}))
    return plan


@pytest.mark.parametrize("seed", range(14))
def test_any_plan_with_options_is_answered(seed: int) -> None:
    found = answer(a_plan(seed).build(), simulate=True, budget_seconds=0.2, half_width=0.5)
    assert found.variants is not None
    # every variant gets its bill, and the money of the day is all told
    bill = sum(product.total * product.per_day for product in found.variants.cost.products)
    assert bill == pytest.approx(found.cost.per_day, abs=0.0051)  # told in hundredths
    assert found.flow.delivered.sum() == pytest.approx(found.variants.flow.delivered.sum())
    if found.simulation is not None and found.capacity.makes:
        assert found.simulation.makes_demand is not False, found.headline
    shared = share_out(found, seconds=0.2, play=False)
    assert shared.balanced is not None
    for line in shared.balanced.lines:
        done = sorted(task for station in line.balance.stations for task in station.tasks)
        assert done == sorted(line.line.line.names)
