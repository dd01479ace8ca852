"""The end of a season: what waits for more than can ever come goes as it is, by hand and against the balance."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from season_cases import cellar, in_sizes
from test_season_played import played

from linewright.base.problems import ProblemsError
from linewright.plan import PlanBuilder

PRESS = 1000 / 6
"""Litres in the press: ten minutes' work, where the tank behind it is full."""


def short(builder: PlanBuilder, room: str = "5000 L") -> PlanBuilder:
    """28 t of two days, 20,000 L by the average balance; what finds no room in two days more is gone.

    Pressing with a shared shovel is played in lots of ten minutes, so that there is an odd amount at the end.
    """
    builder.tool("shovel", count=1)
    builder.document["routes"]["must"]["operations"][0]["uses"] = {"shovel": 1}
    builder.document["items"]["fruit"]["keeps"] = "3 days"
    builder.document["stores"]["tank"]["room"] = room
    return builder


def test_a_load_that_waits_for_spoiled_fruit_goes_with_what_there_is() -> None:
    """A vat of 5,000 L, 5,000 L in the tank, 1,000/6 L in the press; the third filling is of 5,000 L, and goes with
    1,000/6 L, for no more fruit comes."""
    bound, run = played(short(cellar(vats=1, until="2026-09-15", weekly="70 t")))
    assert run.total.mean == pytest.approx(10_000 + PRESS, rel=1e-9)
    assert bound.most[0] == pytest.approx(10_000 + PRESS, rel=1e-7)


def test_a_vat_filled_little_by_little_is_begun_below_its_least() -> None:
    """Filled by 1,000 L; the second filling of the vat is of 3,000 + 1,000/6 L, its least is 4,000 L."""
    load = {"least": "4000 L", "most": "5000 L", "waits": "5 days"}
    builder = in_sizes({"50 hL": 1}, fill="1000 L", load=load, until="2026-09-15", weekly="70 t")
    _, run = played(short(builder, "3000 L"))
    assert run.total.mean == pytest.approx(8000 + PRESS, rel=1e-9)


def in_two(least: str = "5000 L") -> PlanBuilder:
    """The cellar, and after it 60 days in vats of 5,000 L of a second kind."""
    builder = cellar(vats=2, until="2026-09-25", weekly=["7 t", "3500 kg"], to="2026-12-31")
    builder.station("cask", places=2)
    load: dict[str, Any] = {"station": "cask", "load": {"least": least, "most": "5000 L"}}
    builder.item("old", unit="L", mass="1 kg").document["plan"]["makes"] = "old"
    builder.route("old", gives="old").operation(
        "cask", crew="hand", takes={"cider": "1 L"}, time="1 h", **load
    ).operation("keep", stand="60 days", **load)
    return builder


def test_a_load_does_not_wait_for_those_that_stand_further_on() -> None:
    """7,500 L: a cask of 5,000 L, and one of 2,500 L that does not wait until the first is empty (60 days)."""
    bound, run = played(in_two())
    assert run.total.mean == pytest.approx(7500, rel=1e-9)
    assert bound.most[0] == pytest.approx(7500, rel=1e-7)


def blended(weekly: dict[str, str], takes: dict[str, Any]) -> PlanBuilder:
    """Wines that come ready, mixed 2,000 L at a time, at least 100 L."""
    builder = PlanBuilder("Mix", money="EUR", makes="cuvee", from_="2026-09-07", to="2026-10-04")
    builder.item("cuvee", unit="L", mass="1 kg").station("vat")
    builder.shift("day", hours="06:00-14:00", days="Mon-Fri").crew("hand", people=1, shift="day")
    for name, amount in weekly.items():
        builder.item(name, unit="L", mass="1 kg", buy="1 EUR")
        builder.intake(name, from_="2026-09-07", to="2026-09-13", weekly=amount, days="Mon")
    builder.route("c", gives="cuvee").operation(
        "mix", station="vat", crew="hand", time="1 h", takes=takes,
        load={"least": "100 L", "most": "2000 L", "waits": "1 day"},
    )  # fmt: skip
    return builder


