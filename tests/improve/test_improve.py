"""What would help most, on plans whose answer is known by hand."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from improve_cases import ask, of, serial, unreliable, works

from linewright.base.problems import ProblemsError
from linewright.capacity import measure_capacity
from linewright.cost import cost_of_one
from linewright.flow import solve_flow
from linewright.improve import Improvement
from linewright.network import compile_network
from linewright.plan import PlanBuilder


@pytest.fixture(scope="module")
def bottleneck() -> Improvement:
    """4, 6 and 5 min: 240 a day, and 288 once the middle machine no longer limits."""
    return ask(serial(("4 min", "6 min", "5 min")))


def test_one_more_place_at_the_one_bottleneck(bottleneck: Improvement) -> None:
    best = bottleneck.best
    assert best is not None
    assert best.candidate.what == "one more place at m1"
    assert best.gain is not None
    assert best.gain.low <= 288 - 240 <= best.gain.high
    assert best.gain.half_width <= 0.1, "nothing is left to chance"
    assert bottleneck.rate.mean == pytest.approx(240, rel=1e-3)


def test_ten_percent_less_time_there_gives_a_ninth_more(bottleneck: Improvement) -> None:
    effect = of(bottleneck.confirmed, "10 % less time at o1")
    assert effect.gain is not None
    assert effect.gain.low <= 240 / 0.9 - 240 <= effect.gain.high
    assert effect.bound == pytest.approx(240 / 0.9 - 240)
    assert effect.candidate.edits[0].text == 'routes.r.operations[o1].time: "6 min" -> "5.4 min"'


def test_nothing_elsewhere_helps(bottleneck: Improvement) -> None:
    for what in ("one more place at m0", "one more place at m2", "10 % less time at o0", "10 % less time at o2"):
        effect = of(bottleneck.simulated, what)
        assert effect.verdict != "helps"
        assert effect.bound == 0.0
        assert effect not in bottleneck.confirmed


def test_the_headline_says_how_much_with_its_interval(bottleneck: Improvement) -> None:
    assert bottleneck.headline.startswith("one more place at m1: 48 each a day more (")
    assert bottleneck.headline.endswith("from 240")
    assert bottleneck.makes_demand is True
    assert bottleneck.rate_at_takt is None
    assert bottleneck.to_table().rows[0][0] == "one more place at m1"
    assert bottleneck.edits_table().rows[0] == ("one more place at m1", "stations.m1.places", "not written", "2")


def crewed() -> Any:
    """Three places each, but one fitter for 3 + 3 min: 10 an hour; a second one doubles it."""
    builder = works().crew("fitter", people=1, shift="always", wage="20 EUR/h")
    builder.station("a", places=3).station("b", places=3)
    route = builder.route("r", gives="p")
    route.operation("one", station="a", crew={"fitter": 1}, time="3 min", takes={"raw": 1})
    route.operation("two", station="b", crew={"fitter": 1}, time="3 min")
    return builder


def test_where_people_limit_one_more_person_helps_and_one_more_place_does_not() -> None:
    found = ask(crewed())
    best = found.best
    assert best is not None
    assert best.candidate.what == "one more fitter"
    assert best.gain is not None
    assert best.gain.low <= 240 <= best.gain.high
    for what in ("one more place at a", "one more place at b"):
        assert of(found.simulated, what).verdict != "helps"


def test_the_cost_of_one_is_that_of_the_changed_plan() -> None:
    """One fitter more, 24 h at 20 EUR on 7 days for 100 a day: 4.80 EUR on each."""
    found = ask(crewed())
    assert of(found.confirmed, "one more fitter").cost_changes == pytest.approx((4.80,))
    for effect in found.simulated:
        network = compile_network(crewed().build())
        for edit in effect.candidate.edits:
            network = network.change(edit.path, edit.after)
        flow = solve_flow(network)
        after = cost_of_one(network, flow, measure_capacity(network, flow)).products[0].total
        before = of(found.simulated, "one more place at a")
        assert before.cost_changes == (0.0,)
        assert effect.cost_changes[0] == pytest.approx(after - plain_cost(), abs=1e-9)


def plain_cost() -> float:
    network = compile_network(crewed().build())
    flow = solve_flow(network)
    return cost_of_one(network, flow, measure_capacity(network, flow)).products[0].total


@pytest.fixture(scope="module")
def buffered() -> Improvement:
    return ask(unreliable(3), days=56)


def test_room_between_unreliable_machines_helps_though_it_lifts_no_bound(buffered: Improvement) -> None:
    effect = of(buffered.simulated, "room for 4 instead of 3 in rack")
    assert effect.bound == pytest.approx(0.0)
    assert effect.gain is not None
    assert effect.gain.mean > 0
    assert effect.verdict == "helps"


def test_mending_in_half_the_time_helps_more_than_room(buffered: Improvement) -> None:
    """Stand-alone efficiency rises from 6/7 to 12/13, and both machines wait less for each other."""
    room = of(buffered.simulated, "room for 4 instead of 3 in rack").gain
    repair = of(buffered.confirmed, "stoppages of m0 mended in half the time").gain
    assert room is not None
    assert repair is not None
    assert repair.low > room.high


def test_like_machines_gain_alike(buffered: Improvement) -> None:
    """By symmetry (reversibility of the line) what helps at the first helps as much at the second."""
    one, other = (of(buffered.simulated, f"stoppages of m{k} mended in half the time").gain for k in (0, 1))
    assert one is not None
    assert other is not None
    assert one.low <= other.high
    assert other.low <= one.high


def test_where_nothing_helps_it_says_so(tmp_path: Path) -> None:
    """One piece open at a time, its time from a study: neither a place nor anything else can make it faster."""
    readings = "".join(f"age,{n},{300 + 7 * (n % 5)},100\n" for n in range(1, 31))
    (tmp_path / "study.csv").write_text("element,cycle,time [s],rating\n" + readings)
    builder = works(release="flat out", open_pieces=1, demand="10 each/day").station("oven").station("rest")
    route = builder.route("r", gives="p")
    route.operation("age", station="oven", time={"study": "study.csv", "element": "age"}, takes={"raw": 1})
    found = ask(builder.build(tmp_path))
    assert found.considered == 2
    assert found.best is None
    assert found.confirmed == ()
    assert found.headline == "no single change that was tried can be told from nothing"
    assert [why for why in found.left_out if "follows from a study" in why]


def test_at_takt_too_where_the_demand_is_not_made() -> None:
    """6 min a piece makes 240 a day of the 260 wanted; a second place makes what is wanted and no more at takt."""
    plan = serial(("4 min", "6 min", "5 min")).build().change("plan.demand", "260 each/day")
    found = ask(plan)
    assert found.makes_demand is False
    assert found.rate_at_takt is not None
    assert found.rate_at_takt.mean == pytest.approx(240, rel=0.01)
    best = of(found.confirmed, "one more place at m1")
    assert best.gain_at_takt is not None
    assert best.gain_at_takt.low <= 20 <= best.gain_at_takt.high
    assert "at takt [each/day]" in found.to_table().columns


def test_threads_and_time_change_nothing_but_the_speed() -> None:
    one, two = (ask(crewed(), threads=n).to_dict() for n in (1, 2))
    for found in (one, two):
        found.pop("provenance")
    assert one == two


def test_the_second_round_is_on_fresh_luck() -> None:
    found = ask(unreliable(3), played=6)
    first = {e.candidate.what: e.gain for e in found.simulated}
    assert found.confirmed
    assert all(e.gain != first[e.candidate.what] for e in found.confirmed)
    assert len(found.confirmed) <= 5
    assert len(found.simulated) == 6
    assert found.considered == found.screened_out + 6


def test_it_can_be_stopped_and_keeps_what_it_has() -> None:
    said: list[str] = []
    found = ask(
        unreliable(3), progress=lambda what, done, wanted: said.append(f"{what} {done}/{wanted}"),
        stop=lambda: sum(s.startswith("best again") for s in said) >= 8,
    )  # fmt: skip
    assert found.stopped
    assert found.honesty.status == "stopped"
    assert found.simulated
    assert any(s.startswith("the plan as it is") for s in said)
    assert any(s.startswith("first round") for s in said)
    with pytest.raises(ProblemsError, match="stopped before anything"):
        ask(unreliable(3), stop=lambda: True)


def test_without_time_it_answers_the_rate_and_says_that_it_ran_out() -> None:
    found = ask(unreliable(3), budget_seconds=0.0)
    assert found.stopped
    assert found.simulated == ()
    assert found.rate.mean > 0
    assert len(found.promised) == 3
    assert found.headline.startswith("no change could be played in the time allowed")


def test_without_time_to_play_the_bounds_are_told() -> None:
    """Of 2, 4 and 3 minutes in a row the four limit: with one more place there, the three do, 480 instead of 360."""
    found = ask(serial(("2 min", "4 min", "3 min")), budget_seconds=0.0)
    first = found.promised[0]
    assert first.candidate.what == "one more place at m1"
    assert first.bound == pytest.approx(120.0)
    assert first.gain is None
    assert found.headline.endswith("by the bounds alone one more place at m1, which allows 120 a day more at most")
    assert found.promised_table().rows[0] == ("one more place at m1", pytest.approx(120.0))


def test_two_products_and_a_bench() -> None:
    """Two items share a saw; one of them is finished at a bench without a station."""
    found = ask(two_products(), days=14, played=8)
    assert found.items == ("p", "q")
    assert found.unit == "each"
    assert all(len(e.cost_changes) == 2 for e in found.simulated)
    assert any("together" in text for text in found.assumptions)
    assert json.loads(json.dumps(found.to_dict()))["items"] == ["p", "q"]
    assert "one more place at saw" in found.first_round_table()._repr_html_()


def two_products() -> PlanBuilder:
    builder = PlanBuilder("Two", money="EUR").demand("p", "40 each/day").demand("q", "20 each/day")
    builder.item("p", unit="each").item("q", unit="each").item("raw", unit="each", buy="1 EUR")
    builder.shift("day", hours="06:00-14:00").crew("hand", people=2, shift="day", wage="20 EUR/h").station("saw")
    for item in ("p", "q"):
        route = builder.route(item, gives=item)
        route.operation(f"saw_{item}", station="saw", crew="hand", time={"mean": "5 min", "cv": 0.3}, takes={"raw": 1})
    route.operation("pack", crew={"hand": 1}, time="2 min")
    return builder
