"""The answer with its simulation: the verdict by intervals and bounds, budgets, stopping, and what cannot be played."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from linewright.answer import Answer, Simulated, Wish, answer, check, play, simulate_plan
from linewright.base.problems import Level, Problem, ProblemsError
from linewright.base.results import Interval, show_interval
from linewright.plan import PlanBuilder, read_plan
from linewright.simulate import Simulation
from linewright.simulate.simulate import LEAST


def stool(demand: str = "10 each/day", time: object = "24 min", **more: object) -> PlanBuilder:
    """8 h a day: at 24 min each at most 20 a day (arithmetic)."""
    build = PlanBuilder("Stool", money="EUR", makes="stool", demand=demand, **more)
    build.item("stool", unit="each", sell="50 EUR").item("leg", unit="each", buy="2 EUR")
    build.shift("day", hours="06:00-14:00").crew("fitter", people=1, shift="day", wage="25 EUR/h")
    build.station("bench", places=1)
    build.route("main", gives="stool").operation(
        "fit", crew={"fitter": 1}, station="bench", time=time, takes={"leg": 3}
    )
    return build


@pytest.fixture(scope="module")
def found() -> Answer:
    return answer(stool(time={"mean": "24 min", "cv": 0.3}).build(), simulate=True)


def test_at_takt_the_demand_is_made_and_flat_out_the_bound_is_reached(found: Answer) -> None:
    played = found.simulation
    assert played is not None
    assert played.flat_out is not None
    assert played.as_planned.release == "takt"
    assert played.flat_out.release == "flat out"
    assert found.makes is True
    assert abs(played.as_planned.rate.mean - 10) <= played.as_planned.rate.half_width + 1 / 5
    # One place and one person: flat out it works all 8 h, so 20 a day (arithmetic), within the interval and an edge.
    assert abs(played.flat_out.rate.mean - 20) <= 2 * played.flat_out.rate.half_width + 1 / 5
    assert found.verdict.startswith("yes, simulated ")
    assert "flat out" in found.verdict
    assert found.verdict.endswith("the bounds allow at most 20")


def test_the_same_seed_gives_the_same_answer(found: Answer) -> None:
    again = answer(found.plan, simulate=True, budget_seconds=60)
    other = answer(found.plan, simulate=True, seed=7, budget_seconds=60)
    assert again.simulation is not None
    assert other.simulation is not None
    assert found.simulation is not None
    assert again.simulation.as_planned.time_in_plant == found.simulation.as_planned.time_in_plant
    assert other.simulation.as_planned.time_in_plant != found.simulation.as_planned.time_in_plant


def test_out_of_reach_is_no_by_bound_and_is_played_flat_out_only() -> None:
    """By takt work would pile up for ever; flat out says what can be made."""
    bad = answer(stool("30 each/day").build(), simulate=True)
    assert bad.makes is False
    assert not bad.yes
    assert bad.verdict.startswith("no, at most 67 % of it; simulated flat out 20")
    assert bad.simulation is not None
    assert bad.simulation.as_planned.release == "flat out"
    assert bad.simulation.flat_out is None


def with_rates(found: Answer, planned: Interval, most: Interval | None) -> Answer:
    """The answer with given rates, so that every verdict is seen."""
    played = found.simulation
    assert played is not None

    def at(run: Simulation, rate: Interval) -> Simulation:
        return replace(run, rate=rate, rates=(rate,))

    flat = played.flat_out
    assert flat is not None
    made = replace(
        played, as_planned=at(played.as_planned, planned), flat_out=at(flat, most) if most is not None else None
    )
    return replace(found, simulation=made)


@pytest.mark.parametrize(
    ("planned", "most", "makes", "said"),
    [
        (
            Interval(10, 0.1),
            Interval(12, 0.2),
            True,
            "yes, simulated 10.0 ± 0.1 a day, flat out 12.0 ± 0.2; the bounds",
        ),
        (Interval(9.7, 0.0), Interval(12, 0.2), True, "yes, simulated 9.7 ± 0 a day"),
        (
            Interval(8, 0.1),
            Interval(8.2, 0.2),
            False,
            "no, simulated 8.0 ± 0.1 a day, flat out 8.2 ± 0.2, although the",
        ),
        (Interval(8, 0.1), None, False, "no, simulated 8.0 ± 0.1 a day, although the bounds allow 20"),
        (Interval(9.8, 0.5), Interval(9.9, 0.6), None, "perhaps, simulated 9.8 ± 0.5 a day, flat out 9.9 ± 0.6, which"),
    ],
)
def test_verdicts(found: Answer, planned: Interval, most: Interval | None, makes: bool | None, said: str) -> None:
    given = with_rates(found, planned, most)
    assert given.makes is makes
    assert given.yes is (makes is not False)
    assert given.verdict.startswith(said)


def test_the_edge_of_the_window_is_one_load(found: Answer) -> None:
    """A piece that is finished just after the last week is no shortfall: one unit over the days that count."""
    played = found.simulation
    assert played is not None
    run = played.as_planned
    days = (run.weeks - run.warm_up_weeks) * found.network.days_week
    just = replace(run, rates=(Interval(10 - 0.9 / days, 0.0),))
    short = replace(run, rates=(Interval(10 - 1.1 / days, 0.0),))
    assert Simulated(just, None, (1.0,), played.days).makes_demand is True
    assert Simulated(short, None, (1.0,), played.days).makes_demand is False


def test_of_several_items_the_worst_decides() -> None:
    build = PlanBuilder("Two", money="EUR")
    build.demand("seat", "4 each/day").demand("leg", "12 each/day")
    build.item("seat", unit="each").item("leg", unit="each")
    build.shift("day", hours="06:00-14:00").crew("fitter", people=1, shift="day")
    for item in ("seat", "leg"):
        build.route(item, gives=item).operation(f"cut_{item}", crew={"fitter": 1}, time="10 min")
    found = answer(build.build(), simulate=True)
    assert found.question == "4 seats a day and 12 legs a day"
    assert found.simulation is not None
    run = found.simulation.as_planned
    worst = replace(run, rates=(Interval(4, 0.0), Interval(6, 0.3)))
    short = replace(found, simulation=replace(found.simulation, as_planned=worst, flat_out=None))
    assert short.makes is False
    assert "simulated 50 ± 3 % of each item or more" in short.verdict


def test_stopped_at_once_is_answered_without_and_says_so() -> None:
    found = answer(stool().build(), simulate=True, stop=lambda: True)
    assert found.simulation is None
    assert found.unplayed == ""
    assert any("not simulated" in p.what and p.level is Level.WARNING for p in found.problems)
    assert found.verdict == answer(stool().build()).verdict


def test_a_plan_that_gets_stuck_makes_nothing_and_says_why() -> None:
    """Each part fills the one rack that the other must pass: the bounds see hours only, the floor stands still."""
    build = PlanBuilder("Ring", money="EUR", makes="box", demand="20 each/day")
    build.item("box", unit="each").item("lid", unit="each", store="rack").item("tray", unit="each", store="rack")
    build.shift("day", hours="06:00-14:00").crew("hand", people=3, shift="day").store("rack", room=1)
    build.station("one").station("two")
    build.route("lid", gives="lid").operation("form", station="one", crew={"hand": 1}, time="2 min")
    build.route("tray", gives="tray").operation("fold", station="two", crew={"hand": 1}, time="3 min")
    build.route("box", gives="box").operation("close", crew={"hand": 1}, time="1 min", takes={"lid": 1, "tray": 1})
    found = answer(build.build(), simulate=True)
    assert found.simulation is None
    assert found.capacity.makes, "no bound sees it"
    assert found.stuck
    assert found.makes is False
    assert not found.yes
    assert found.verdict.startswith("no, although no bound rules it out it gets stuck: ")
    assert "waits for room for" in found.unplayed


def test_what_cannot_be_played_is_said(found: Answer, monkeypatch: pytest.MonkeyPatch) -> None:
    def stuck(*_: object, **__: object) -> Simulation:
        raise ProblemsError([Problem("stations.bench", "bench holds 1 piece and waits for itself")])

    monkeypatch.setattr(play, "simulate", stuck)
    unplayed = answer(found.plan, simulate=True)
    assert unplayed.makes is None
    assert unplayed.yes, "not clearly no, so the exit code is 0"
    assert unplayed.verdict.endswith("could not be simulated: bench holds 1 piece and waits for itself")
    assert any(p.what.startswith("not simulated: bench holds") for p in unplayed.problems)


def test_stopped_in_between_keeps_what_is_done() -> None:
    done: list[int] = []
    found = answer(
        stool(time={"mean": "24 min", "cv": 0.3}).build(), simulate=True, threads=1,
        progress=lambda *told: done.append(told[1]), stop=lambda: len(done) >= 3,
    )  # fmt: skip
    assert found.simulation is not None
    assert found.simulation.as_planned.honesty.status == "stopped"
    assert found.simulation.as_planned.honesty.replications == 3
    assert found.simulation.flat_out is None


def test_a_budget_that_is_too_small_still_answers() -> None:
    found = answer(stool(time={"mean": "24 min", "cv": 0.3}).build(), simulate=True, budget_seconds=1e-6)
    assert found.simulation is not None
    assert found.simulation.as_planned.honesty.replications == LEAST
    assert found.simulation.flat_out is not None
    assert found.simulation.flat_out.honesty.replications == LEAST
    assert any("time allowed ran out" in note for note in found.simulation.flat_out.notes)


def test_plain_data_holds_both_simulations_and_no_trace(found: Answer) -> None:
    data = json.loads(json.dumps(found.to_dict(), allow_nan=False))
    assert data["makes"] is True
    for way in ("as_planned", "flat_out"):
        assert data["simulation"][way]["rate"]["mean"] > 0
        assert "trace" not in data["simulation"][way]


def test_one_simulation_as_wished() -> None:
    wish = Wish(days=21, replications=2, release="flat out", open_pieces=3, trace=True)
    found = simulate_plan(stool().build(), wish)
    assert found.simulation is not None
    run = found.simulation.as_planned
    assert (run.weeks, run.honesty.replications, run.release) == (3, 2, "flat out")
    assert run.work_in_progress.mean == pytest.approx(3)
    assert run.trace is not None
    assert run.trace.records[0].event == "enters"


def test_one_day_is_kept_whole(found: Answer) -> None:
    played = found.simulation
    assert played is not None
    assert played.day is not None
    assert played.day.end - played.day.begin == 86_400 * 10**9
    assert all(played.day.begin <= r.time < played.day.end for r in played.day.trace.records)
    assert all(r.time < played.day.begin and r.event == "starts" for r in played.day.under_way)
    assert sum(r.event == "finished" for r in played.day.trace.records) in (9, 10, 11)


NEVER_TOGETHER = """[plan]
name = "Stool"
money = "EUR"
makes = "stool"
demand = "10 each/day"

