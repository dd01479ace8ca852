"""Seasons played event by event: against seasons by hand, against the balance, and what must never be lost."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from season_cases import cellar

from linewright.answer import answer
from linewright.answer.seasonal import makes, verdict, why
from linewright.base.problems import ProblemsError
from linewright.base.results import Interval
from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.season import Season, over_the_season, solve_season
from linewright.simulate import Quotas
from linewright.simulate.season import play_season
from linewright.simulate.season_model import SeasonRun


def played(builder: PlanBuilder, **asked: Any) -> tuple[Season, SeasonRun]:
    network, flow, harvest = over_the_season(compile_network(builder.build()))
    assert network.season is not None
    starts = flow.started * network.season.working_days
    wish: dict[str, Any] = {"replications": 1, "threads": 1, **asked}
    run = play_season(network, starts=starts, quotas=Quotas(flow.mix, flow.choice_mix), **wish)
    return solve_season(network, flow, harvest, early=False), run


def test_two_vats_make_five_fillings_each() -> None:
    """Filled on the first days, 20 days of standing and a shift to draw off and fill again: five times in 109 days."""
    bound, run = played(cellar(vats=2))
    assert run.total.mean == pytest.approx(50_000, rel=1e-9)
    assert run.total.mean <= bound.most[0] * (1 + 1e-9)


def test_weeks_by_hand() -> None:
    """2,000 L of must a day from Monday on. By Friday 10,000 L came: two vats; 20 days later they are drawn off.

    The first vat is full on Wednesday 16 September (6,000 L), the second on Friday the 18th (10,000 L): drawn off on
    Tuesday 6 and Thursday 8 October, the week of 5 October.
    """
    _, run = played(cellar(vats=9))
    assert run.mondays[3] == "2026-10-05"
    assert run.week_finished.mean[:4, 0].tolist() == pytest.approx([0, 0, 0, 10_000])
    assert run.week_in_use.mean[:3, 1].tolist() == pytest.approx([2, 4, 6])
    assert run.total.mean == pytest.approx(70_000, rel=1e-9)


def test_nobody_works_on_closed_days() -> None:
    """Closed for the whole harvest but its last week: 14 t come, 10,000 L."""
    _, run = played(cellar(closed="2026-09-14..2026-10-25", vats=9))
    assert run.total.mean == pytest.approx(10_000, rel=1e-9)
    assert run.week_finished.mean[:9, 0].sum() == 0
    assert run.crew_use.mean[0] < 1


def test_closed_days_stop_work_that_could_go_on() -> None:
    """Fruit of one Friday is pressed on Friday; closed until the end, nothing more is done with what came before."""
    _, run = played(cellar(until="2026-09-18", closed="2026-09-19..2026-12-31", vats=9))
    assert run.total.mean == 0
    open_run = played(cellar(until="2026-09-18", vats=9))[1]
    assert open_run.total.mean == pytest.approx(10_000, rel=1e-9)


def test_the_horizon_may_begin_on_any_day() -> None:
    """From a Thursday: the first calendar week has two days of delivery."""
    builder = cellar(vats=9)
    builder.document["plan"]["from"] = builder.document["intake"][0]["from"] = "2026-09-17"
    builder.document["intake"][0]["to"] = "2026-09-23"
    _, run = played(builder)
    assert run.mondays[0] == "2026-09-14"
    assert run.came[0] == pytest.approx(14_000)
    assert run.total.mean == pytest.approx(10_000, rel=1e-9)


def test_luck_gives_an_interval() -> None:
    builder = cellar(vats=9)
    builder.document["stations"]["press"] = {"between_stops": "3 h", "repair": "4 h"}
    bound, run = played(builder, replications=6)
    assert run.total.half_width < np.inf
    assert run.honesty.replications == 6
    assert run.total.mean <= bound.most[0] * (1 + 1e-9)


def test_the_same_seed_gives_the_same_season() -> None:
    builder = cellar(vats=9)
    builder.document["stations"]["press"] = {"between_stops": "3 h", "repair": "4 h"}
    one, other = (played(builder, replications=4, threads=n)[1] for n in (1, 2))
    assert one.total_of_each.tolist() == other.total_of_each.tolist()


def test_a_plan_without_horizon_has_no_season() -> None:
    builder = cellar()
    header = builder.document["plan"]
    for key in ("from", "to"):
        del header[key]
    del builder.document["intake"]
    header["demand"] = "100 L/day"
    network = compile_network(builder.build())
    with pytest.raises(ProblemsError, match="the plan has no horizon"):
        play_season(network, starts=np.zeros(2), quotas=Quotas(np.ones(2), ()))


def test_the_answer_plays_the_season() -> None:
    found = answer(cellar(vats=9).build(), simulate=True, budget_seconds=1.0)
    assert found.season_run is not None
    assert found.makes is True
    assert found.verdict == "yes, played 70,000 ± 0"
    assert found.to_dict()["season_run"]["total"]["mean"] == pytest.approx(70_000)


def test_of_several_products_each_must_be_made() -> None:
    """50 of 100 boxes are missed among 60,000 L of cider: together that would be 99.9 % of what is wanted."""
    builder = cellar(vats=9).item("box", unit="box")
    del builder.document["plan"]["makes"]
    builder.demand("cider", rate="60000 L/year").demand("box", rate="100 box/year")
    builder.route("box", gives="box").operation("pack", crew="hand", time="1 min", takes={"must": "1 L"})
    found = answer(builder.build(), simulate=True, budget_seconds=1.0)
    season, run = found.season, found.season_run
    assert season is not None
    assert run is not None
    assert season.wanted is not None
    assert found.makes is True
    _, boxes = season.wanted
    assert found.verdict.startswith("yes, played")
    assert found.verdict.count("±") == 2
    half = replace(run, finished=(run.finished[0], Interval(boxes / 2, 0.0)))
    assert makes(season, half) is False
    assert "50 % of one of them" in verdict(season, half, "")


@settings(max_examples=15, deadline=None)
@given(
    weekly=st.lists(st.integers(0, 40), min_size=7, max_size=7).filter(any),
    vats=st.integers(1, 6),
    stand=st.integers(1, 40),
    room=st.integers(5, 40),
)
def test_nothing_is_lost_and_the_balance_is_a_bound(weekly: list[int], vats: int, stand: int, room: int) -> None:
    """In = out + on hand + in work; no more is finished than the balance allows; no more vats than there are."""
    builder = cellar(weekly=[f"{w} t" for w in weekly], vats=vats, stand=f"{stand} days")
    builder.document["stores"]["tank"]["room"] = f"{1000 * room} L"
    bound, run = played(builder)
    assert run.total.mean <= bound.most[0] * (1 + 1e-7) + 1e-6
    assert run.most_in_use[1] <= vats
    fruit = float(run.came[0]) - float(run.left.mean[0])
    must = run.total.mean + float(run.waiting.mean[0])
    assert must * 1.4 <= fruit * (1 + 1e-9) + 1e-6
    standing = fruit / 1.4 - must
    assert -1e-6 <= standing <= vats * 5000 + room * 1000 + 2000


def test_what_does_not_keep_is_lost() -> None:
    """As in the balance: 28 t come in two days, and 10,000 L find room."""
    builder = cellar(vats=1, until="2026-09-15", weekly="70 t")
    builder.document["items"]["fruit"]["keeps"] = "3 days"
    builder.document["stores"]["tank"]["room"] = "5000 L"
    bound, run = played(builder)
    assert run.spoiled.mean[0] == pytest.approx(14_000, rel=1e-9)
    assert run.week_spoiled.mean[0, 0] == pytest.approx(run.spoiled.mean[0])
    assert run.total.mean == pytest.approx(10_000, rel=1e-9)
    assert bound.most[0] == pytest.approx(10_000, rel=1e-7)
    assert float(run.came[0]) == pytest.approx(
        float(run.spoiled.mean[0] + run.left.mean[0]) + 1.4 * (run.total.mean + float(run.waiting.mean[0])), rel=1e-9
    )


def test_what_lies_unfinished_at_the_end_is_said() -> None:
    """One week's 14 t are 10,000 L in two vats; the horizon ends two days before the first is drawn off."""
    builder = cellar(vats=9, until="2026-09-20", to="2026-10-04")
    bound, run = played(builder, replications=2)
    assert run.total.mean == 0
    (row,) = run.unfinished
    assert row[:3] == ("cider", "L", "vat")
    assert row[3].mean == pytest.approx(10_000, rel=1e-9)
    plan = builder.build()
    assert "unfinished" not in why(plan, bound, run)  # a bound says why
    assert bound.potential is not None
    allowed = replace(bound, most=(bound.potential,))
    assert makes(allowed, run) is False
    assert "lay unfinished, as played: 10,000" in why(plan, allowed, replace(run, standing=(run.standing[0],)))
    assert "Nothing lay unfinished" in why(plan, allowed, replace(run, standing=()))


def test_what_the_recipe_has_no_use_for_is_said() -> None:
    """A litre takes 1.4 kg of fruit and 0.1 kg of berries; 1,005 kg of berries come to 1,000 that go with the fruit."""
    builder = cellar(vats=9, until="2026-09-20")
    builder.item("berry", unit="kg", buy="1 EUR")
    builder.intake("berry", from_="2026-09-14", to="2026-09-20", weekly="1005 kg")
    builder.document["routes"]["must"]["operations"][0]["takes"]["berry"] = "0.1 kg"
    bound, _ = played(builder)
    assert bound.over == pytest.approx((0.0, 5.0))
    assert bound.why.endswith("but for 5 kg of berry, which the recipe has no use for (used up first: fruit).")
