"""Cost of one: parts that add up, scrap that agrees with the balance, and plans that can be worked out by hand."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.capacity import measure_capacity
from linewright.cost import Cost, cost_of_one
from linewright.cost.rounding import digits_for, round_to_sum
from linewright.flow import Flow, solve_flow
from linewright.network import compile_network
from linewright.plan import PlanBuilder


def price(builder: PlanBuilder) -> tuple[Cost, Flow]:
    network = compile_network(builder.build())
    flow = solve_flow(network)
    return cost_of_one(network, flow, measure_capacity(network, flow)), flow


def stool(demand: str = "40 each/day", wage: str = "30 EUR/h", buy: str = "10 EUR", **operation: Any) -> PlanBuilder:
    builder = PlanBuilder("Stool", money="EUR", makes="stool", demand=demand)
    builder.item("stool", unit="each", sell="50 EUR").item("part", unit="each", buy=buy)
    builder.shift("day", hours="06:00-14:00", days="Mon-Fri").crew("hand", people=1, shift="day", wage=wage)
    builder.station("press", machine_rate="6 EUR/h")
    fields = {"station": "press", "crew": {"hand": 1}, "time": "10 min", "takes": {"part": 2}, **operation}
    builder.route("main", gives="stool").operation("press", **fields)
    return builder


def test_a_plan_by_hand() -> None:
    """20 of material, 10 min at 30 and at 6 an hour; 480 - 400 min are paid and idle."""
    found, _ = price(stool())
    one = found.of("stool")
    parts = one.parts
    assert (parts.material, parts.labour, parts.machine) == (20.0, 5.0, 1.0)
    assert parts.idle_labour == pytest.approx(80 / 60 * 30 / 40)
    assert (parts.scrap, parts.rework, parts.setup, parts.overhead) == (0.0, 0.0, 0.0, 0.0)
    assert one.total == 27.0
    assert one.total_worked == 26.0
    assert one.margin == pytest.approx(23.0)
    assert found.crews[0].hours_paid == pytest.approx(8.0)
    assert found.crews[0].hours_worked == pytest.approx(40 / 6)
    assert found.per_day == pytest.approx(27.0 * 40)


def test_setups_are_apart() -> None:
    found, _ = price(stool(demand="30 each/day", setup={"time": "20 min", "every": "10 each"}))
    assert found.of("stool").parts.setup == pytest.approx(20 / 60 * 36 / 10)


def test_scrap_is_what_a_works_without_any_would_save() -> None:
    found, flow = price(stool(yield_="80 %"))
    one = found.of("stool")
    assert one.parts.material == 20.0
    assert one.parts.scrap == pytest.approx((20 + 6) * 0.25)
    assert one.without_scrap == pytest.approx(one.total - one.parts.scrap)
    (part,) = one.by_item
    assert part.amount == pytest.approx(2.5)
    assert part.lost == pytest.approx(5.0)
    # Cost and balance agree on what is scrapped: pieces x what was put into each.
    scrapped = float(flow.scrapped().sum()) / 40
    assert one.parts.scrap == pytest.approx(scrapped * 26)


def test_rework_is_apart_from_scrap() -> None:
    builder = stool(demand="20 each/day", faults={"gap": "20 %"})
    route = builder.document["routes"]["main"]["operations"]
    route.append(
        {
            "id": "look",
            "crew": {"hand": 1},
            "time": "2 min",
            "check": {"finds": {"gap": "100 %"}, "then": {"rework": "press", "at_most": 1, "else": "scrap"}},
        }
    )
    found, flow = price(builder)
    parts = found.of("stool").parts
    # Of 100 started 20 are pressed and looked at again, 96 are good.
    again = 20 / 96
    assert parts.rework == pytest.approx(again * (6 + 1), abs=0.006)
    assert parts.scrap == pytest.approx(4 / 96 * (20 + 6 + 1), abs=0.006)
    assert float(flow.scrapped().sum()) == pytest.approx(20 * 4 / 96)


def test_by_products_and_disposal() -> None:
    builder = stool(takes={"part": 2}, gives={"stool": 1, "offcut": 3, "dust": 2})
    builder.item("offcut", unit="each", sell="0.40 EUR").item("dust", unit="each", disposal="0.10 EUR")
    found, _ = price(builder)
    parts = found.of("stool").parts
    assert parts.by_products == pytest.approx(-1.20)
    assert parts.disposal == pytest.approx(0.20)
    roles = {line.item: (line.role, line.amount) for line in found.of("stool").by_item}
    assert roles["offcut"] == ("sold", pytest.approx(3.0))


def test_overhead() -> None:
    builder = stool().overhead(of_labour="50 %", of_material="10 %", per_day="80 EUR")
    found, _ = price(builder)
    assert found.of("stool").parts.overhead == pytest.approx(0.5 * 240 / 40 + 0.1 * 20 + 2)


def test_two_products_share_what_they_share() -> None:
    builder = PlanBuilder("Two", money="EUR")
    builder.item("stool", unit="each").item("bench", unit="each").item("leg", unit="each").item(
        "wood", unit="each", buy="1 EUR"
    )
    builder.shift("day", hours="06:00-14:00").crew("hand", people=1, shift="day", wage="30 EUR/h")
    builder.demand("stool", "20 each/day").demand("bench", "10 each/day")
    builder.route("legs", gives="leg").operation("turn", crew={"hand": 1}, time="1 min", takes={"wood": 2})
    builder.route("stools", gives="stool").operation("fit_stool", crew={"hand": 1}, time="3 min", takes={"leg": 3})
    builder.route("benches", gives="bench").operation("fit_bench", crew={"hand": 1}, time="5 min", takes={"leg": 6})
    found, _ = price(builder)
    stools, benches = found.of("stool"), found.of("bench")
    assert stools.parts.material == pytest.approx(6.0)
    assert benches.parts.material == pytest.approx(12.0)
    assert stools.parts.labour == pytest.approx(3.0)
    assert benches.parts.labour == pytest.approx(5.5)
    assert found.per_day == pytest.approx(8 * 30 + 120 + 120, abs=0.30)
    assert any("by the units they use" in text for text in found.assumptions)


def test_what_has_no_price_is_named() -> None:
    builder = stool()
    del builder.document["crews"]["hand"]["wage"]
    found, _ = price(builder)
    assert found.missing == ("hand has no wage",)
    assert found.of("stool").parts.labour == 0.0


def test_more_work_than_paid_hours_is_said() -> None:
    found, _ = price(stool(demand="100 each/day"))
    assert any("hand" in text for text in found.assumptions)
    assert found.of("stool").parts.idle_labour == 0.0


def test_a_cheap_unit_is_told_in_finer_places() -> None:
    found, _ = price(stool(wage="0.03 EUR/h", buy="0.0001 EUR"))
    assert digits_for(0.0123) == 5
    assert found.of("stool").parts.labour == pytest.approx(0.005)


@given(st.lists(st.floats(-1e5, 1e5), min_size=1, max_size=12), st.integers(0, 6))
def test_rounded_parts_add_up(parts: list[float], digits: int) -> None:
    rounded = round_to_sum(parts, digits)
    unit = 10.0**-digits
    assert math.isclose(math.fsum(rounded), round(math.fsum(parts), digits), abs_tol=unit * 1e-3 + 1e-9)
    assert all(abs(a - b) <= unit * (1 + 1e-6) for a, b in zip(rounded, parts, strict=True))


plans = st.builds(
    lambda wage, buy, minutes, yields, fault, found, every, labour, day: stool(
        demand="20 each/day",
        wage=f"{wage} EUR/h",
        buy=f"{buy} EUR",
        time=f"{minutes} min",
        yield_=f"{yields} %",
        faults={"gap": f"{fault} %"},
        check={"finds": {"gap": f"{found} %"}, "then": {"rework": "press", "at_most": 2, "else": "scrap"}},
        setup={"time": "7 min", "every": f"{every} each"},
    ).overhead(of_labour=f"{labour} %", per_day=f"{day} EUR"),
    st.decimals("0.5", 90, places=2),
    st.decimals("0.01", 900, places=2),
    st.integers(1, 12),
    st.integers(60, 100),
    st.integers(0, 50),
    st.integers(1, 100),
    st.integers(3, 40),
    st.integers(0, 300),
    st.integers(0, 2000),
)


@settings(max_examples=25, deadline=None)
@given(plans)
def test_parts_operations_and_items_add_up_to_the_cent(builder: PlanBuilder) -> None:
    found, _ = price(builder)
    one = found.of("stool")
    scale = 10 ** (digits_for(one.total) + 1)  # a place finer than told: rounding can lift a total over a power of ten
    whole = [money * scale for _, money in one.parts.items()]
    assert all(abs(w - round(w)) < 1e-4 for w in whole)
    assert sum(round(w) for w in whole) == round(one.total * scale)
    parts = one.parts
    direct = parts.material + parts.labour + parts.machine + parts.setup + parts.scrap + parts.rework
    assert sum(o.total for o in one.by_operation) == pytest.approx(direct, abs=0.061)
    bought = sum(i.money for i in one.by_item if i.role == "bought")
    assert sum(o.material for o in one.by_operation) == pytest.approx(bought, rel=1e-9)
    assert parts.scrap >= -0.01
    assert parts.rework >= 0
    assert one.without_scrap <= one.total + 0.01


@settings(max_examples=10, deadline=None)
@given(st.integers(2, 9))
def test_money_scales(factor: int) -> None:
    """All prices times a factor: the cost times the factor."""
    one, _ = price(stool(yield_="90 %"))
    builder = stool(wage=f"{30 * factor} EUR/h", buy=f"{10 * factor} EUR", yield_="90 %")
    builder.document["stations"]["press"]["machine_rate"] = f"{6 * factor} EUR/h"
    other, _ = price(builder)
    assert other.of("stool").total == pytest.approx(factor * one.of("stool").total, abs=0.01 * factor)


def test_tables() -> None:
    found, _ = price(stool())
    assert found.to_table().rows[-3][0] == "total"
    assert found.items_table("stool").rows[0][0] == "part"
    assert found.operations_table("stool").rows[0][0] == "press"
    assert found.to_dict()["money"] == "EUR"
    with pytest.raises(KeyError):
        found.of("table")


def test_who_stands_in_is_paid_for_what_he_does() -> None:
    """8 h each at 10 of demand: of 10 h wiring the wirer does 8, the fitter 2 at half the pace: 4 h at his wage."""
    plan = PlanBuilder("Harrow Fen Works, a shop", money="EUR", makes="thing", demand="10 each/day")
    plan.item("thing", unit="each").shift("day", hours="08:00-16:00")
    plan.crew("fitter", people=1, shift="day", wage="20 EUR/h", can={"wirer": {"people": 1, "pace": "50 %"}})
    plan.crew("wirer", people=1, shift="day", wage="30 EUR/h")
    route = plan.route("r", gives="thing").operation("fit", crew="fitter", time="24 min")
    route.operation("wire", crew="wirer", time="60 min")
    network = compile_network(plan.build())
    flow = solve_flow(network)
    cost = cost_of_one(network, flow, measure_capacity(network, flow))
    hours = {c.crew: (c.hours_worked, c.worked) for c in cost.crews}
    assert hours["wirer"] == pytest.approx((8, 240))
    assert hours["fitter"] == pytest.approx((8, 160))
    assert any("stand in" in said for said in cost.assumptions)
