"""A feed that several items can fill, each of which comes in other weeks: filled with what is on hand that day."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from season_cases import cellar
from test_season_played import played

from linewright.plan import PlanBuilder

PICKINGS = (("2026-09-14", "2026-09-20"), ("2026-09-28", "2026-10-04"), ("2026-10-12", "2026-10-18"))
"""Three weeks, a week without any fruit after each."""


def in_pickings(tonnes: list[int], keeps: list[int], feed: dict[str, Any] | None = None, **asked: Any) -> PlanBuilder:
    """The cellar whose press takes any of three pickings; each comes in a week of its own, and keeps for some days."""
    builder = cellar(until="2026-10-18", **asked)
    builder.document["intake"], names = [], ["early", "middle", "late"]
    for name, (first, last), come, days in zip(names, PICKINGS, tonnes, keeps, strict=True):
        builder.item(name, unit="kg", buy="0.2 EUR", keeps=f"{days} days")
        builder.intake(name, from_=first, to=last, weekly=f"{come} t", days="Mon-Fri")
    press = builder.document["routes"]["must"]["operations"][0]
    press["takes"] = {"fruit": {"any_of": names, "amount": "1.4 kg", **(feed or {})}}
    del builder.document["items"]["fruit"]
    return builder


def test_pickings_that_are_never_on_hand_together() -> None:
    """14, 7 and 7 t, each pressed on the day on which it comes: 28 t are 20,000 L, of a mix that was never there."""
    bound, run = played(in_pickings([14, 7, 7], [1, 1, 1], vats=9))
    assert bound.most[0] == pytest.approx(20_000, rel=1e-9)
    assert bound.fits
    assert run.total.mean == pytest.approx(20_000, rel=1e-9)
    assert bound.spoiled == pytest.approx((0, 0, 0), abs=1e-5)
    assert any("any that are on hand on the day: press" in note for note in bound.honesty.notes)


def test_what_one_picking_spoils_no_other_makes_good() -> None:
    """The hand presses 1,000 L/h for 8 h a day: of 70 t in the first week, 50,000 L, at most 40,000 L are pressed.

    The room for the other pickings is there, but of them no more than 7 t each come: 40,000 + 10,000 L.
    """
    bound, run = played(in_pickings([70, 7, 7], [1, 1, 1], vats=20, stand="10 days", to="2026-12-31"))
    assert bound.most[0] <= 50_000 * (1 + 1e-9)
    assert run.total.mean <= bound.most[0] * (1 + 1e-9)
    assert bound.spoiled[0] >= 14_000 * (1 - 1e-6)
    assert not bound.fits


def in_crates(crates: list[int], shares: dict[str, Any]) -> PlanBuilder:
    """Boxes counted one by one, packed of crates that come in two weeks; half of each is wanted in the mean."""
    builder = PlanBuilder("Crates", money="EUR", makes="box", from_="2026-09-14", to="2026-10-18")
    builder.item("box", unit="box").shift("day", hours="06:00-14:00", days="Mon-Fri").crew(
        "hand", people=1, shift="day"
    )
    for name, (first, last), come in zip(("early", "late"), PICKINGS, crates, strict=False):
        builder.item(name, unit="each", buy="2 EUR", keeps="1 day")
        builder.intake(name, from_=first, to=last, weekly=f"{come} each", days="Mon-Fri")
    takes = {"crate": {"any_of": ["early", "late"], "amount": 1, **shares}}
    builder.route("b", gives="box").operation("pack", crew="hand", time="1 min", takes=takes)
    return builder


def test_shares_of_counted_items_are_kept_in_the_mean_alone() -> None:
    """No box waits for the crate whose turn it would be, so 100 and 40 crates are more than twice 40 boxes."""
    bound, run = played(in_crates([100, 40], {"shares": {"early": "50 %", "late": "50 %"}}))
    assert bound.most[0] == pytest.approx(140, rel=1e-9)
    assert 0 < run.total.mean <= 140
    assert bound.potential == pytest.approx(80, rel=1e-9)


def test_a_demand_that_one_picking_could_fill_is_not_of_that_picking_alone() -> None:
    """300 L a working day are 23,700 L, 33,180 kg; a day's pressing is 2,400 L at most, so it takes all three weeks."""
    builder = in_pickings([20, 20, 20], [1, 1, 1], vats=9)
    builder.document["plan"]["demand"] = "300 L/day"
    builder.document["routes"]["must"]["operations"][0]["time"] = {"rate": "300 L/h"}
    bound, run = played(builder)
    assert run.total.mean <= bound.most[0] * (1 + 1e-9)
    assert bound.most[0] == pytest.approx(300 * 79, rel=1e-7)


