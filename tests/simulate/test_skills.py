"""People who can do another crew's work, on plans small enough to follow by hand, and their conservation on many."""

from __future__ import annotations

import random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.base.calendar import MINUTE
from linewright.base.problems import ProblemsError
from linewright.capacity import measure_capacity
from linewright.flow import solve_flow
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import Simulation, simulate

DAY = {"hours": "00:00-24:00", "days": "Mon-Sun"}


def works(**plan: Any) -> PlanBuilder:
    """A plan of one item, let in flat out; it works at all hours."""
    fields = {"makes": "thing", "demand": "10 each/day", "release": "flat out", "open_pieces": 6, **plan}
    builder = PlanBuilder("Harrow Fen Works, a test", money="EUR", **fields).item("thing", unit="each")
    return builder.shift("day", **DAY)


def run(builder: PlanBuilder, days: int = 7, **options: Any) -> Simulation:
    return simulate(network(builder), **{"days": days, "replications": 1, "trace": True, **options})


def random_network(seed: int) -> Network:
    """The network of a random plant; of the next seed where its people never meet."""
    try:
        return network(random_plant(seed))
    except ProblemsError:
        return random_network(seed + 1)


def network(builder: PlanBuilder) -> Network:
    return compile_network(builder.build())


def times(simulation: Simulation, event: str, operation: str) -> list[float]:
    assert simulation.trace is not None
    records = simulation.trace.records
    return [r.time / MINUTE for r in records if r.event == event and r.operation == operation]


def wiring(places: int = 3, **fitter: Any) -> PlanBuilder:
    """Wiring alone, 10 minutes a piece, with one wirer and some fitters."""
    plan = works().station("bench", places=places).crew("wirer", people=1, shift="day")
    plan.crew("fitter", **{"people": 2, "shift": "day", **fitter})
    plan.route("r", gives="thing").operation("wire", station="bench", crew="wirer", time="10 min")
    return plan


def test_without_skills_everybody_does_the_work_of_his_own_crew() -> None:
    assert times(run(wiring()), "starts", "wire")[:3] == [0, 10, 20]


def test_own_people_come_first_and_others_stand_in_at_their_pace() -> None:
    """The wirer takes the first piece, two fitters the next two at half the pace: 20 minutes each."""
    result = run(wiring(can={"wirer": {"people": 2, "pace": "50 %"}}))
    assert times(result, "starts", "wire")[:5] == [0, 0, 0, 10, 20]
    assert times(result, "ends", "wire")[:5] == [10, 20, 20, 20, 30]


def test_no_more_of_them_than_can_do_it_at_once() -> None:
    result = run(wiring(can={"wirer": 1}))
    assert times(result, "starts", "wire")[:5] == [0, 0, 10, 10, 20]


def test_lenders_are_asked_in_the_order_of_the_plan() -> None:
    plan = wiring(places=2, can={"wirer": {"people": 1, "pace": "50 %"}})
    plan.crew("tester", people=1, shift="day", can={"wirer": 1})
    assert times(run(plan), "ends", "wire")[:3] == [10, 20, 20], "the fitter is asked, though the tester is faster"


def with_fitting(can: dict[str, Any] | None, fit: str = "7 min", open_pieces: int = 8) -> PlanBuilder:
    """Fitting then wiring, one person each."""
    plan = works(open_pieces=open_pieces).station("vice", places=4).station("bench", places=4)
    plan.crew("wirer", people=1, shift="day").crew("fitter", people=1, shift="day", **({"can": can} if can else {}))
    route = plan.route("r", gives="thing").operation("fit", station="vice", crew="fitter", time=fit)
    route.operation("wire", station="bench", crew="wirer", time="10 min")
    return plan


def test_who_comes_free_looks_at_the_work_of_his_own_crew_first() -> None:
    """While pieces wait to be fitted the fitter does not wire, however long wiring has waited."""
    result = run(with_fitting({"wirer": 1}))
    assert times(result, "starts", "fit")[:6] == [0, 7, 14, 21, 28, 35]
    assert times(result, "starts", "wire")[:3] == [7, 17, 27]


