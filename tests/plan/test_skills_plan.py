"""What crews can do besides: how it is written, and what is refused by name."""

from __future__ import annotations

from typing import Any

import pytest

from linewright.base.problems import ProblemsError
from linewright.network import compile_network
from linewright.plan import Plan, PlanBuilder
from linewright.plan.model import Skill


def shop(can: Any, crew: Any = "wirer", wirer: str = "day") -> Plan:
    plan = PlanBuilder("Harrow Fen Works, a shop", money="EUR", makes="thing", demand="10 each/day")
    plan.item("thing", unit="each").shift("day", hours="08:00-16:00").shift("night", hours="22:00-06:00")
    plan.crew("fitter", people=2, shift="day", can=can).crew("wirer", people=1, shift=wirer)
    plan.route("r", gives="thing").operation("wire", crew=crew, time="5 min")
    return plan.build()


def test_a_number_or_a_number_and_a_pace() -> None:
    assert shop({"wirer": 1}).crews["fitter"].can == {"wirer": Skill(1, 1.0)}
    assert shop({"wirer": {"people": 2, "pace": "90 %"}}).crews["fitter"].can == {"wirer": Skill(2, 0.9)}


def test_the_network_has_them_as_links() -> None:
    lends = compile_network(shop({"wirer": {"people": 2, "pace": "90 %"}})).crews.lends
    found = (lends.lender.tolist(), lends.to.tolist(), lends.people.tolist(), lends.pace.tolist())
    assert found == ([0], [1], [2], [0.9])


@pytest.mark.parametrize(
    ("can", "path", "what"),
    [
        ({"fitter": 1}, "crews.fitter.can.fitter", "a crew does its own work anyway"),
        ({"wirer": 3}, "crews.fitter.can.wirer", 'never more than 2 of crew "fitter" are there'),
        ({"wirer": 0}, "crews.fitter.can.wirer.people", "0 is too small"),
        ({"wierer": 1}, "crews.fitter.can.wierer", "wierer"),
        ({"wirer": {"people": 1, "pace": 0}}, "crews.fitter.can.wirer.pace", "a share of nothing"),
        ({"wirer": {"people": 1, "pace": "120 %"}}, "crews.fitter.can.wirer.pace", "over 100 %"),
        ({"wirer": {"pace": "90 %"}}, "crews.fitter.can.wirer", "needs `people`"),
        ([1], "crews.fitter.can", "this is"),
        ({"wirer": "two"}, "crews.fitter.can.wirer.people", "this is"),
    ],
)
def test_what_is_refused(can: Any, path: str, what: str) -> None:
    with pytest.raises(ProblemsError) as raised:
        shop(can)
    found = {p.path: p.what for p in raised.value.problems}
    assert any(path in p and what in f"{w} {p}" for p, w in found.items()), found


def test_who_stands_in_counts_when_people_are_to_be_there() -> None:
    """Three wirers at once: the wirer and two fitters; with one fitter who can, never."""
    assert shop({"wirer": 2}, {"wirer": 3})
    with pytest.raises(ProblemsError, match="never more than 2"):
        shop({"wirer": 1}, {"wirer": 3})


def test_nobody_is_counted_twice() -> None:
    """The wirer is there at night only; by day there are two fitters, one of whom may be the wirer, and no third."""
    assert shop({"wirer": 1}, {"fitter": 1, "wirer": 1}, wirer="night")
    with pytest.raises(ProblemsError, match="no common hours"):
        shop({"wirer": 1}, {"fitter": 2, "wirer": 1}, wirer="night")
