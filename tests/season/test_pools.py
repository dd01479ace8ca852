"""Vessels of several sizes as one balance, and the least they hold: against each size apart, and number by number."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from season_cases import in_sizes

import linewright.season.program as program
from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.season import over_the_season, solve_season
from linewright.season.tanks import ENOUGH, _Search
from linewright.season.vessels import Pool, Vessel


def search(builder: PlanBuilder) -> _Search:
    network, flow, harvest = over_the_season(compile_network(builder.build()))
    return _Search(network, flow, harvest, 0, lambda: False)


def apart(vessels: list[Vessel]) -> list[Pool]:
    """Every size on its own."""
    return [Pool(v.name, (k,), (1.0,), v.legs, v.loads) for k, v in enumerate(vessels)]


def two_sorts(most: str) -> PlanBuilder:
    """The cellar with a second cider of must, at most so much of it in one vat, which is blended half and half."""
    builder = in_sizes({"20 hL": 2, "40 hL": 1}, fill="1000 L", weekly="9 t", until="2026-10-04")
    operations = builder.document["routes"]["cider"]["operations"]
    builder.item("dry", unit="L", mass="1 kg").item("cuvee", unit="L", mass="1 kg")
    builder.document["plan"]["makes"] = "cuvee"
    route = builder.route("dry", gives="dry")
    for k, operation in enumerate(operations):
        fields: dict[str, Any] = {key: value for key, value in operation.items() if key != "id"}
        if k:
            fields |= {"load": {"least": "1 hL", "most": most}}
        if k == 1:
            fields |= {"stand": "30 days"}
        route.operation(f"{operation['id']}_dry", **fields)
    builder.route("cuvee", gives="cuvee").operation(
        "mix", crew="hand", time={"rate": "5000 L/h"}, takes={"cider": "0.5 L", "dry": "0.5 L"}
    )
    return builder


@settings(max_examples=12, deadline=None)
@given(
    small=st.integers(0, 4),
    large=st.integers(1, 3),
    weekly=st.integers(5, 30),
    most=st.sampled_from(["30 hL", "40 hL"]),
    sorts=st.booleans(),
)
def test_sizes_together_give_what_they_give_apart(small: int, large: int, weekly: int, most: str, sorts: bool) -> None:
    builder = two_sorts(most) if sorts else in_sizes({"20 hL": 1, "40 hL": 1}, fill="1000 L")
    sizes = {size: n for size, n in (("20 hL", small), ("40 hL", large)) if n}
    builder.document["stations"]["vat"] = {"sizes": sizes}
    for intake in builder.document["intake"]:
        intake["weekly"] = f"{weekly} t"
    balance = over_the_season(compile_network(builder.build()))
    together = solve_season(*balance, early=False)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(program, "pools_of", apart)
        each = solve_season(*balance, early=False)
    assert together.most == pytest.approx(each.most, rel=1e-7)
    assert sum(limit.weight for limit in together.limits) == pytest.approx(1)
    counts = together.balance.counts
    assert all(together.balance.most_in_use[:, v].max() <= count * (1 + 1e-6) for v, count in enumerate(counts))


def test_sizes_that_a_load_does_not_fill_stay_apart() -> None:
    """Of the dry one 30 hL at most: a vat of 40 hL is worth two of 20 hL to one cider, one and a half to the other."""
    assert [pool.vessels for pool in search(two_sorts("30 hL")).program.pools] == [(0,), (1,)]
    assert [pool.vessels for pool in search(two_sorts("40 hL")).program.pools] == [(0, 1)]


@pytest.mark.parametrize("most", ["30 hL", "40 hL"])
@pytest.mark.parametrize("large", [0, 1, 2])
def test_the_least_number_is_that_of_trying_one_after_the_other(most: str, large: int) -> None:
    found = search(two_sorts(most))
    least = found.least(0, (0.0, float(large)))
    assert least is not None
    assert least == next(n for n in range(100) if found.most((float(n), float(large))) >= (ENOUGH - 1e-9) * found.aim)


def test_no_number_is_enough() -> None:
    """The must has to stand for longer than the horizon, in however many vats."""
    found = search(in_sizes({"20 hL": 2, "40 hL": 1}, fill="1000 L", stand="100 days"))
    assert found.least(0, (0.0, math.inf)) is None