def test_who_has_no_work_of_his_own_helps() -> None:
    """One piece open at a time is fitted in 2 and wired in 10: with two open, the fitter wires one of them."""
    result = run(with_fitting({"wirer": 1}, fit="2 min", open_pieces=2))
    assert times(result, "starts", "wire")[:2] == [2, 4], "the second is wired by the fitter himself"
    assert times(result, "starts", "fit")[:4] == [0, 2, 14, 16], "a new piece comes at 12 and waits for him"


def test_a_team_is_filled_up_and_as_slow_as_its_slowest() -> None:
    """Two wirers are wanted, one is there: a fitter who needs twice as long comes, and both need twice as long."""
    plan = works().station("bench").crew("wirer", people=1, shift="day")
    plan.crew("fitter", people=1, shift="day", can={"wirer": {"people": 1, "pace": "50 %"}})
    plan.route("r", gives="thing").operation("wire", station="bench", crew={"wirer": 2}, time="10 min")
    assert times(run(plan), "ends", "wire")[:2] == [20, 40]


def test_hands_on_is_slower_and_the_machine_is_not() -> None:
    plan = works(open_pieces=2).station("bench", places=2).crew("wirer", people=1, shift="day")
    plan.crew("fitter", people=1, shift="day", can={"wirer": {"people": 1, "pace": "50 %"}})
    hands = {"start": "2 min", "end": "1 min"}
    plan.route("r", gives="thing").operation("wire", station="bench", crew="wirer", time="10 min", hands_on=hands)
    assert times(run(plan), "ends", "wire")[:2] == [10, 13], "loaded by 4, ready at 11, unloaded in 2"


def test_a_rate_is_the_machine_s_whoever_stands_by() -> None:
    plan = works(open_pieces=1).station("press").crew("wirer", people=1, shift="late")
    plan.shift("late", hours="12:00-13:00", days="Mon-Sun")
    plan.crew("fitter", people=1, shift="day", can={"wirer": {"people": 1, "pace": "50 %"}})
    plan.route("r", gives="thing").operation("press", station="press", crew="wirer", time={"rate": "6 each/h"})
    assert times(run(plan), "ends", "press")[:2] == [10, 20]


def shifts(stop: str) -> PlanBuilder:
    """The wirer comes at 10, a fitter of half his pace is there until 08:00."""
    plan = works(open_pieces=1).station("bench").shift("early", hours="00:00-08:00", days="Mon-Sun")
    plan.shift("late", hours="10:00-20:00", days="Mon-Sun").crew("wirer", people=1, shift="late")
    plan.crew("fitter", people=1, shift="early", can={"wirer": {"people": 1, "pace": "50 %"}})
    plan.route("r", gives="thing").operation("wire", station="bench", crew="wirer", time="3 h", stop=stop)
    return plan


def test_who_takes_over_works_at_his_own_pace() -> None:
    """By 08:00 the fitter has one piece of 6 h and a third of the next; the wirer does the rest in 2 h."""
    assert [t / 60 for t in times(run(shifts("anywhere")), "ends", "wire")[:4]] == [6, 12, 15, 18]


def test_what_is_to_be_finished_is_finished_by_who_began() -> None:
    assert [t / 60 for t in times(run(shifts("finish")), "ends", "wire")[:3]] == [6, 12, 15]


def test_what_must_fit_must_fit_at_the_pace_of_who_does_it() -> None:
    assert [t / 60 for t in times(run(shifts("fits")), "starts", "wire")[:3]] == [0, 10, 13]


def test_two_crews_of_one_person_each_can_help_each_other() -> None:
    """Who must be told apart is a crew of one person: Ann fits and wires, Ben wires and inspects."""
    plan = works(open_pieces=3).station("bench", places=3)
    plan.crew("ann", people=1, shift="day", can={"ben": 1}).crew("ben", people=1, shift="day", can={"ann": 1})
    route = plan.route("r", gives="thing").operation("fit", crew="ann", time="4 min")
    route.operation("wire", crew="ben", time="8 min")
    result = run(plan, days=70)
    assert result.rate.mean == pytest.approx(2 * 24 * 60 / 12, rel=1e-3), "both are busy all of the time"