def test_too_little_comes_for_the_demand() -> None:
    """28 t are 20,000 L of 79,000 L wanted: no more comes, and that is what is said."""
    builder = in_pickings([14, 7, 7], [1, 1, 1], vats=9)
    builder.document["plan"]["demand"] = "1000 L/day"
    bound, _ = played(builder)
    assert bound.why == "At most 25.3 % of it can be finished: no more comes of early and middle and late."


def in_presses(tonnes: list[int], keeps: list[int], *, apart: bool) -> PlanBuilder:
    """A route for each picking, 300 L/h, the early fruit the cheaper; ``apart``: each gives a must of its own."""
    builder = in_pickings(tonnes, keeps, vats=9)
    document = builder.document
    press = document["routes"].pop("must")["operations"][0]
    document["items"]["early"]["buy"] = "0.1 EUR"
    names = ["early", "middle", "late"]
    for name in names:
        must = f"must_{name}" if apart else "must"
        step = {**press, "id": f"press_{name}", "takes": {name: "1.4 kg"}, "time": {"rate": "300 L/h"}}
        document["routes"][f"from_{name}"] = {"gives": must, "operations": [step]}
        if apart:
            builder.item(must, unit="L", mass="1 kg")
    if apart:
        del document["items"]["must"], document["stores"]
        takes = {"must": {"any_of": [f"must_{name}" for name in names], "amount": "1 L"}}
        document["routes"]["cider"]["operations"][0]["takes"] = takes
    return builder


@pytest.mark.parametrize("apart", [False, True])
def test_makers_that_the_mean_leaves_idle_are_in_the_bound(apart: bool) -> None:
    """15,800 L are wanted, and the cheap 60 t would do; but in their week no more than 5 x 8 h x 300 L are pressed."""
    builder = in_presses([60, 60, 60], [1, 1, 1], apart=apart)
    builder.document["plan"]["demand"] = "200 L/day"
    bound, run = played(builder)
    assert bound.most[0] == pytest.approx(15_800, rel=1e-7)
    assert run.total.mean <= bound.most[0] * (1 + 1e-9)
    builder.document["routes"] = {k: r for k, r in builder.document["routes"].items() if k in ("cider", "from_early")}
    if apart:
        builder.document["routes"]["cider"]["operations"][0]["takes"] = {"must_early": "1 L"}
    alone, _ = played(builder)
    assert alone.most[0] <= 12_000 * (1 + 1e-9)


@settings(max_examples=25, deadline=None)
@given(
    tonnes=st.lists(st.integers(1, 60), min_size=3, max_size=3),
    keeps=st.lists(st.integers(1, 20), min_size=3, max_size=3),
    vats=st.integers(1, 6),
    stand=st.integers(5, 30),
    demand=st.sampled_from([0, 0, 50, 200, 600]),
)
def test_the_play_never_makes_more(tonnes: list[int], keeps: list[int], vats: int, stand: int, demand: int) -> None:
    builder = in_pickings(tonnes, keeps, vats=vats, stand=f"{stand} days")
    if demand:
        builder.document["plan"]["demand"] = f"{demand} L/day"
    bound, run = played(builder)
    assert run.total.mean <= bound.most[0] * (1 + 1e-7) + 1e-6
    assert bound.most[0] <= 1000 * sum(tonnes) / 1.4 * (1 + 1e-7)
