"""The balance of a season against seasons worked out by hand, and what every season must keep to."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from season_cases import cellar

from linewright.answer import answer
from linewright.base.problems import ProblemsError
from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.season import Season, over_the_season, solve_season


def solved(builder: PlanBuilder) -> Season:
    network, flow, harvest = over_the_season(compile_network(builder.build()))
    return solve_season(network, flow, harvest)


def test_the_harvest_says_how_much() -> None:
    """7 weeks of 14 t are 98 t; at 1.4 kg a litre 70,000 L. Four vats are enough: 22.2 loads of them, 14 needed."""
    found = solved(cellar(vats=4))
    assert found.potential == pytest.approx(70_000, rel=1e-9)
    assert found.limits_item == "fruit"
    assert found.most[0] == pytest.approx(70_000, rel=1e-9)
    assert found.fits


def test_starting_scraps_in_the_shifts_that_the_harvest_fills() -> None:
    """70,000 L at 1,000 L/h fill 8.75 of the season's shifts of 8 h, and 100 L are lost at the start of each."""
    builder = cellar(vats=4)
    builder.document["routes"]["must"]["operations"][0]["start"] = {"time": "5 min", "scrap": "100 L", "after": "shift"}
    assert solved(builder).potential == pytest.approx(70_000 - 8.75 * 100, rel=1e-6)


def test_starting_at_the_greatest_is_once_a_shift() -> None:
    """1,200 t in 79 working days are more than the press does: 857,143 L less the 100 L of every morning."""
    builder = cellar(vats=4, weekly="171.4285714285714 t")
    builder.document["routes"]["must"]["operations"][0]["start"] = {"time": "5 min", "scrap": "100 L", "after": "shift"}
    assert solved(builder).potential == pytest.approx(1_200_000 / 1.4 - 79 * 100, rel=1e-6)


def test_two_vats_hold_ten_loads() -> None:
    """A load holds a vat for 20 midnights. Of 109 days those may be entered on the first 89: five times both vats."""
    found = solved(cellar(vats=2))
    assert found.most[0] == pytest.approx(50_000, rel=1e-9)
    assert not found.fits
    assert found.share == pytest.approx(5 / 7, rel=1e-9)
    assert found.tightest == "vat"
    assert "all room in vat is taken" in found.why
    assert found.left[0] <= 28_000 * (1 + 1e-6)  # 98 t less 50,000 L x 1.4 kg, but for what is pressed and unfinished


def test_a_stand_longer_than_the_horizon_finishes_nothing() -> None:
    found = solved(cellar(stand="120 days"))
    assert found.most[0] == pytest.approx(0, abs=1e-6)
    assert not found.fits


def test_a_press_that_is_too_slow_limits_by_its_hours() -> None:
    """One hand for 8 h a day: 1,000 L/h and two hours for each 5,000 L, so 8 h / (1/1000 + 2/5000) = 5,714 L a day."""
    found = solved(cellar(weekly="400 t", until="2026-09-20", vats=400, to="2026-10-25", stand="1 day", closed=[]))
    days = 30  # working days from 14 September to 23 October, the last of them for drawing off alone
    by_hand = 8 / (1 / 1000 + 2 / 5000) * days
    assert found.most[0] == pytest.approx(by_hand, rel=1e-6)
    assert found.tightest == "hand"


def test_weeks_add_up() -> None:
    """What came = what is on hand + what spoiled + 1.4 kg for every litre pressed."""
    found = solved(cellar(vats=3))
    weeks = found.balance
    assert weeks.came.sum() == pytest.approx(98_000)
    assert weeks.finished.sum() == pytest.approx(found.most[0], rel=1e-6)
    assert weeks.mondays[0] == "2026-09-14"
    assert len(weeks.mondays) == 16
    assert weeks.most_in_use.max() <= 3 + 1e-6


def test_a_list_says_each_week() -> None:
    found = solved(cellar(weekly=["5 t", "20 t", "30 t", "20 t", "10 t", "5 t", "0 t"], vats=9))
    assert found.balance.came[:7, 0].tolist() == pytest.approx([5e3, 20e3, 30e3, 20e3, 10e3, 5e3, 0])


def test_closed_days_bring_nothing_and_nobody() -> None:
    network = compile_network(cellar(closed="2026-09-14..2026-09-18").build())
    assert network.season is not None
    assert network.season.harvest(3)[0] == pytest.approx(98_000 - 14_000)
    assert network.season.working_days == 79 - 5


def test_a_demand_over_the_horizon() -> None:
    """100 L a working day, 79 of them: 7,900 L are wanted, and that is all that is made."""
    builder = cellar(vats=1)
    builder.document["plan"]["demand"] = "100 L/day"
    found = solved(builder)
    assert found.wanted == pytest.approx((7_900,))
    assert found.most[0] == pytest.approx(7_900, rel=1e-6)
    assert found.fits