def test_a_repair_and_a_setup_may_be_done_by_who_can() -> None:
    plan = works(open_pieces=1).station("bench").shift("late", hours="12:00-13:00", days="Mon-Sun")
    plan.crew("setter", people=1, shift="late").crew("fitter", people=1, shift="day", can={"setter": 1})
    setup = {"every": 2, "time": "5 min", "crew": "setter"}
    plan.route("r", gives="thing").operation("cut", station="bench", crew="fitter", time="10 min", setup=setup)
    assert times(run(plan), "starts", "cut")[:5] == [5, 15, 30, 40, 55]


def lent(simulation: Simulation) -> dict[tuple[str, str], float]:
    return {(row[0], row[1]): float(row[2]) for row in simulation.lending_table().rows}


def random_plant(seed: int) -> PlanBuilder:
    """Crews that can do some of each other's work, in a plant with random times, teams, stoppages and shifts."""
    luck = random.Random(seed)
    plan = works(open_pieces=luck.randint(1, 9))
    plan.shift("early", hours="06:00-14:00", breaks=["09:00-09:30"]).shift("late", hours="14:00-22:00")
    names = ["a", "b", "c", "d"][: luck.randint(2, 4)]
    for name in names:
        people = {shift: luck.randint(1, 3) for shift in luck.sample(["day", "early", "late"], luck.randint(1, 2))}
        others = luck.sample([n for n in names if n != name], luck.randint(0, len(names) - 1))
        can = {o: {"people": 1, "pace": luck.choice(["60 %", "100 %", 0.7])} for o in others}
        plan.crew(name, people=people, can=can)
    for k in range(3):
        stops = {"between_stops": "5 h", "repair": "20 min"} if luck.random() < 0.5 else {}
        plan.station(f"s{k}", places=luck.randint(1, 3), **stops)
    route = plan.route("r", gives="thing")
    for k in range(luck.randint(2, 5)):
        crew = dict.fromkeys(luck.sample(names, luck.randint(1, min(2, len(names)))), 1)
        fields: dict[str, Any] = {"station": f"s{luck.randint(0, 2)}", "crew": crew, "stop": luck.choice(STOPS)}
        fields["time"] = {"mean": f"{luck.randint(2, 30)} min", "cv": luck.choice([0.1, 0.6])}
        if luck.random() < 0.3:
            fields["hands_on"] = {"start": "1 min", "end": "30 s"}
        route.operation(f"o{k}", **fields)
    return plan


STOPS = ["anywhere", "anywhere", "finish", "fits"]


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6))
def test_nobody_is_lost_or_at_two_places_and_the_bound_holds(seed: int) -> None:
    """The books of people are checked every week of every run; the rate stays below the bound."""
    plant = random_network(seed)
    flow = solve_flow(plant)
    most = measure_capacity(plant, flow).wanted[0].rate
    result = simulate(plant, days=70, replications=3, seed=seed)
    slack = 12 / (70 - result.warm_up_weeks * 7)  # pieces open at the start of the window may be finished in it
    assert result.rate.mean <= most * (1 + 1e-9) + slack * 7 / 5


