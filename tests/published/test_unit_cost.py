"""Worked examples of unit cost from teaching texts, told as plans.

Seen as public text and recomputed: a job cost sheet (the same figures in several translations of one how-to article on
job costing), and process costing with a normal loss (a workbook for a first accountancy examination, 2018-19).
"""

from __future__ import annotations

import pytest

from linewright.capacity import measure_capacity
from linewright.cost import ProductCost, cost_of_one
from linewright.flow import solve_flow
from linewright.network import compile_network
from linewright.plan import PlanBuilder


def cost(builder: PlanBuilder, item: str) -> ProductCost:
    network = compile_network(builder.build())
    flow = solve_flow(network)
    return cost_of_one(network, flow, measure_capacity(network, flow)).of(item)


def test_job_cost_sheet() -> None:
    """100 pieces: metal 20, screws 4, wood 8; ten hours at 15; overhead 125 % of labour: 369.50, 3.695 each."""
    plan = PlanBuilder("Job", money="USD", makes="widget", demand="100 each/day")
    plan.item("widget", unit="each").item("metal", unit="each", buy="0.20 USD").item(
        "screws", unit="each", buy="0.04 USD"
    )
    plan.item("wood", unit="each", buy="0.08 USD")
    plan.shift("day", hours="08:00-13:00").crew("hand", people=2, shift="day", wage="15 USD/h")
    plan.overhead(of_labour="125 %")
    plan.route("main", gives="widget").operation(
        "make", crew={"hand": 2}, time="3 min", takes={"metal": 1, "screws": 1, "wood": 1}
    )
    found = cost(plan, "widget")
    assert found.total == pytest.approx(3.695, abs=1e-9)
    assert found.parts.material == pytest.approx(0.32, abs=1e-9)
    assert found.parts.labour == pytest.approx(1.50, abs=1e-9)
    assert found.parts.overhead == pytest.approx(1.875, abs=1e-9)
    assert found.parts.idle_labour == pytest.approx(0.0, abs=1e-9)


def heating(**operation: object) -> PlanBuilder:
    """1,000 kg at 18 go in, labour 1,800 and overheads 900 a day, a tenth is lost."""
    plan = PlanBuilder("Heating", money="USD", makes="heated", demand="900 kg/day")
    plan.item("heated", unit="kg").item("raw", unit="kg", buy="18 USD").item("slag", unit="kg", sell="1.80 USD")
    plan.shift("day", hours="08:00-16:00").crew("hand", people=1, shift="day", wage="225 USD/h")
    plan.overhead(per_day="900 USD").station("furnace", places=1)
    plan.route("main", gives="heated").operation(
        "heat", station="furnace", crew={"hand": 1}, time={"rate": "125 kg/h", "rate_of": "raw"}, **operation
    )
    return plan


def test_normal_loss_without_value() -> None:
    """20,700 over 900 kg: 23.00 a kg."""
    plan = heating(takes={"raw": "1 kg"}, yield_="90 %")
    del plan.document["items"]["slag"]
    found = cost(plan, "heated")
    assert found.total == pytest.approx(23.00, abs=1e-9)
    # Of it the lost tenth: 2.00 of material and 0.20 of labour for every good kilogram.
    assert found.parts.material == pytest.approx(18.00, abs=1e-9)
    assert found.parts.scrap == pytest.approx(2.00 + 0.20, abs=1e-9)
    assert found.without_scrap == pytest.approx(20.80, abs=1e-9)


def test_normal_loss_that_is_sold() -> None:
    """The lost 100 kg sell at 1.80: (20,700 - 180) / 900 = 22.80 a kg."""
    found = cost(heating(takes={"raw": "1 kg"}, gives={"heated": "90 %", "slag": "rest"}), "heated")
    assert found.total == pytest.approx(22.80, abs=1e-9)
    assert found.parts.by_products == pytest.approx(-0.20, abs=1e-9)
