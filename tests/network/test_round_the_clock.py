"""Cleaning and starting up by the shift, where one shift takes over from another: said, not passed over."""

from __future__ import annotations

from typing import Any

from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder

ROUND = {"early": "06:00-14:00", "late": "14:00-22:00", "night": "22:00-06:00"}


def pressed(*shifts: str, days: str = "Mon-Fri", **fields: Any) -> Network:
    """A press worked in these shifts, cleaned or started up by the shift."""
    plan = PlanBuilder("Harrow Fen Works, press", makes="thing", demand="20 each/day")
    plan.item("thing", unit="each").station("press")
    for name in shifts:
        plan.shift(name, hours=ROUND[name], days=days)
    plan.crew("presser", people=dict.fromkeys(shifts, 1))
    plan.route("r", gives="thing").operation("press", station="press", crew="presser", time="5 min", **fields)
    return compile_network(plan.build())


def warned(network: Network) -> dict[str, str]:
    return {p.path: p.what for p in network.problems}


def test_two_shifts_in_a_row_are_cleaned_once_and_that_is_said() -> None:
    found = warned(pressed("early", "late", clean={"after": "shift", "time": "10 min"}))
    assert "10 shifts a week" in found["routes.r.operations[0].clean"]
    assert "cleaned 5 times" in found["routes.r.operations[0].clean"]


def test_round_the_clock_it_is_never_cleaned_nor_started() -> None:
    found = warned(
        pressed("early", "late", "night", days="Mon-Sun",
                clean={"after": "shift", "time": "10 min"}, start={"after": "shift", "time": "20 min"})
    )  # fmt: skip
    assert "never cleaned" in found["routes.r.operations[0].clean"]
    assert "never starts up" in found["routes.r.operations[0].start"]


def test_nothing_is_said_where_shifts_have_a_gap_or_the_machine_runs_on() -> None:
    clean, start = {"after": "shift", "time": "10 min"}, {"after": "shift", "time": "20 min"}
    assert not warned(pressed("early", clean=clean, start=start))
    assert not warned(pressed("early", "late", start=start))
    assert not warned(pressed("early", "late", "night", days="Mon-Sun", clean={"after": "day", "time": "10 min"}))
