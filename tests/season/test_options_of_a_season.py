"""Options beside an [[intake]]: one harvest in two bottles, worked out by hand and against the plan without options."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from bottle_cases import works
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.answer import answer, improve_plan
from linewright.answer.model import Answer
from linewright.answer.seasonal import makes
from linewright.base.problems import ProblemsError
from linewright.base.results import Interval
from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.season import over_the_season, solve_season
from linewright.simulate import Quotas
from linewright.simulate.season import play_season
from linewright.simulate.season_model import SeasonRun

LITRES = 98_000 / 1.4
MIX = 0.6 * 0.75 + 0.4 * 0.33
"""L in a mean bottle."""


def told(builder: PlanBuilder) -> Answer:
    return answer(builder.build(), simulate=True, budget_seconds=0.1, threads=1)


def balance_and_play(builder: PlanBuilder) -> tuple[Any, SeasonRun]:
    network, flow, harvest = over_the_season(compile_network(builder.build()))
    season = solve_season(network, flow, harvest)
    assert network.season is not None
    run = play_season(
        network, starts=flow.started * network.season.working_days, quotas=Quotas(flow.mix, flow.choice_mix),
        replications=1, threads=1,
    )  # fmt: skip
    return season, run


def test_a_harvest_in_two_bottles_by_hand() -> None:
    """70,000 L give 70,000 / 0.582 bottles, 60 % of them of 75 cL; what each takes and costs is worked out beside."""
    found = told(works())
    season, run = found.season, found.season_run
    assert season is not None
    assert run is not None
    bottles = LITRES / MIX
    assert season.potential == pytest.approx(bottles)
    assert season.products == ("bottle",)
    assert season.most == pytest.approx((bottles,))
    assert [one.name for one in season.variants] == ["bottle [75 cL]", "bottle [33 cL]"]
    assert [one.most for one in season.variants] == pytest.approx([0.6 * bottles, 0.4 * bottles])
    assert [one.aim for one in season.variants] == pytest.approx([0.6 * bottles, 0.4 * bottles])
    assert season.balance.finished.sum() == pytest.approx(bottles)
    played = [one.mean for _, one in run.variants]
    assert played == pytest.approx([0.6 * bottles, 0.4 * bottles], abs=1)
    assert run.total.mean == sum(played)
    assert sum(n * size for n, size in zip(played, (0.75, 0.33), strict=True)) <= LITRES + 1e-6
    assert LITRES - sum(n * size for n, size in zip(played, (0.75, 0.33), strict=True)) < 0.75
    assert found.makes is True
    assert found.variants is not None
    material = [product.parts.material for product in found.variants.cost.products]
    assert material == pytest.approx([0.75 * 1.4 * 0.2 + 0.3, 0.33 * 1.4 * 0.2 + 0.2], abs=1e-4)
    money = found.season_cost
    assert money is not None
    glass = 0.6 * bottles * 0.3 + 0.4 * bottles * 0.2
    assert dict(money.parts)["material"] == pytest.approx(98_000 * 0.2 + glass, rel=1e-3)
    assert sum(month.total for month in money.months) == pytest.approx(money.spent, rel=1e-6)
    rows = {row[0]: row for row in season.to_table().rows}
    assert rows["bottle [33 cL] finished, at most"][2] == pytest.approx(0.4 * bottles)


def test_where_the_vats_are_too_few_both_sizes_are_short_alike() -> None:
    """Two vats ferment ten loads of 5,000 L by the year's end, by the balance and in play."""
    found = told(works(vats=2))
    season, run = found.season, found.season_run
    assert season is not None
    assert run is not None
    bottles = 50_000 / MIX
    assert [one.most for one in season.variants] == pytest.approx([0.6 * bottles, 0.4 * bottles])
    assert [one.mean for _, one in run.variants] == pytest.approx([0.6 * bottles, 0.4 * bottles], abs=1)
    assert "the bound is of that mix" in " ".join(season.honesty.notes)
    assert found.makes is False


def test_one_campaign_is_that_of_all_sizes() -> None:
    found = told(works(campaign={"starts": "8000 L", "waits": "3 weeks"}, during=True))
    run = found.season_run
    assert run is not None
    assert [name for name, _ in run.campaigns] == ["bottle"]
    assert run.campaigns[0][1].mean <= LITRES / 8_000
    assert [one.mean for _, one in run.variants] == pytest.approx([72_164.9, 48_110.0], abs=1)
    assert [care.operation for care in run.cares] == ["ferment"]
    assert run.cares[0].done.mean == pytest.approx(14 * 9)  # every 2 days of 20, not again at the end


