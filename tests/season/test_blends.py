"""Blends to limits: Pearson's square, the cheapest blend against a linear program of its own, and what is refused."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from linewright.answer import answer
from linewright.base.problems import ProblemsError
from linewright.flow import solve_flow
from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import simulate


def blend(items: dict[str, dict[str, Any]], limits: dict[str, Any], **mix: Any) -> PlanBuilder:
    """100 L a day of a blend; every item is bought by the litre."""
    builder = PlanBuilder("Blend", money="EUR", makes="cuvee", demand="100 L/day")
    builder.item("cuvee", unit="L", mass="1 kg").shift("day", hours="06:00-14:00").crew("cellar", people=1, shift="day")
    for name, fields in items.items():
        builder.item(name, **{"unit": "L", "mass": "1 kg", **fields})
    builder.route("blend", gives="cuvee").operation(
        "mix", crew="cellar", time="30 min", load="50 L",
        takes={"base": {"any_of": list(items), "amount": "1 L", "limits": limits, **mix}},
    )  # fmt: skip
    return builder


def wine(name: str, alcohol: float, acid: float, price: float) -> tuple[str, dict[str, Any]]:
    return name, {"buy": f"{price} EUR", "contains": {"alcohol": f"{alcohol} % vol", "acid": f"{acid} g/L"}}


TWO = dict([wine("strong", 14, 5, 2), wine("light", 10, 8, 1)])


def refused(builder: PlanBuilder, what: str) -> None:
    with pytest.raises(ProblemsError) as wrong:
        solve_flow(compile_network(builder.build()))
    assert any("takes.base.limits" in p.path and what in p.what for p in wrong.value.problems), wrong.value


def test_the_pearson_square() -> None:
    """14 % and 10 % to 12.5 %: 12.5 - 10 = 2.5 parts to 14 - 12.5 = 1.5 parts (Pearson's square, common practice)."""
    limits = {"alcohol": {"least": "12.5 % vol", "most": "12.5 % vol"}}
    flow = solve_flow(compile_network(blend(TWO, limits).build()))
    assert flow.choice_mix[0] == pytest.approx((2.5 / 4, 1.5 / 4), rel=1e-9)
    assert flow.bought[1:3] == pytest.approx((62.5, 37.5), rel=1e-9)


def test_the_cheapest_within_the_limits() -> None:
    """At least 11 % vol and at most 7.4 g/L: acid asks for 20 % of the strong one, alcohol for 25 %."""
    limits = {"alcohol": {"least": "11 % vol"}, "acid": {"most": "7.4 g/L"}}
    found = answer(blend(TWO, limits).build())
    assert found.flow.bought[1] == pytest.approx(25, rel=1e-9)
    assert any("25 % strong, 75 % light" in said for said in found.assumptions)
    assert any("alcohol 11 % vol, acid" in said for said in found.assumptions)


def test_every_load_keeps_the_limits_when_it_is_played() -> None:
    """The blend is a recipe: 25 of 100 litres, load by load."""
    found = answer(blend(TWO, {"alcohol": {"least": "11 % vol"}}).build(), simulate=True, budget_seconds=0.5)
    assert found.simulation is not None
    assert found.network.choices == ()
    index, units = found.network.operations.takes.row(0)
    assert dict(zip(index.tolist(), units.tolist(), strict=True)) == pytest.approx({1: 0.25, 2: 0.75})


def test_a_blend_is_not_played_without_its_recipe() -> None:
    with pytest.raises(ProblemsError, match="a blend is played as a recipe"):
        simulate(compile_network(blend(TWO, {"alcohol": {"least": "11 % vol"}}).build()), replications=1)


def test_a_limit_out_of_reach() -> None:
    refused(
        blend(TWO, {"alcohol": {"least": "15 % vol"}}),
        "alcohol is from 10 % vol to 14 % vol",
    )


def test_limits_that_contradict_each_other() -> None:
    limits = {"alcohol": {"least": "13 % vol"}, "acid": {"least": "7 g/L"}}
    refused(blend(TWO, limits), "no blend of these keeps all its limits at once: alcohol, acid")


def test_what_does_not_mix_linearly() -> None:
    items = {name: {**fields, "contains": {"pH": 3.4}} for name, fields in TWO.items()}
    refused(blend(items, {"pH": {"most": 3.5}}), "not known to mix linearly")


def test_an_item_that_does_not_say_it() -> None:
    items = {**TWO, "plain": {"buy": "1 EUR"}}
    refused(blend(items, {"alcohol": {"least": "11 % vol"}}), "plain does not say its alcohol")


def test_by_volume_what_is_weighed() -> None:
    items = {**TWO, "spirit": {"unit": "kg", "buy": "9 EUR", "contains": {"alcohol": "60 % vol"}}}
    del items["spirit"]["unit"]
    items["spirit"]["unit"] = "bottle"
    builder = blend(items, {"alcohol": {"least": "11 % vol"}})
    builder.document["routes"]["blend"]["operations"][0]["takes"]["base"]["amount"] = "1 kg"
    refused(builder, "alcohol mixes by volume")


def test_written_shares_that_break_a_limit() -> None:
    shares = {"strong": "10 %", "light": "90 %"}
    refused(blend(TWO, {"alcohol": {"least": "11 % vol"}}, shares=shares), "the shares that are written hold 10.4")


@settings(max_examples=30, deadline=None)
@given(
    wines=st.lists(
        st.tuples(st.integers(80, 150), st.integers(30, 90), st.integers(5, 60)), min_size=2, max_size=5, unique=True
    ),
    least=st.integers(90, 130),
    most=st.integers(45, 80),
)
def test_as_cheap_as_a_linear_program_of_its_own(wines: list[tuple[int, int, int]], least: int, most: int) -> None:
    """Alcohol at least, acid at most: the cost of the blend against scipy's linear program over the shares."""
    alcohol, acid, price = (np.array(column) / 10 for column in zip(*wines, strict=True))
    found = linprog(
        price, A_ub=np.array([least / 10 - alcohol, acid - most / 10]), b_ub=[0.0, 0.0],
        A_eq=np.ones((1, len(wines))), b_eq=[1.0],
    )  # fmt: skip
    assume(found.status in (0, 2))
    items = dict(wine(f"w{k}", alcohol[k], acid[k], price[k]) for k in range(len(wines)))
    limits = {"alcohol": {"least": f"{least / 10} % vol"}, "acid": {"most": f"{most / 10} g/L"}}
    if found.status == 2:
        refused(blend(items, limits), "")
        return
    flow = solve_flow(compile_network(blend(items, limits).build()))
    mix = np.array(flow.choice_mix[0])
    assert float(mix @ price) == pytest.approx(found.fun, rel=1e-7)
    assert float(mix @ alcohol) >= least / 10 - 1e-7
    assert float(mix @ acid) <= most / 10 + 1e-7