@pytest.mark.parametrize("seed", range(4))
def test_the_same_without_the_compiler(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    plant = random_network(seed)
    monkeypatch.delenv("LINEWRIGHT_NO_JIT", raising=False)
    one = simulate(plant, days=14, replications=1, seed=seed)
    monkeypatch.setenv("LINEWRIGHT_NO_JIT", "1")
    other = simulate(plant, days=14, replications=1, seed=seed)
    assert one.rate.mean == other.rate.mean
    assert one.lent.mean.tolist() == other.lent.mean.tolist()
    assert one.events == other.events


def test_who_stands_in_for_whom_is_counted() -> None:
    """Both fitters wire all day at half the pace; the wirer does too."""
    result = run(wiring(can={"wirer": {"people": 2, "pace": "50 %"}}), days=28)
    assert lent(result) == {("fitter", "wirer"): pytest.approx(48, rel=1e-3)}
    assert result.crew_use.mean.tolist() == pytest.approx([1, 1], rel=1e-3)
    assert result.rate.mean == pytest.approx(144 * 2, rel=1e-3)


@pytest.mark.parametrize("seed", range(5))
def test_without_luck_it_runs_below_the_bound_as_well(seed: int) -> None:
    plant = random_network(100 + seed)
    most = measure_capacity(plant, solve_flow(plant)).wanted[0].rate
    result = simulate(plant, days=70, replications=1, still=True)
    assert 0 < result.rate.mean <= most + 0.3


def test_a_flow_is_run_by_who_can_at_the_rate_of_the_machine() -> None:
    """What flows at a rate needs somebody by: the fitter from six, at half a wirer's pace, and it is no slower."""
    plan = PlanBuilder("Harrow Fen Works, a test", money="EUR", makes="pulp", demand="500 kg/day")
    plan.item("pulp", unit="kg").item("chips", unit="kg", buy="1 EUR/kg").shift("day", hours="06:00-14:00")
    plan.shift("late", hours="12:00-14:00").station("mill").crew("miller", people=1, shift="late")
    plan.crew("fitter", people=1, shift="day", can={"miller": {"people": 1, "pace": "50 %"}})
    route = plan.route("r", gives="pulp")
    route.operation("mill", station="mill", crew="miller", time={"rate": "60 kg/h"}, takes={"chips": "1 kg"})
    result = simulate(compile_network(plan.build()), days=28, replications=1)
    assert result.rate.mean == pytest.approx(480, rel=0.02)


def who_did(simulation: Simulation, event: str) -> dict[str, int]:
    assert simulation.trace is not None
    found: dict[str, int] = {}
    for record in simulation.trace.records:
        if record.event == event and record.operation:
            found[record.crew] = found.get(record.crew, 0) + 1
    return found


def test_the_trace_names_who_did_the_work() -> None:
    """One wirer and two fitters at three places: two pieces in three are wired by fitters."""
    without = run(wiring())
    assert set(who_did(without, "starts")) == {"wirer"}
    helped = run(wiring(can={"wirer": 2}))
    starts, ends = who_did(helped, "starts"), who_did(helped, "ends")
    assert set(starts) == set(ends) == {"wirer", "fitter"}
    assert starts["fitter"] == pytest.approx(2 * starts["wirer"], abs=2)
    hours = float(helped.lent.mean.sum()) * 7
    assert ends["fitter"] * 10 / 60 == pytest.approx(hours, abs=1)


def test_a_team_of_two_crews_is_named_with_both() -> None:
    plan = (
        works()
        .station("bench")
        .crew("wirer", people=1, shift="day")
        .crew("fitter", people=1, shift="day", can={"wirer": 1})
    )
    plan.route("r", gives="thing").operation("pull", station="bench", crew={"wirer": 2}, time="10 min")
    assert set(who_did(run(plan), "starts")) == {"wirer+fitter"}


def test_who_takes_paused_work_up_is_who_ends_it() -> None:
    """The wirer goes at 12:00 with a piece half done; the fitter, who comes then, ends it."""
    plan = works().station("bench").shift("early", hours="00:00-12:00", days="Mon-Sun")
    plan.shift("late", hours="12:00-24:00", days="Mon-Sun").crew("wirer", people=1, shift="early")
    plan.crew("fitter", people=1, shift="late", can={"wirer": 1})
    plan.route("r", gives="thing").operation("wire", station="bench", crew="wirer", time="7 h")
    simulation = run(plan)
    assert simulation.trace is not None
    first = [r for r in simulation.trace.records if r.operation == "wire" and r.event in ("starts", "ends")][:4]
    assert [(r.event, r.crew, r.time / (60 * MINUTE)) for r in first] == [
        ("starts", "wirer", 0.0), ("ends", "wirer", 7.0), ("starts", "wirer", 7.0), ("ends", "fitter", 14.0),
    ]  # fmt: skip