[items.stool]
unit = "each"

[shifts.day]
hours = "06:00-14:00"

[shifts.night]
hours = "22:00-05:00"

[crews.fitter]
people = 1
shift = "day"

[crews.guard]
people = 1
shift = "night"

[routes.main]
gives = "stool"

[[routes.main.operations]]
id = "fit"
crew = { fitter = 1, guard = 1 }
time = "5 min"
"""


def test_what_stands_all_day_is_under_way() -> None:
    """A tank that is filled on one day and emptied ten days later has neither event on the day between."""
    build = PlanBuilder("Vat", money="EUR", makes="vat", demand="1 each/week")
    build.item("vat", unit="each").shift("day", hours="06:00-14:00").crew("hand", people=1, shift="day")
    build.station("tank", places=4)
    route = build.route("vat", gives="vat")
    route.operation("fill", station="tank", crew={"hand": 1}, time="1 h")
    route.operation("age", station="tank", stand="17 days")
    found = answer(build.build(), simulate=True)
    assert found.simulation is not None
    assert found.simulation.day is not None
    assert {r.operation for r in found.simulation.day.under_way} == {"age"}


def test_problems_of_compiling_carry_file_and_line(tmp_path: Path) -> None:
    """As ``check`` says them: two crews of one operation that are never there together."""
    path = tmp_path / "stool.toml"
    path.write_text(NEVER_TOGETHER, encoding="utf-8")
    with pytest.raises(ProblemsError) as raised:
        answer(read_plan(path))
    assert raised.value.problems == check(path)
    (wrong,) = (p for p in raised.value.problems if p.level is Level.ERROR)
    assert wrong.file == str(path)
    assert wrong.line is not None
    assert NEVER_TOGETHER.split("\n")[wrong.line - 1].startswith(("[[routes", "id =", "crew ="))


def test_intervals_are_said_to_the_digits_they_have() -> None:
    assert show_interval(Interval(36.0142, 0.0174)) == "36.01 ± 0.02"
    assert show_interval(Interval(2721.3, 186.2)) == "2,721 ± 187"
    assert show_interval(Interval(0.5, 0.25)) == "0.5 ± 0.3"


def test_a_no_that_the_bounds_do_not_explain_says_what_came_too_late() -> None:
    """Glued by day, cured for 20 min, pressed 9 to 14 h later, when nobody is there: all of it is scrap."""
    plan = PlanBuilder("Harrow Fen Works, glue", makes="thing", demand="20 each/day")
    plan.item("thing", unit="each").shift("day", hours="06:00-14:00").crew("hand", people=1, shift="day")
    wait = {"after": "dry", "least": "9 h", "most": "14 h", "else": "scrap"}
    plan.route("r", gives="thing").operation("glue", crew="hand", time="5 min").operation(
        "dry", stand="20 min"
    ).operation("press", crew="hand", time="5 min", wait=wait)
    found = answer(plan.build(), simulate=True, budget_seconds=0.5)
    assert re.search(r"no, simulated 0 a day, .*; \d+ ± \d+ a day begin press too late", found.headline)