def test_the_answer_is_no_and_names_the_vat() -> None:
    found = answer(cellar(vats=2).build())
    assert found.makes is False
    assert found.bottleneck == "vat"
    assert "all of the harvest, 70,000 L of cider by 2026-12-31: no, at most 71 % of it" in found.headline


def test_nothing_of_the_harvest_goes_into_it() -> None:
    builder = cellar()
    builder.item("apple", unit="kg", buy="1 EUR")
    builder.document["intake"][0]["item"] = "apple"
    with pytest.raises(ProblemsError, match="nothing that comes in season goes into cider"):
        answer(builder.build())


@settings(max_examples=15, deadline=None)
@given(
    weekly=st.lists(st.integers(0, 40), min_size=7, max_size=7).filter(any),
    vats=st.integers(1, 5),
    stand=st.integers(1, 40),
)
def test_more_vats_never_finish_less(weekly: list[int], vats: int, stand: int) -> None:
    amounts: Any = [f"{w} t" for w in weekly]
    few = solved(cellar(weekly=amounts, vats=vats, stand=f"{stand} days"))
    more = solved(cellar(weekly=amounts, vats=vats + 1, stand=f"{stand} days"))
    assert more.most[0] >= few.most[0] * (1 - 1e-7) - 1e-6
    assert few.most[0] <= 1000 * sum(weekly) / 1.4 * (1 + 1e-9)
    assert np.all(few.balance.most_in_use <= vats + 1e-6)


def test_dates_of_the_weeks() -> None:
    network = compile_network(cellar().build())
    season = network.season
    assert season is not None
    assert season.begins == date(2026, 9, 14)
    assert season.weekday == 0
    assert season.days == 109


def perishable(keeps: str, **asked: Any) -> PlanBuilder:
    builder = cellar(**asked)
    builder.document["items"]["fruit"]["keeps"] = keeps
    return builder


def test_what_does_not_keep_is_lost_by_hand() -> None:
    """14 t come in one week (10,000 L), one vat of 5,000 L takes 20 days: of the rest 20,000 L more wait as must.

    28 t come in two days, 20,000 L; the tank holds 5,000 L, the vat 5,000 L, and nothing stands in a press that flows:
    the rest spoils.
    """
    builder = perishable("3 days", vats=1, until="2026-09-15", weekly="70 t")
    builder.document["stores"]["tank"]["room"] = "5000 L"
    found = solved(builder)
    assert found.spoiled[0] == pytest.approx(14_000, rel=1e-6)
    assert found.most[0] == pytest.approx(10_000, rel=1e-6)


def test_fruit_that_keeps_long_enough_is_not_lost() -> None:
    assert solved(perishable("200 days", vats=3)).spoiled[0] == pytest.approx(0, abs=1e-6)


def test_steps_on_different_days_wait_for_each_other() -> None:
    """Washed on weekdays by one crew, pressed on Saturdays by another: the bound does not ask for both on one day."""
    builder = cellar(vats=9)
    builder.shift("saturday", hours="06:00-22:00", days="Sat").crew("presser", people=1, shift="saturday")
    press = builder.document["routes"]["must"]["operations"][0]
    press["crew"] = "presser"
    wash = {"id": "wash", "crew": "hand", "time": {"rate": "2000 L/h"}, "takes": press.pop("takes")}
    builder.document["routes"]["must"]["operations"].insert(0, wash)
    assert solved(builder).most[0] == pytest.approx(70_000, rel=1e-6)


def test_not_all_of_the_harvest_where_much_of_one_fruit_is_over() -> None:
    """A litre takes 1 kg of fruit and 0.4 kg of quince: 98 t and 70 t come, so 98,000 L and 30.8 t of quince over."""
    builder = cellar(vats=99)
    builder.item("quince", unit="kg", buy="0.3 EUR").intake(
        "quince", from_="2026-09-14", to="2026-10-31", weekly="10 t"
    )
    builder.document["routes"]["must"]["operations"][0]["takes"] = {"fruit": "1 kg", "quince": "0.4 kg"}
    found = answer(builder.build())
    season = found.season
    assert season is not None
    assert season.limits_item == "fruit"
    assert season.to_dict()["over"] == pytest.approx([0, 70_000 - 0.4 * 98_000])
    asked = "as much as fruit allows, 98,000 L of cider by 2026-12-31, with 30,800 kg of quince left over"
    assert asked in found.headline
    assert "30,800 kg of quince are left over" in season.why
    assert "all of the harvest" not in found.headline