def test_the_rest_of_a_blend_is_taken() -> None:
    """30 to 70 of 900 and 2,100 L: 2,000 L and then 1,000 L."""
    base = {"any_of": ["a", "b"], "shares": {"a": "30 %", "b": "70 %"}, "amount": "1 L"}
    _, run = played(blended({"a": "900 L", "b": "2100 L"}, {"base": base}))
    assert run.total.mean == pytest.approx(3000, rel=1e-9)


def test_rests_that_no_lot_can_have_to_itself_are_used_one_after_the_other() -> None:
    """Either wine: 755 and 238 L are lots of their own at the end, each smaller than a load."""
    base = {"any_of": ["a", "b"], "amount": "1 L"}
    _, run = played(blended({"a": "755 L", "b": "238 L"}, {"base": base}))
    assert run.total.mean == pytest.approx(993, rel=1e-9)


def test_whole_pieces_only() -> None:
    """Six bottles a carton: of 1,003 bottles 167 cartons, and one bottle is left; of 1,002 breakages take two more."""
    builder = PlanBuilder("Pack", money="EUR", makes="carton", from_="2026-09-07", to="2026-10-04")
    builder.item("carton", unit="carton").item("bottle", unit="each", buy="1 EUR")
    builder.shift("day", hours="06:00-14:00", days="Mon-Fri").crew("hand", people=1, shift="day")
    builder.intake("bottle", from_="2026-09-07", to="2026-09-13", weekly="1003 each", days="Mon")
    builder.route("c", gives="carton").operation("pack", crew="hand", time="30 s", takes={"bottle": 6})
    _, run = played(builder)
    assert run.total.mean == 167
    assert run.left.mean[0] == 1


def test_a_campaign_that_can_begin_no_more_is_not_waited_for() -> None:
    """12,000 L in lots of 5,000 L to a campaign: two of them are bottled, 2,000 L stay, as the plan says."""
    builder = cellar(vats=3, until="2026-09-25", weekly=["14 t", "2800 kg"])
    builder.item("bottle", unit="L", mass="1 kg").document["plan"]["makes"] = "bottle"
    builder.station("filler").route("b", gives="bottle", campaign={"starts": "5000 L"}).operation(
        "fill_bottle", station="filler", crew="hand", time={"rate": "2000 L/h"}, takes={"cider": "1 L"}
    )
    _, run = played(builder)
    assert 10_000 * (1 - 1e-9) <= run.total.mean <= 12_000 * (1 + 1e-9)


def test_what_is_less_than_a_lot_of_a_campaign_is_bottled_too() -> None:
    """12,000 L at 1,300 L/h, ten minutes' work at a time: the last lot is of 83 L, and begins when it has waited."""
    builder = cellar(vats=3, until="2026-09-25", weekly=["14 t", "2800 kg"])
    builder.item("bottle", unit="L", mass="1 kg").document["plan"]["makes"] = "bottle"
    builder.station("filler").route("b", gives="bottle", campaign={"starts": "5000 L", "waits": "1 week"}).operation(
        "fill_bottle", station="filler", crew="hand", time={"rate": "1300 L/h"}, takes={"cider": "1 L"}
    )
    _, run = played(builder)
    assert run.total.mean == pytest.approx(12_000, rel=1e-9)


def test_a_first_load_that_has_waited_begins_with_what_there_is() -> None:
    """Pressed 800 L at a time, of 1,120 kg; 420 kg come a day and keep for two days: 300 L a day, after an hour."""
    builder = cellar(vats=3, until="2026-09-25", weekly="2100 kg")
    builder.document["items"]["fruit"]["keeps"] = "2 days"
    press = builder.document["routes"]["must"]["operations"][0]
    press |= {"load": {"least": "100 L", "most": "800 L", "waits": "1 h"}, "time": "50 min"}
    builder.document["intake"][0]["days"] = "Mon-Fri"
    bound, run = played(builder)
    assert run.spoiled.mean[0] == pytest.approx(0, abs=1e-6)
    assert run.total.mean == pytest.approx(3000, rel=1e-9)
    assert bound.most[0] == pytest.approx(3000, rel=1e-7)


