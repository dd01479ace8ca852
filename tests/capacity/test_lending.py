"""Crews that stand in for each other: small cases by hand, a linear program against a maximum flow, and monotony."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.capacity import Capacity, measure_capacity
from linewright.flow import solve_flow
from linewright.network import compile_network
from linewright.plan import PlanBuilder


def shop(crews: dict[str, dict[str, Any]], hours: dict[str, float], **more: Any) -> Capacity:
    """A shop of eight hours a day in which each crew has so many hours of work a day at the demand of 10 a day."""
    plan = PlanBuilder("Harrow Fen Works, a shop", money="EUR", makes="thing", demand="10 each/day")
    plan.item("thing", unit="each").shift("day", hours="08:00-16:00")
    for name, fields in crews.items():
        plan.crew(name, **{"people": 1, "shift": "day", **fields})
    route = plan.route("r", gives="thing")
    for name, h in hours.items():
        route.operation(f"do_{name}", crew=more.get(name, name), time=f"{h * 6} min")
    network = compile_network(plan.build())
    return measure_capacity(network, solve_flow(network))


def test_two_crews_by_hand() -> None:
    """8 h each. The wirer has 10 h of work, the fitter 4: together 14 of 16 h, so 8/7 of the demand."""
    alone = shop({"fitter": {}, "wirer": {}}, {"fitter": 4, "wirer": 10})
    assert alone.multiple == pytest.approx(0.8)
    helped = shop({"fitter": {"can": {"wirer": 1}}, "wirer": {}}, {"fitter": 4, "wirer": 10})
    assert helped.multiple == pytest.approx(16 / 14)
    assert helped.binds is not None
    assert (helped.binds.kind, helped.binds.where) == ("shared people", "fitter, wirer")
    assert helped.lent.tolist() == pytest.approx([0.2]), "2 of the 10 hours, what the wirer has no time for"
    use = {r.id: r.use for r in helped.resources if r.kind == "crew"}
    assert use == {"fitter": pytest.approx(6 / 8), "wirer": pytest.approx(1)}


def test_a_slower_pace_takes_more_hours() -> None:
    """m 10 = 8 + 0.5 y and m 4 + y = 8, so 12 m = 12 with all hours used: exactly the demand."""
    helped = shop(
        {"fitter": {"can": {"wirer": {"people": 1, "pace": "50 %"}}}, "wirer": {}}, {"fitter": 4, "wirer": 10}
    )
    assert helped.multiple == pytest.approx(1)
    assert helped.lent.tolist() == pytest.approx([0.2])
    hours = {r.id: r.hours.total for r in helped.resources if r.kind == "crew"}
    assert hours == {"fitter": pytest.approx(8), "wirer": pytest.approx(8)}, "2 h of wiring take the fitter 4 h"


def test_only_as_many_as_can() -> None:
    """Three fitters, one of them can wire: 8 h of help at most, though 20 are free."""
    helped = shop({"fitter": {"people": 3, "can": {"wirer": 1}}, "wirer": {}}, {"fitter": 4, "wirer": 20})
    assert helped.multiple == pytest.approx(0.8)
    assert helped.binds is not None
    assert helped.binds.where == "wirer"


def test_a_team_of_two_where_there_is_one_wirer() -> None:
    """Two at once: the fitter makes the second, and both have no time for anything else."""
    team = {"wirer": {"wirer": 2}}
    helped = shop({"fitter": {"can": {"wirer": 1}}, "wirer": {}}, {"fitter": 0.001, "wirer": 10}, **team)
    assert helped.multiple == pytest.approx(0.8, rel=1e-3)


def test_people_needed_with_those_who_stand_in() -> None:
    """28 h of wiring are four wirers alone; a fitter with 4 h to spare leaves 24, which are three. Of 30, 26: four."""
    for hours, alone, helped in ((30, 4, 4), (28, 4, 3)):
        for can, needed in (({}, alone), ({"can": {"wirer": 1}}, helped)):
            found = shop({"fitter": can, "wirer": {"people": 2}}, {"fitter": 4, "wirer": hours})
            assert next(r.needed for r in found.resources if r.id == "wirer") == needed


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6))
def test_as_a_maximum_flow_says(seed: int) -> None:
    """At full pace it is a transportation problem: the demand can be made where the maximum flow brings all hours."""
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import maximum_flow

    luck = random.Random(seed)
    names = ["a", "b", "c", "d", "e"][: luck.randint(2, 5)]
    n = len(names)
    can = {x: luck.sample([y for y in names if y != x], luck.randint(0, n - 1)) for x in names}
    hours = {x: luck.randint(1, 12) for x in names}
    people = {x: luck.randint(1, 2) for x in names}
    crews = {x: {"people": people[x], "can": dict.fromkeys(can[x], 1)} for x in names}
    multiple = shop(crews, {x: float(h) for x, h in hours.items()}).multiple
    arcs = np.zeros((2 * n + 2, 2 * n + 2), dtype=np.int32)
    for k, x in enumerate(names):  # hours in hundredths, scaled to just below and just above what was found
        arcs[0, 1 + k] = 800 * people[x]
        arcs[1 + k, 1 + n + k] = 100_000
        for y in can[x]:
            arcs[1 + k, 1 + n + names.index(y)] = 800
    for factor, fits in ((0.98, True), (1.02, False)):
        for k, x in enumerate(names):
            arcs[1 + n + k, 2 * n + 1] = int(100 * hours[x] * multiple * factor) + (not fits)
        wanted = int(arcs[1 + n : 1 + 2 * n, 2 * n + 1].sum())
        assert (maximum_flow(csr_array(arcs), 0, 2 * n + 1).flow_value == wanted) == fits


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6))
def test_more_skills_never_lower_the_bound(seed: int) -> None:
    luck = random.Random(seed)
    names = ["a", "b", "c", "d"]
    crews: dict[str, dict[str, Any]] = {x: {"people": luck.randint(1, 3), "can": {}} for x in names}
    hours = {x: float(luck.randint(1, 20)) for x in names}
    before = shop(crews, hours).multiple
    for _ in range(4):
        who, whose = luck.sample(names, 2)
        crews[who]["can"][whose] = {"people": 1, "pace": max(luck.choice([0.3, 0.7, 1.0]), _pace(crews, who, whose))}
        after = shop(crews, hours).multiple
        assert after >= before * (1 - 1e-9)
        before = after


def _pace(crews: dict[str, dict[str, Any]], who: str, whose: str) -> float:
    found = crews[who]["can"].get(whose)
    return float(found["pace"]) if found else 0.0
