"""Many candidates of a plan with variants: only what differs is found anew, and only what is shown is worked out."""

from __future__ import annotations

from importlib import import_module
from typing import Any

import numpy as np
import pytest
from improve_cases import ask, serial, unreliable, works

from linewright.flow import solve_flow
from linewright.improve import screen
from linewright.network import compile_network
from linewright.network.journeys import journeys, share_journeys
from linewright.plan import PlanBuilder
from linewright.simulate.compare import NOT_BEGUN, compare


def checked() -> PlanBuilder:
    """A step that makes faults and a check that sends back half of those it finds."""
    builder = works().crew("hand", people=2, shift="always").station("bench").station("desk")
    route = builder.route("r", gives="p")
    route.operation("glue", station="bench", crew="hand", time="2 min", takes={"raw": 1}, faults={"gap": "4 %"})
    route.operation("look", station="desk", time="1 min", check={"finds": {"gap": "90 %"}})
    return builder


@pytest.mark.parametrize(
    ("path", "after", "shares"),
    [
        ("stations.bench.places", 3, True),
        ("crews.hand.people", 5, True),
        ("routes.r.operations[glue].time", "90 s", True),
        ("routes.r.operations[glue].faults.gap", "2 %", False),
        ("routes.r.operations[glue].yield", "97 %", False),
        ("routes.r.operations[look].check.finds.gap", "50 %", False),
        ("routes.r.operations[glue].takes.raw", 2, False),
    ],
)
def test_journeys_are_shared_only_where_nothing_they_depend_on_differs(path: str, after: object, shares: bool) -> None:
    base = compile_network(checked().build())
    known = journeys(base)
    changed, alone = base.change(path, after), base.change(path, after)
    share_journeys(changed, base)
    assert ("journeys" in changed.notes) is shares
    assert (journeys(changed) is known) is shares
    np.testing.assert_array_equal(solve_flow(changed).runs, solve_flow(alone).runs)


def test_nothing_is_shared_of_a_network_whose_journeys_are_not_yet_known() -> None:
    base = compile_network(checked().build())
    other = compile_network(checked().build())
    share_journeys(other, base)
    assert other.notes == {}


def test_cost_is_worked_out_only_for_what_is_played(monkeypatch: pytest.MonkeyPatch) -> None:
    priced = []
    true_cost = screen.cost_of_one

    def counted(*given: Any) -> Any:
        priced.append(given)
        return true_cost(*given)

    monkeypatch.setattr(screen, "cost_of_one", counted)
    found = ask(unreliable(3), played=4)
    assert found.considered > 4
    assert len(found.simulated) == len(priced) == 4


def test_a_network_whose_turn_does_not_come_is_not_laid_out(monkeypatch: pytest.MonkeyPatch) -> None:
    comparing = import_module("linewright.simulate.compare")
    laid_out = []
    true_prepare = comparing.prepare

    def counted(network: Any, **given: Any) -> Any:
        laid_out.append(network)
        return true_prepare(network, **given)

    monkeypatch.setattr(comparing, "prepare", counted)
    base = compile_network(serial(("4 min", "6 min")).build())
    others = [base.change("stations.m1.places", places) for places in (2, 3, 4)]
    found = compare([base, *others], replications=2, days=7, begin_within=0.0, threads=1)
    assert laid_out == [base]
    assert [one.problem for one in found.networks[1:]] == [NOT_BEGUN] * 3


def test_it_says_how_far_the_bounds_are_and_can_be_stopped_there() -> None:
    said: list[tuple[str, int, int]] = []
    found = ask(
        unreliable(3), progress=lambda what, done, wanted: said.append((what, done, wanted)),
        stop=lambda: any(what == "what the bounds promise" and done == 3 for what, done, _ in said),
    )  # fmt: skip
    bounds = [done for what, done, _ in said if what == "what the bounds promise"]
    assert bounds == [1, 2, 3]
    assert found.stopped
    assert found.simulated == ()
    assert len(found.promised) == 3
    assert found.headline.startswith("no change could be played in the time allowed")