def test_less_than_the_least_is_not_pressed() -> None:
    """140 kg a day are 100 L, and keep for a day: a press that needs 150 L gets none, one that needs 100 L gets all."""
    for least, made in (("150 L", 0), ("100 L", 500)):
        builder = cellar(vats=3, until="2026-09-18", weekly="700 kg")
        builder.document["items"]["fruit"]["keeps"] = "1 day"
        press = builder.document["routes"]["must"]["operations"][0]
        press |= {"load": {"least": least, "most": "800 L", "waits": "1 h"}, "time": "50 min"}
        builder.document["intake"][0]["days"] = "Mon-Fri"
        _, run = played(builder)
        assert run.total.mean == pytest.approx(made, abs=1e-6)


def test_as_much_of_a_lot_goes_into_a_store_as_there_is_room_for() -> None:
    """Vats of 4,500 L of a tank of 5,000 L, pressed 800 L at a time: of the lot at 4,800 L there is room for 200, and
    for the rest of it when a vat has taken its 4,500 L."""
    builder = cellar(vats=2, until="2026-09-25", to="2027-03-31", weekly="14 t")
    builder.document["stores"]["tank"]["room"] = "5000 L"
    builder.document["routes"]["must"]["operations"][0] |= {"load": "800 L", "time": "40 min"}
    for operation in builder.document["routes"]["cider"]["operations"]:
        operation["load"] = "4500 L"
    bound, run = played(builder)
    assert run.total.mean == pytest.approx(20_000, rel=1e-9)
    assert bound.most[0] == pytest.approx(20_000, rel=1e-7)


def test_a_store_too_small_for_a_load_is_refused_by_name() -> None:
    """A vat takes 5,000 L at once, of a tank of 2,000 L: it would wait for ever."""
    with pytest.raises(ProblemsError) as wrong:
        played(short(cellar(vats=1), "2000 L"))
    (problem,) = wrong.value.problems
    assert problem.path == "routes.cider.operations[0]"
    assert "tank has not room for what is taken from it at once" in problem.what


@settings(max_examples=15, deadline=None)
@given(
    room=st.integers(1, 4),
    vats=st.integers(1, 3),
    load=st.sampled_from(["2500 L", "5000 L"]),
    keeps=st.integers(2, 9),
    weekly=st.lists(st.integers(1, 60), min_size=3, max_size=3),
)
def test_nothing_made_is_left_and_the_balance_is_a_bound(
    room: int, vats: int, load: str, keeps: int, weekly: list[int]
) -> None:
    """All must that was pressed is cider in the end: there are 70 days more than the vats need for it."""
    builder = cellar(vats=vats, until="2026-10-04", weekly=[f"{w} t" for w in weekly], to="2027-06-30")
    short(builder, f"{5000 * room} L").document["items"]["fruit"]["keeps"] = f"{keeps} days"
    for operation in builder.document["routes"]["cider"]["operations"]:
        operation["load"] = load
    bound, run = played(builder)
    assert run.total.mean <= bound.most[0] * (1 + 1e-7) + 1e-6
    must = (float(run.came[0]) - float(run.spoiled.mean[0]) - float(run.left.mean[0])) / 1.4
    assert run.total.mean == pytest.approx(must, rel=1e-6, abs=0.01)


def test_the_same_bits_without_the_compiler(monkeypatch: pytest.MonkeyPatch) -> None:
    builder = short(in_sizes({"50 hL": 1, "25 hL": 1}, fill="1000 L", until="2026-09-15", weekly="70 t"))
    monkeypatch.delenv("LINEWRIGHT_NO_JIT", raising=False)
    _, one = played(builder)
    monkeypatch.setenv("LINEWRIGHT_NO_JIT", "1")
    _, other = played(builder)
    assert one.total.mean == other.total.mean
    assert np.array_equal(one.week_finished.mean, other.week_finished.mean)
