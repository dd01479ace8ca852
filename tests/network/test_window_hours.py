"""Windows against the hours of the people: what opens when nobody is there can never be met."""

from __future__ import annotations

from typing import Any

import pytest

from linewright.base.problems import ProblemsError
from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import simulate


def glued(press: str, days: str = "Mon-Fri", glue: dict[str, Any] | None = None, **wait: Any) -> PlanBuilder:
    """Glue by day, 06:00 to 14:00; pressed in hours of their own, so long after."""
    plan = PlanBuilder("Harrow Fen Works, glue", makes="thing", demand="20 each/day")
    plan.item("thing", unit="each").station("press").shift("day", hours="06:00-14:00", days="Mon-Fri")
    plan.shift("other", hours=press, days=days).crew("gluer", people=1, shift="day")
    plan.crew("presser", people=1, shift="other")
    plan.route("r", gives="thing").operation("glue", crew="gluer", time="5 min", **(glue or {})).operation(
        "press", station="press", crew="presser", time="5 min", wait={"after": "glue", "else": "scrap", **wait}
    )
    return plan


@pytest.mark.parametrize(
    ("press", "days", "wait"),
    [
        ("22:00-02:00", "Mon-Fri", {"most": "2 h"}),  # open until 16:00 at the latest
        ("06:00-14:00", "Mon-Fri", {"least": "9 h", "most": "15 h"}),  # open from 15:00, until 05:00
        ("08:00-16:00", "Sat-Sun", {"most": "17 h"}),  # on Friday until 07:00 of Saturday
    ],
)
def test_a_window_that_is_open_while_nobody_is_there(press: str, days: str, wait: dict[str, str]) -> None:
    with pytest.raises(ProblemsError) as caught:
        compile_network(glued(press, days, **wait).build())
    (problem,) = caught.value.problems
    assert problem.path == "routes.r.operations[1].wait"
    assert "the window of press can never be met" in problem.what
    assert "no presser is there then" in problem.what


@pytest.mark.parametrize(
    ("press", "days", "wait"),
    [
        ("22:00-02:00", "Mon-Fri", {"most": "9 h"}),
        ("06:00-14:00", "Mon-Fri", {"least": "9 h", "most": "17 h"}),
        ("08:00-16:00", "Sat-Sun", {"most": "19 h"}),
        ("08:00-16:00", "Mon-Mon", {"least": "170 h", "most": "178 h"}),  # over a week later
    ],
)
def test_a_window_that_can_be_met_is_met(press: str, days: str, wait: dict[str, str]) -> None:
    network = compile_network(glued(press, days, **wait).build())
    assert simulate(network, days=56, replications=1).rate.mean > 0


def test_what_ends_at_any_time_is_left_to_the_simulation() -> None:
    """What stands first may come to an end at any hour, so nothing can be said before it is played."""
    compile_network(glued("22:00-02:00", most="2 h", glue={"stand": "1 h"}).build())
    compile_network(glued("22:00-02:00", most="2 h", glue={"stop": "finish"}).build())
