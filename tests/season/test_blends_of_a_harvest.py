"""Over a season a blend is the one that makes most of the harvest: by hand, and against a linear program of its own."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from linewright.answer import answer
from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.season import Harvest, over_the_season, solve_season

ACID = {"acid": {"most": "6 g/L"}}


def cellar(wines: list[tuple[float, float, float, float]], limits: dict[str, Any], **header: Any) -> PlanBuilder:
    """Four weeks of a cellar; each wine is (kg that come, kg a litre, acid in g/L, price of a kg), fruit of one day."""
    asked = {"makes": "cuvee", **header}
    builder = PlanBuilder("Cuvee", money="EUR", from_="2026-09-07", to="2026-10-04", **asked)
    builder.item("cuvee", unit="L", mass="1 kg").shift("day", hours="06:00-22:00", days="Mon-Fri")
    builder.crew("cellar", people=3, shift="day", wage="20 EUR/h")
    for k, (came, need, acid, price) in enumerate(wines):
        builder.item(f"fruit{k}", unit="kg", buy=f"{price} EUR")
        builder.item(f"wine{k}", unit="L", mass="1 kg", contains={"acid": f"{acid} g/L"})
        builder.intake(f"fruit{k}", from_="2026-09-07", to="2026-09-13", weekly=f"{came} kg")
        builder.route(f"wine{k}", gives=f"wine{k}").operation(
            f"press{k}", crew="cellar", time={"rate": "5000 L/h"}, takes={f"fruit{k}": f"{need} kg"},
            loses={"pomace": "rest"},
        )  # fmt: skip
    builder.route("blend", gives="cuvee").operation(
        "mix", crew="cellar", time="1 s", load={"least": "1 L", "most": "100 L", "waits": "1 h"},
        takes={"base": {"any_of": [f"wine{k}" for k in range(len(wines))], "amount": "1 L", **limits}},
    )  # fmt: skip
    return builder


def recipe(builder: PlanBuilder) -> tuple[dict[str, float], Harvest]:
    """Shares of the wines, and what the harvest gives."""
    network, flow, harvest = over_the_season(compile_network(builder.build()))
    names = [name for name in network.items.ids if name.startswith("wine")]
    used = [float(flow.used[network.items.ids.index(name)]) / flow.demand for name in names]
    return dict(zip(names, used, strict=True)), harvest


def test_all_of_the_fruit_goes_in_although_a_cheaper_blend_keeps_the_limits() -> None:
    """600 kg and 400 kg, a kg a litre, 5 and 7 g/L: all of it holds 5.8 g/L, so 1,000 L of 60:40.

    The cheapest blend is half and half (6 g/L): 800 L, and 200 kg are left over.
    """
    shares, harvest = recipe(cellar([(600, 1, 5, 2), (400, 1, 7, 1)], {"limits": ACID}))
    assert shares == pytest.approx({"wine0": 0.6, "wine1": 0.4}, rel=1e-9)
    assert harvest.potential == pytest.approx(1000, rel=1e-9)
    assert "60 % wine0, 40 % wine1: the blend that makes most of the harvest" in harvest.recipes[0]


def test_the_limits_hold_where_they_leave_fruit_over() -> None:
    """300 kg of 5 g/L carry as much of 7 g/L as they weigh: 600 L, half and half, and 100 kg are left over."""
    shares, harvest = recipe(cellar([(300, 1, 5, 2), (400, 1, 7, 1)], {"limits": ACID}))
    assert shares == pytest.approx({"wine0": 0.5, "wine1": 0.5}, rel=1e-9)
    assert harvest.potential == pytest.approx(600, rel=1e-9)
    assert harvest.left.sum() == pytest.approx(100, rel=1e-9)


def test_what_a_litre_needs_counts() -> None:
    """600 kg at 2 kg a litre are 300 L, 200 kg at 1 kg a litre 200 L: 500 L of 60:40."""
    shares, harvest = recipe(cellar([(600, 2, 5, 2), (200, 1, 7, 1)], {"limits": ACID}))
    assert shares == pytest.approx({"wine0": 0.6, "wine1": 0.4}, rel=1e-9)
    assert harvest.potential == pytest.approx(500, rel=1e-9)


def test_among_those_that_make_as_much_the_cheapest() -> None:
    """Yeast for 500 L only; 400 L of the cheaper wine are there, so 80 %: 4 x 0.8 + 6 x 0.2 is within 6 g/L."""
    builder = cellar([(400, 1, 4, 1), (400, 1, 6, 2)], {"limits": ACID})
    builder.item("yeast", unit="kg", buy="3 EUR")
    builder.intake("yeast", from_="2026-09-07", to="2026-09-13", weekly="0.5 kg")
    builder.document["routes"]["blend"]["operations"][0]["takes"]["yeast"] = "0.001 kg"
    shares, harvest = recipe(builder)
    assert shares == pytest.approx({"wine0": 0.8, "wine1": 0.2}, rel=1e-9)
    assert harvest.potential == pytest.approx(500, rel=1e-9)


def test_a_written_demand_takes_the_cheapest_of_what_comes() -> None:
    """40 L on each of 20 working days: 400 L of the cheaper wine at 4 g/L, and 400 L of the other."""
    builder = cellar([(400, 1, 4, 1), (600, 1, 6, 2)], {"limits": ACID}, makes="cuvee", demand="40 L/day")
    network, flow, _ = over_the_season(compile_network(builder.build()))
    assert flow.used[network.items.ids.index("wine0")] == pytest.approx(20, rel=1e-9)
    assert flow.used[network.items.ids.index("wine1")] == pytest.approx(20, rel=1e-9)


def test_more_than_the_harvest_gives_is_wanted() -> None:
    """60 L a day are 1,200 L: all of the 1,000 L go in, in the shares in which they come."""
    builder = cellar([(400, 1, 4, 1), (600, 1, 6, 2)], {"limits": ACID}, makes="cuvee", demand="60 L/day")
    shares, _ = recipe(builder)
    assert shares == pytest.approx({"wine0": 0.4, "wine1": 0.6}, rel=1e-9)


def test_a_choice_in_order_goes_on_to_the_next_where_the_first_is_used_up() -> None:
    """No limits: 300 L of the first, then 100 L of the second; nothing is left over."""
    shares, harvest = recipe(cellar([(300, 1, 5, 2), (100, 1, 7, 1)], {}))
    assert shares == pytest.approx({"wine0": 0.75, "wine1": 0.25}, rel=1e-9)
    assert harvest.potential == pytest.approx(400, rel=1e-9)


def test_where_the_harvest_does_not_limit_the_blend_it_is_the_cheapest() -> None:
    """Concentrate may be bought without limit and keeps the limits alone: the harvest says nothing of how much."""
    builder = cellar([(300, 1, 5, 0.1)], {"limits": ACID})
    builder.item("concentrate", unit="L", mass="1 kg", buy="9 EUR", contains={"acid": "1 g/L"})
    builder.document["routes"]["blend"]["operations"][0]["takes"]["base"]["any_of"].append("concentrate")
    shares, harvest = recipe(builder)
    assert shares == pytest.approx({"wine0": 1.0}, rel=1e-9)
    assert "the cheapest within its limits" in harvest.recipes[0]


def test_averages_balance_of_days_play_and_cost_have_the_same_recipe() -> None:
    """1,000 L by hand in all four, of 600 kg at 2 EUR and 400 kg at 1 EUR: 1.60 EUR of fruit in a litre."""
    found = answer(cellar([(600, 1, 5, 2), (400, 1, 7, 1)], {"limits": ACID}).build(), simulate=True, budget_seconds=1)
    season, run = found.season, found.season_run
    assert season is not None
    assert run is not None
    assert season.most == pytest.approx((1000,), rel=1e-7)
    assert run.total.mean == pytest.approx(1000, rel=1e-6)
    fruit = [line.money for line in found.cost.of("cuvee").by_item if line.item.startswith("fruit")]
    assert sum(fruit) == pytest.approx(1.6, rel=1e-9)
    _, units = found.network.operations.takes.row(found.network.operations.ids.index("mix"))
    assert sorted(units.tolist()) == pytest.approx([0.4, 0.6], rel=1e-9)


wines = st.lists(
    st.tuples(
        st.integers(50, 900).map(float), st.integers(10, 25).map(lambda n: n / 10),
        st.integers(40, 80).map(lambda n: n / 10), st.integers(1, 9).map(float),
    ),
    min_size=2, max_size=4,
)  # fmt: skip


@settings(max_examples=25, deadline=None)
@given(wines=wines, most=st.integers(50, 75), tried=st.lists(st.floats(0.01, 1), min_size=4, max_size=4))
def test_as_much_as_a_linear_program_of_its_own(
    wines: list[tuple[float, float, float, float]], most: int, tried: list[float]
) -> None:
    """Litres v of each wine: the greatest sum with v x need at most what came and the acid within its limit.

    No fixed shares within the limit make more, and of all that make as much it is the cheapest.
    """
    came, need, acid, price = (np.array(column) for column in zip(*wines, strict=True))
    limit = most / 10
    if acid.min() > limit:
        wines = [(came[0], need[0], limit, price[0]), *wines[1:]]
        acid[0] = limit
    bounds = [(0, c / n) for c, n in zip(came, need, strict=True)]
    found = linprog(-np.ones(len(wines)), A_ub=[acid - limit], b_ub=[0.0], bounds=bounds)
    shares, harvest = recipe(cellar(wines, {"limits": {"acid": {"most": f"{limit} g/L"}}}))
    mix = np.array(list(shares.values()))
    assert harvest.potential == pytest.approx(-found.fun, rel=1e-7)
    assert mix @ acid <= limit + 1e-7
    paid = linprog(
        price * need, A_ub=[acid - limit], b_ub=[1e-9], bounds=bounds, A_eq=[np.ones(len(wines))],
        b_eq=[-found.fun * (1 - 1e-9)],
    )  # fmt: skip
    assert harvest.potential * (mix @ (price * need)) == pytest.approx(paid.fun, rel=1e-6)
    fixed = np.array(tried[: len(wines)]) / sum(tried[: len(wines)])
    if fixed @ acid <= limit:
        gives = float(np.min(came / (need * fixed)))
        assert gives <= harvest.potential * (1 + 1e-9)


def test_the_season_of_written_shares_is_no_better() -> None:
    """The bound over the days with the recipe that is found against recipes that are written."""
    rows = [(600.0, 1.0, 5.0, 2.0), (400.0, 1.0, 7.0, 1.0)]
    free = over_the_season(compile_network(cellar(rows, {"limits": ACID}).build()))
    best = solve_season(*free).most[0]
    for share in (50, 55, 70, 90):
        written = {"shares": {"wine0": f"{share} %", "wine1": f"{100 - share} %"}}
        other = over_the_season(compile_network(cellar(rows, written).build()))
        assert solve_season(*other).most[0] <= best * (1 + 1e-9)