def test_what_is_wanted_of_each_size_is_judged_by_itself() -> None:
    found = told(works(wanted={"75 cL": 3_000, "33 cL": 200}))
    season, run = found.season, found.season_run
    assert season is not None
    assert run is not None
    assert found.makes is True
    wanted = [one.aim for one in season.variants]
    assert wanted[0] == pytest.approx(15 * wanted[1])
    fewer = Interval(0.9 * wanted[1], 0.0)
    short = replace(run, variants=(run.variants[0], (run.variants[1][0], fewer)))
    assert makes(season, short) is False
    assert "90 % of bottle [33 cL]" in replace(found, season_run=short).verdict


def test_tanks_are_counted_for_the_mix() -> None:
    tanks = improve_plan(works(vats=2).build(), budget_seconds=20, threads=1).tanks
    assert tanks is not None
    planned, enough = tanks.choices
    assert planned.most == pytest.approx(50_000 / LITRES)
    assert enough.counts == (3,)
    one = tanks.failures[0]
    assert one.lost == pytest.approx(25_000 / MIX)
    assert one.money is not None
    assert one.played_lost is not None
    assert one.money == pytest.approx(2 * one.played_lost.mean)


def test_a_load_of_one_size_that_waits_for_ever_is_refused() -> None:
    builder = works(share="98 %")
    builder.station("oven")
    step = {"id": "heat", "station": "oven", "load": 500}
    step["time"] = {"by": "size", "table": {"75 cL": "20 min", "33 cL": "15 min"}}
    builder.document["routes"]["bottle"]["operations"].append(step)
    assert "keeps the others away" in told(builder).unplayed
    step["load"] = {"least": 1, "most": 500, "waits": "1 h"}
    found = told(builder)
    assert found.season_run is not None
    bottles = LITRES / (0.98 * 0.75 + 0.02 * 0.33)
    assert [one.mean for _, one in found.season_run.variants] == pytest.approx([0.98 * bottles, 0.02 * bottles], abs=1)


def test_what_comes_in_season_has_no_options() -> None:
    builder = works()
    builder.document["items"]["fruit"]["options"] = "size"
    step = builder.document["routes"]["must"]["operations"][0]
    step["takes"] = {"fruit": {"amount": "1.4 kg", "options": {"size": "75 cL"}}}
    with pytest.raises(ProblemsError) as raised:
        answer(builder.build())
    assert "comes in no mix that is known" in raised.value.problems[0].what
    assert raised.value.problems[0].path == "intake[0].item"


@settings(max_examples=8, deadline=None)
@given(
    large=st.integers(1, 40),
    small=st.integers(1, 40),
    weekly=st.lists(st.integers(0, 20), min_size=7, max_size=7).filter(any),
    vats=st.integers(1, 4),
    first=st.sampled_from(["75 cL", "33 cL"]),
)
def test_the_same_plan_written_without_options(
    large: int, small: int, weekly: list[int], vats: int, first: str
) -> None:
    """The balance is the same to the bit; where all is made, so is the play; and nothing comes from nowhere."""
    wanted = {"75 cL": 100 * large, "33 cL": 100 * small}
    asked: dict[str, Any] = {"wanted": wanted, "weekly": [f"{n} t" for n in weekly], "vats": vats, "first": first}
    one, played = balance_and_play(works(**asked))
    other, beside = balance_and_play(works(plain=True, **asked))
    assert one.most == other.most
    assert one.wanted == other.wanted
    assert np.array_equal(one.balance.finished, other.balance.finished)
    finished = [found.mean for _, found in played.variants]
    sizes = [0.75, 0.33] if first == "75 cL" else [0.33, 0.75]
    litres = sum(weekly) * 1000 / 1.4
    assert np.dot(finished, sizes) <= litres + 1e-6
    plain = [found.mean for found in beside.finished]
    assert all(n <= np.ceil(most) for n, most in zip(finished, one.wanted, strict=True))
    if plain == list(one.wanted):
        assert finished == plain
