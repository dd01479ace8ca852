"""Lots by the formula against a search, uneven lots against every plan there is, and what cannot be asked."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linewright.base.problems import ProblemsError
from linewright.lots import economic_lot, least_cost_lots, lot_cost

POSITIVE = st.floats(0.01, 1e6)


@given(POSITIVE, POSITIVE, POSITIVE, st.floats(1.01, 100), st.floats(0.05, 20))
def test_no_other_lot_costs_less(demand: float, setup: float, holding: float, faster: float, part: float) -> None:
    best = economic_lot(demand, setup, holding, demand * faster)
    least = lot_cost(best, demand, setup, holding, demand * faster)
    assert least.setups == pytest.approx(least.stock)
    assert lot_cost(best * part, demand, setup, holding, demand * faster).total >= least.total * (1 - 1e-12)


def test_half_and_twice_cost_a_quarter_more() -> None:
    best = economic_lot(1200, 50, 3)
    least = lot_cost(best, 1200, 50, 3).total
    for part in (0.5, 2.0):
        assert lot_cost(part * best, 1200, 50, 3).total == pytest.approx(1.25 * least)


def cost_of(lots: list[float], demand: list[float], setup: list[float], holding: list[float]) -> float:
    left = cost = 0.0
    for made, wanted, once, keep in zip(lots, demand, setup, holding, strict=True):
        left += made - wanted
        cost += once * (made > 0) + keep * left
    return cost


@given(
    st.lists(st.tuples(st.integers(0, 60), st.integers(0, 90), st.integers(0, 4)), min_size=1, max_size=8),
)
def test_no_plan_of_all_there_are_costs_less(periods: list[tuple[int, int, int]]) -> None:
    demand, setup, holding = ([float(v) for v in column] for column in zip(*periods, strict=True))
    found = least_cost_lots(demand, setup, holding)
    assert sum(found.lots) == sum(demand)
    assert cost_of(list(found.lots), demand, setup, holding) == pytest.approx(found.cost)
    n = len(demand)
    cheapest = math.inf
    for begins in itertools.product((False, True), repeat=n):
        lots, at = [0.0] * n, None
        for k in range(n):
            at = k if begins[k] else at
            if at is not None:
                lots[at] += demand[k]
        if sum(lots) == sum(demand):
            cheapest = min(cheapest, cost_of(lots, demand, setup, holding))
    assert found.cost == pytest.approx(cheapest)


def test_what_cannot_be_asked_is_named_together() -> None:
    with pytest.raises(ProblemsError) as caught:
        economic_lot(-1, -2, 0, -5)
    assert {p.path for p in caught.value.problems} == {"demand", "setup", "holding", "pace"}
    with pytest.raises(ProblemsError, match="never makes a stock"):
        economic_lot(10, 2, 1, pace=10)
    with pytest.raises(ProblemsError, match="lot"):
        lot_cost(0, 10, 2, 1)
    with pytest.raises(ProblemsError) as caught:
        least_cost_lots([1, -1, math.nan], [1, 2], -1)
    assert {p.path for p in caught.value.problems} == {"demand[1]", "demand[2]", "setup", "holding"}
    with pytest.raises(ProblemsError, match="no period"):
        least_cost_lots([], 1, 1)
