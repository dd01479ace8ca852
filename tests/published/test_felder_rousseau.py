"""Felder and Rousseau, Elementary Principles of Chemical Processes: recycle and bypass problems of chapter 4.

The problem texts are widely quoted; the books' answers are from memory and recomputed here by hand beside each check.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from linewright.base.problems import Problems
from linewright.flow import Flow, solve_flow
from linewright.network.compile import compile_network
from linewright.plan.read import read_document


def solve(text: str) -> Flow:
    problems = Problems()
    plan = read_document(tomllib.loads(text), Path(), problems)
    problems.raise_errors()
    assert plan is not None
    return solve_flow(compile_network(plan))


def amount(flow: Flow, field: str, item: str) -> float:
    return float(getattr(flow, field)[flow.items.index(item)])


CRYSTALS = """
[plan]
name = "Chromate"
money = "EUR"
makes = "cake"
demand = "1000 kg/day"
[items.fresh]
unit = "kg"
buy = "1 EUR"
moisture = 2.0                      # one third chromate
[items.strong]
unit = "kg"
moisture = 1.0242914979757085       # 49.4 % chromate
[items.filtrate]
unit = "kg"
moisture = 1.7472527472527473       # 36.4 % chromate
[items.cake]
unit = "kg"
moisture = 0.03284445362528404      # 95 % crystals, the rest filtrate
[routes.evaporate_fresh]
gives = "strong"
[[routes.evaporate_fresh.operations]]
id = "evaporate_a"
takes = { fresh = "1 kg" }
gives = { strong = "rest" }
loses = { water = "rest" }
[routes.evaporate_again]
gives = "strong"
[[routes.evaporate_again.operations]]
id = "evaporate_b"
takes = { filtrate = "1 kg" }
gives = { strong = "rest" }
loses = { water = "rest" }
[routes.crystallise]
gives = "cake"
[[routes.crystallise.operations]]
id = "crystallise"
takes = { strong = "1 kg" }
gives = { cake = "rest", filtrate = "rest" }
"""


def test_evaporative_crystallisation_with_recycle() -> None:
    """Example 4.5-2: 4500 kg/h fresh. Book: 1470 kg/h crystals, 2950 evaporated, 5640 recycled (rounded on the way)."""
    flow = solve(CRYSTALS)
    scale = 4500 / amount(flow, "bought", "fresh")
    crystals = 0.95 * amount(flow, "delivered", "cake") * scale
    recycle = amount(flow, "used", "filtrate") * scale
    water = float(flow.lost[0]) * scale
    # By hand: chromate 1500 = crystals + 0.364 (crystals x 0.05 / 0.95), and so on.
    by_hand = 1500 / (1 + 0.364 * 0.05 / 0.95)
    assert crystals == pytest.approx(by_hand, rel=1e-9)
    assert crystals == pytest.approx(1471.8, abs=0.05)
    assert water == pytest.approx(4500 - by_hand / 0.95, rel=1e-9)
    assert recycle == pytest.approx(5651, abs=1)
    assert recycle / 4500 == pytest.approx(1.256, abs=5e-4)
    assert (crystals, water, recycle) == pytest.approx((1470, 2950, 5640), rel=0.005)
    assert amount(flow, "going_round", "filtrate") == pytest.approx(amount(flow, "used", "filtrate"), rel=1e-12)
    assert amount(flow, "left_over", "filtrate") == 0
    assert flow.mass_in == pytest.approx(flow.mass_out, rel=1e-12)


HUMID_AIR = """
[plan]
name = "Air"
money = "EUR"
makes = "dry_air"
demand = "100 kg/day"
[items.humid]
unit = "kg"
free = true
moisture = 0.041666666666666664     # 4 % water
[items.dry_air]
unit = "kg"
moisture = 0.017293997965412          # 1.7 % water
[routes.condition]
gives = "dry_air"
[[routes.condition.operations]]
id = "mix_and_cool"
takes = { humid = "0.2608695652173913 kg", dry_air = "0.7391304347826086 kg" }   # 2.3 % water
gives = { dry_air = "rest" }
loses = { water = "rest" }
"""


def test_air_conditioner_with_recycle() -> None:
    """Example 4.5-1, basis 100 mol of air at 1.7 % (moles written as kg). Book: 102.4 fresh, 2.4 condensed, 290."""
    flow = solve(HUMID_AIR)
    fresh, recycle = amount(flow, "used", "humid"), amount(flow, "used", "dry_air")
    assert fresh == pytest.approx(98.3 / 0.96, rel=1e-9)
    assert float(flow.lost[0]) == pytest.approx(98.3 / 0.96 - 100, rel=1e-9)
    assert recycle == pytest.approx(290.12, abs=0.01)
    assert (fresh, float(flow.lost[0]), recycle) == pytest.approx((102.4, 2.4, 290), rel=0.002)


JUICE = """
[plan]
name = "Juice"
money = "EUR"
makes = "product"
demand = "28.571428571428573 kg/day"
[items.fresh]
unit = "kg"
buy = "1 EUR"
moisture = 7.333333333333333          # 12 % solids
[items.strong]
unit = "kg"
moisture = 0.7241379310344828         # 58 % solids
[items.product]
unit = "kg"
moisture = 1.380952380952381          # 42 % solids
[routes.evaporate]
gives = "strong"
[[routes.evaporate.operations]]
id = "evaporate"
takes = { fresh = "1 kg" }
gives = { strong = "rest" }
loses = { water = "rest" }
[routes.blend]
gives = "product"
[[routes.blend.operations]]
id = "blend"
takes = { strong = "0.6521739130434783 kg", fresh = "0.34782608695652173 kg" }
"""


def test_orange_juice_with_bypass() -> None:
    """The orange-juice problem of chapter 4: 12 % solids to 42 % by way of 58 %; 28.6 kg product from 100 kg (memory).

    By hand: product = 100 x 0.12 / 0.42; bypass = (0.58 - 0.42) / (0.58 - 0.12) of it.
    """
    flow = solve(JUICE)
    assert amount(flow, "bought", "fresh") == pytest.approx(100, rel=1e-9)
    bypassed = 100 - float(flow.started[flow.routes.index("evaporate")])
    assert bypassed == pytest.approx(100 * 0.12 / 0.42 * 0.16 / 0.46, rel=1e-9)
    assert float(flow.lost[0]) == pytest.approx(100 - 100 * 0.12 / 0.42, rel=1e-9)
