"""Every rule of docs/simulate.md on a plan small enough to follow by hand. One test a rule, named as in that page."""

from __future__ import annotations

from typing import Any

import pytest

from linewright.base.calendar import HOUR, MINUTE
from linewright.base.problems import ProblemsError
from linewright.base.trace import Record
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import Simulation, simulate
from linewright.simulate.kernel import rows as r
from linewright.simulate.replication import replicate
from linewright.simulate.simulate import prepare


def works(**plan: Any) -> PlanBuilder:
    """A plan of one item, one fitter from 8 to 16 every day, let in flat out."""
    fields = {"makes": "thing", "demand": "10 each/day", "release": "flat out", "open_pieces": 3, **plan}
    builder = PlanBuilder("Harrow Fen Works, a test", money="EUR", **fields)
    builder.shift("day", hours="08:00-16:00", days="Mon-Sun")
    builder.crew("fitter", people=1, shift="day").crew("helper", people=1, shift="day")
    return builder.item("thing", unit="each")


def run(builder: PlanBuilder, days: int = 7, **options: Any) -> Simulation:
    return simulate(network(builder), days=days, replications=1, trace=True, **options)


def network(builder: PlanBuilder) -> Network:
    return compile_network(builder.build())


def told(simulation: Simulation, *events: str, until: int = 10**18, of: str = "") -> list[tuple[float, int, str, str]]:
    """(minute, lot, event, operation) of some events, in order."""
    assert simulation.trace is not None
    return [
        (r.time / MINUTE, r.lot, r.event, r.operation)
        for r in simulation.trace.records
        if (not events or r.event in events) and r.time < until and (not of or r.operation == of)
    ]


def times(simulation: Simulation, event: str, operation: str) -> list[float]:
    """Minutes at which something happens at an operation."""
    return [minute for minute, _, _, _ in told(simulation, event, of=operation)]


START = 8 * 60
"""Minutes from midnight to the start of the shift."""


def test_a_visit_holds_its_place_from_first_to_last_operation() -> None:
    plan = works().station("bench").station("bench_b")
    route = plan.route("r", gives="thing")
    route.operation("a", station="bench", time="2 min").operation("b", station="bench", time="3 min")
    route.operation("c", station="bench_b", time="1 min")
    result = run(plan, release="flat out")
    assert times(result, "starts", "a")[:3] == [0, 5, 10]
    assert times(result, "starts", "b")[:3] == [2, 7, 12]
    assert times(result, "starts", "c")[:3] == [5, 10, 15]


def test_a_piece_takes_its_place_by_moving_and_then_asks_for_people() -> None:
    """The second place is taken at once; its work waits for the one fitter."""
    plan = works().station("bench", places=2)
    plan.route("r", gives="thing").operation("a", station="bench", crew={"fitter": 1}, time="4 min")
    result = run(plan)
    assert [minute for minute, *_ in told(result, "moves in")][:3] == [0, 0, START + 4]
    assert times(result, "starts", "a")[:3] == [START, START + 4, START + 8]


def test_a_place_just_left_is_filled_before_new_work_is_let_in() -> None:
    """One fitter for all: at 40 the second is fitted, who waited outside; the fourth, let in then, asks after it."""
    plan = works().station("bench")
    route = plan.route("r", gives="thing")
    route.operation("cut", crew={"fitter": 1}, time="10 min")
    route.operation("fit", station="bench", crew={"fitter": 1}, time="10 min")
    result = run(plan)
    assert times(result, "starts", "cut")[:4] == [START, START + 10, START + 20, START + 50]
    assert times(result, "starts", "fit")[:3] == [START + 30, START + 40, START + 60]


def test_of_several_free_places_the_first_is_taken() -> None:
    """A single piece always finds all three free: the other two never work."""
    plan = works(open_pieces=1).station("bench", places=3)
    plan.route("r", gives="thing").operation("fit", station="bench", time="10 min")
    prepared = prepare(network(plan))
    found = replicate(prepared.layout, prepared.template, seed=1, replication=0, weeks=1)
    assert [int(place[r.WORKING]) > 0 for place in found.states[-1]] == [True, False, False]


def test_people_tools_and_parts_are_taken_together_or_not_at_all() -> None:
    """Who waits for the hoist does not keep the fitter from others."""
    plan = works(open_pieces=2).station("one").station("two").tool("hoist", count=1)
    plan.item("other", unit="each")
    plan.demand("other", "10 each/day")
    plan.route("r", gives="thing").operation(
        "lift", station="one", crew={"fitter": 1}, uses={"hoist": 1}, time="10 min", stand="11 min"
    )
    plan.route("q", gives="other").operation(
        "hang", station="two", crew={"helper": 1}, uses={"hoist": 1}, time="10 min"
    ).operation("plain", station="two", crew={"fitter": 1}, time="5 min")
    result = run(plan)
    assert times(result, "starts", "lift")[0] == START
    assert times(result, "starts", "hang")[0] == START + 10
    assert times(result, "starts", "plain")[0] == START + 20
    assert times(result, "starts", "lift")[1] == START + 25, (
        "asked at 21 with the hoist free, but the fitter is at plain until 25"
    )


def test_free_people_wait_for_the_rest_of_a_team() -> None:
    """Two free fitters of two are wanted: the one who is free first is not sent to a later single job."""
    plan = works(open_pieces=1)
    plan.document["crews"]["fitter"]["people"] = 2
    for name in ("b", "c", "d"):
        plan.item(name, unit="each")
        plan.demand(name, "1 each/day")
    for name in ("one", "two", "three", "four"):
        plan.station(name)
    plan.route("r", gives="thing").operation("short", station="one", crew={"fitter": 1}, time="4 min").operation(
        "rest", station="one", stand="100 h"
    )
    plan.route("s", gives="b").operation("long", station="two", crew={"fitter": 1}, time="10 min").operation(
        "rest_b", station="two", stand="100 h"
    )
    plan.route("t", gives="c").operation("team", station="three", crew={"fitter": 2}, time="3 min")
    plan.route("u", gives="d").operation("single", station="four", crew={"fitter": 1}, time="3 min")
    result = run(plan)
    assert times(result, "starts", "team")[0] == START + 10
    assert times(result, "starts", "single")[0] == START + 13


def test_people_are_not_held_while_blocked() -> None:
    """Blocking after service: the piece keeps its place, the fitter goes."""
    plan = works(open_pieces=5).station("one").station("two")
    route = plan.route("r", gives="thing")
    route.operation("a", station="one", crew={"fitter": 1}, time="1 min", then_to="next")
    route.operation("b", station="two", crew={"fitter": 1}, time="2 min", stand="8 min")
    result = run(plan)
    assert times(result, "starts", "a")[:4] == [START, START + 3, START + 13, START + 23]
    assert times(result, "starts", "b")[:3] == [START + 1, START + 11, START + 21]
    blocked = result.state_share.mean[0, result.states.index("blocked")]
    assert blocked == pytest.approx(7 / 10 * 8 / 24, abs=0.01)


def test_a_store_holds_what_its_room_takes() -> None:
    """Two in the store, one in work, one blocked: the first station works five times in the first ten minutes."""
    plan = works(open_pieces=20).station("one").station("two").store("rack", room=2)
    route = plan.route("r", gives="thing")
    route.operation("a", station="one", time="1 min", then_to="rack")
    route.operation("b", station="two", time="10 min")
    result = run(plan)
    assert times(result, "starts", "a")[:6] == [0, 1, 2, 3, 11, 21]
    assert result.store_most.tolist() == [2.0]


def test_a_closed_ring_of_direct_hand_overs_moves_at_once() -> None:
    plan = works(open_pieces=1).station("one").station("two")
    plan.item("other", unit="each")
    plan.demand("other", "10 each/day")
    for name, gives, first, second in (("r", "thing", "one", "two"), ("q", "other", "two", "one")):
        route = plan.route(name, gives=gives)
        route.operation(f"{name}1", station=first, time="2 min", then_to="next")
        route.operation(f"{name}2", station=second, time="3 min")
    result = run(plan)
    assert times(result, "starts", "r2")[0] == 2
    assert times(result, "starts", "q2")[0] == 2
    assert result.rate.mean == pytest.approx(2 * 24 * 60 / 5, rel=0.01)


def test_a_deadlock_is_named() -> None:
    """Each kind fills the store that the other must pass."""
    plan = works(open_pieces=4).station("one").station("two").store("rack", room=1)
    plan.item("part", unit="each", store="rack").item("other", unit="each", store="rack")
    plan.route("p", gives="part").operation("make_part", station="one", time="2 min")
    plan.route("q", gives="other").operation("make_other", station="two", time="3 min")
    plan.route("r", gives="thing").operation("join", time="1 min", takes={"part": 1, "other": 1})
    with pytest.raises(ProblemsError, match="waits for room for") as caught:
        run(plan, days=28)
    text = str(caught.value)
    assert "standstill" in text
    assert "units of" in text or "begin" in text


def test_a_plan_that_never_starts_says_what_is_missing() -> None:
    """Three pieces never fill a fixed load of five."""
    plan = works(open_pieces=3).station("oven")
    plan.route("r", gives="thing").operation("bake", station="oven", time="5 min", load=5)
    with pytest.raises(
        ProblemsError, match="nothing ever starts: oven holds 3 pieces and waits for a load of 5 to do bake"
    ):
        run(plan, days=28)


def test_hands_on_at_both_ends_and_the_machine_alone_between() -> None:
    """Start 1, alone 6, end 1: one fitter feeds two machines. At 8 the second has asked to be emptied first."""
    plan = works(open_pieces=4).station("machine", places=2)
    plan.route("r", gives="thing").operation(
        "turn", station="machine", crew={"fitter": 1}, time="8 min", hands_on={"start": "1 min", "end": "1 min"}
    )
    result = run(plan)
    assert times(result, "starts", "turn")[:4] == [START, START + 1, START + 9, START + 10]
    assert times(result, "ends", "turn")[:2] == [START + 8, START + 9]


def test_one_person_tends_several_places() -> None:
    plan = works(open_pieces=6).station("loom", places=4)
    plan.route("r", gives="thing").operation("weave", station="loom", crew={"fitter": 1}, time="30 min", tends=3)
    result = run(plan)
    assert times(result, "starts", "weave")[:6] == [START] * 3 + [START + 30] * 3
    assert result.crew_use.mean[0] == pytest.approx(1.0)


def test_standing_goes_on_through_the_night() -> None:
    """meaning.md, section 6: load 10 min, stand 5 h, unload 5 min, crew 8 to 16: the truth is 2.00 a day."""
    plan = works().station("tank")
    route = plan.route("r", gives="thing")
    route.operation("fill", station="tank", crew={"fitter": 1}, time="10 min")
    route.operation("wait", station="tank", stand="5 h")
    route.operation("empty", station="tank", crew={"fitter": 1}, time="5 min")
    result = run(plan, days=28)
    assert result.rate.mean == 2.0


@pytest.mark.parametrize(
    ("stop", "ends"),
    [
        ("anywhere", [START + 5 * 60, START + 24 * 60 + 2 * 60]),
        ("finish", [START + 5 * 60, START + 10 * 60]),
        ("fits", [START + 5 * 60, START + 24 * 60 + 5 * 60]),
    ],
)
def test_three_ways_to_meet_the_end_of_a_shift(stop: str, ends: list[float]) -> None:
    """Jobs of 5 h in a shift of 8 h: the second pauses, is finished late, or is not begun."""
    plan = works(open_pieces=1).station("bench")
    plan.route("r", gives="thing").operation("job", station="bench", crew={"fitter": 1}, time="5 h", stop=stop)
    assert times(run(plan), "ends", "job")[:2] == ends


def test_work_longer_than_any_shift_may_begin_with_the_shift() -> None:
    plan = works(open_pieces=1).station("bench")
    plan.route("r", gives="thing").operation("job", station="bench", crew={"fitter": 1}, time="9 h", stop="fits")
    assert times(run(plan), "ends", "job")[0] == START + 9 * 60


def test_the_last_started_pauses_first_when_people_drop() -> None:
    plan = works(open_pieces=2).station("bench", places=2)
    plan.shift("late", hours="08:00-10:00", days="Mon-Sun")
    plan.document["crews"]["fitter"] = {"people": {"day": 1, "late": 1}}
    plan.route("r", gives="thing").operation("prepare", station="bench", time="1 min").operation(
        "job", station="bench", crew={"fitter": 1}, time="3 h"
    )
    result = run(plan)
    assert [(m, lot) for m, lot, *_ in told(result, "ends", of="job")][:2] == [(START + 180, 1), (START + 240, 2)]


@pytest.mark.parametrize(
    ("load", "first"),
    [(3, 30), ({"least": 2, "most": 3, "waits": "5 min"}, 25), ({"least": 1, "most": 3, "waits": "0 s"}, 10)],
)
def test_a_load_starts_full_or_at_its_least_after_waiting(load: Any, first: float) -> None:
    """Pieces come every 10 minutes. The wait is counted from the first; at least two must be there."""
    plan = works(open_pieces=9).station("saw").station("oven")
    route = plan.route("r", gives="thing")
    route.operation("cut", station="saw", time="10 min")
    route.operation("bake", station="oven", time="1 min", load=load)
    expected = {25: 20}.get(first, first)
    assert times(run(plan), "starts", "bake")[0] == expected


def test_the_time_of_a_load_grows_with_its_pieces() -> None:
    plan = works(open_pieces=4).station("oven")
    plan.route("r", gives="thing").operation("bake", station="oven", time={"fixed": "3 min", "each": "20 s"}, load=4)
    assert times(run(plan), "ends", "bake")[:8] == pytest.approx([13 / 3] * 4 + [26 / 3] * 4)


def test_a_place_is_filled_piece_by_piece_before_its_load_runs() -> None:
    """Putting in is one piece at a time, baking all together, taking out one by one again."""
    plan = works(open_pieces=6).station("oven")
    route = plan.route("r", gives="thing")
    route.operation("put_in", station="oven", time="1 min")
    route.operation("bake", station="oven", time="10 min", load=3)
    route.operation("take_out", station="oven", time="2 min")
    result = run(plan)
    assert times(result, "starts", "bake")[:3] == [3, 3, 3]
    assert times(result, "ends", "take_out")[:3] == [15, 17, 19]
    assert times(result, "starts", "put_in")[3] == 19


def test_a_setup_is_done_once_per_so_many_pieces_and_takes_its_parts() -> None:
    plan = works(open_pieces=4).station("press").item("nozzle", unit="each", buy="1 EUR")
    plan.route("r", gives="thing").operation(
        "stamp", station="press", time="1 min", setup={"time": "5 min", "every": 3, "takes": {"nozzle": 1}}
    )
    result = run(plan)
    assert times(result, "starts", "stamp")[:7] == [5, 6, 7, 13, 14, 15, 21]


def test_a_changeover_is_done_when_the_item_changes() -> None:
    plan = works(open_pieces=1, release="flat out").station("press").item("other", unit="each")
    plan.demand("other", "10 each/day")
    for name, gives in (("r", "thing"), ("q", "other")):
        plan.route(name, gives=gives).operation(
            f"stamp_{gives}", station="press", time="1 min", setup={"time": "4 min", "when": "item changes"}
        )
    result = run(plan)
    assert [m for m, *_ in told(result, "starts")][:4] == [4, 9, 14, 19]


def test_cleaning_follows_every_load_before_the_next_may_come() -> None:
    plan = works(open_pieces=4).station("tank")
    plan.route("r", gives="thing").operation(
        "brew", station="tank", time="10 min", load=2, clean={"after": "load", "time": "3 min"}
    )
    assert sorted(set(times(run(plan), "starts", "brew")))[:3] == [0, 13, 26]


def test_start_up_spoils_the_first_pieces_of_a_shift() -> None:
    plan = works(open_pieces=4).station("press")
    plan.route("r", gives="thing").operation(
        "stamp",
        station="press",
        crew={"fitter": 1},
        time="10 min",
        start={"time": "20 min", "scrap": "2 each", "after": "shift"},
    )
    result = run(plan)
    day = [m for m, *_ in told(result, "scrapped", until=24 * HOUR)]
    assert day == [START + 30, START + 40]
    assert times(result, "finished", "stamp")[0] == START + 50


def test_no_shift_begins_after_a_break_nor_where_one_takes_over_from_another() -> None:
    """Cleaning and start-up by the shift come once a day: at six, not at ten past a break nor at the late shift."""
    plan = works(open_pieces=4).station("press")
    plan.shift("early", hours="06:00-14:00", breaks="09:30-10:00", days="Mon-Sun")
    plan.shift("late", hours="14:00-22:00", breaks="18:00-20:00", days="Mon-Sun")
    plan.crew("hand", people={"early": 1, "late": 1})
    plan.route("r", gives="thing").operation(
        "stamp",
        station="press",
        crew={"hand": 1},
        time="10 min",
        clean={"time": "5 min", "after": "shift"},
        start={"time": "15 min", "scrap": "1 each", "after": "shift"},
    )
    result = run(plan)
    six = 6 * 60
    assert times(result, "starts", "stamp")[:2] == [six + 20, six + 30]
    scrapped = [minute // (24 * 60) for minute, *_ in told(result, "scrapped")]
    assert scrapped == list(range(7))


def test_a_shift_begins_where_the_gap_is_over_two_hours() -> None:
    plan = works(open_pieces=4).station("press")
    plan.shift("split", hours=["06:00-10:00", "12:01-16:00"], days="Mon-Sun")
    plan.crew("hand", people=1, shift="split")
    plan.route("r", gives="thing").operation(
        "stamp",
        station="press",
        crew={"hand": 1},
        time="10 min",
        start={"time": "15 min", "scrap": "1 each", "after": "shift"},
    )
    assert len(told(run(plan), "scrapped", until=24 * HOUR)) == 2


def test_rework_in_the_visit_keeps_the_place_and_takes_nothing_again() -> None:
    """A check that always rejects: one redo, then scrap. Two passes, one part."""
    plan = works(open_pieces=1).station("bench").item("part", unit="each", buy="1 EUR")
    route = plan.route("r", gives="thing")
    route.operation("fit", station="bench", time="2 min", takes={"part": 1}, faults={"gap": "100 %"})
    route.operation(
        "look", station="bench", time="1 min",
        check={"finds": {"gap": "100 %"}, "then": {"rework": "fit", "at_most": 1, "else": "scrap"}},
    )  # fmt: skip
    route.operation("pack", station="bench", time="1 min")
    result = run(plan)
    assert times(result, "starts", "fit")[:4] == [0, 3, 6, 9]
    assert [m for m, *_ in told(result, "scrapped")][:2] == [6, 12]
    assert result.rate.mean == 0


def test_rework_elsewhere_begins_a_new_visit_ahead_of_new_pieces() -> None:
    plan = works(open_pieces=4).station("bench").station("test")
    route = plan.route("r", gives="thing")
    route.operation("fit", station="bench", time="4 min", faults={"gap": "100 %"})
    route.operation(
        "look", station="test", time="1 min",
        check={"finds": {"gap": "100 %"}, "then": {"rework": "fit", "at_most": 1, "else": "scrap"}},
    )  # fmt: skip
    result = run(plan)
    assert [lot for _, lot, *_ in told(result, "starts", of="fit")][:5] == [1, 2, 1, 2, 3]


def baked(load: Any, one_in: int, **look: Any) -> list[tuple[float, int]]:
    """(minute, lot) of what goes into an oven: a piece is cut every 10 minutes, and one that is looked at is pale."""
    plan = works(open_pieces=6).station("saw").station("oven")
    route = plan.route("r", gives="thing")
    route.operation("cut", station="saw", time="10 min")
    route.operation("bake", station="oven", time="5 min", load=load, faults={"pale": "100 %"})
    again = {"rework": "bake", "at_most": 1, "else": "scrap"}
    route.operation("look", time="1 min", check={"finds": {"pale": "100 %"}, "one_in": one_in, "then": again}, **look)
    return [(minute, lot) for minute, lot, *_ in told(run(plan), "starts", of="bake")]


def test_what_is_sent_back_to_a_load_goes_in_with_the_next_pieces() -> None:
    """The third, baked at 30 and sent back at 36, waits for those cut by 40 and 50."""
    assert baked(3, one_in=3)[:6] == [(30, 1), (30, 2), (30, 3), (50, 3), (50, 4), (50, 5)]


def test_what_is_sent_back_to_a_load_waits_no_longer_than_new_pieces_do() -> None:
    """One at least, after a minute: the third goes in at 31, is sent back at 37 and goes in alone at 38."""
    load = {"least": 1, "most": 3, "waits": "1 min"}
    assert baked(load, one_in=3)[:4] == [(11, 1), (21, 2), (31, 3), (38, 3)]


def test_what_is_sent_back_within_the_visit_of_a_load_runs_as_it_is() -> None:
    """Each of three is looked at, the first by 36, and baked by itself before the next: 5 min, looked at, the next."""
    assert [minute for minute, _ in baked(3, one_in=1, station="oven")][:6] == [30, 30, 30, 36, 43, 50]


def test_one_in_n_is_checked_and_rework_always() -> None:
    plan = works(open_pieces=1).station("bench")
    route = plan.route("r", gives="thing")
    route.operation("fit", station="bench", time="1 min", faults={"gap": "100 %"})
    route.operation(
        "look", station="bench", time="1 min",
        check={"finds": {"gap": "100 %"}, "one_in": 4, "then": {"rework": "fit", "at_most": 2, "else": "scrap"}},
    )  # fmt: skip
    result = run(plan)
    ends = [(lot, event) for _, lot, event, _ in told(result, "finished", "scrapped")]
    assert [event for _, event in ends[:4]] == ["finished", "finished", "finished", "scrapped"]


def test_a_stoppage_counts_running_time_and_keeps_the_crew() -> None:
    """Every 30 minutes of running a repair of 10: jobs of 18 minutes end at 18, 46, 64 and 92"""
    plan = works(open_pieces=1).station(
        "press",
        stoppages=[{"name": "jam", "between": {"mean": "30 min", "cv": 1e-6, "shape": "uniform"}, "repair": "10 min"}],
    )
    plan.route("r", gives="thing").operation("stamp", station="press", crew={"fitter": 1}, time="18 min")
    result = run(plan)
    assert times(result, "ends", "stamp")[:4] == pytest.approx(
        [START + 18, START + 46, START + 64, START + 92], abs=0.01
    )
    down = result.state_share.mean[0, result.states.index("down")]
    work = result.state_share.mean[0, result.states.index("working")]
    assert down / work == pytest.approx(1 / 3, rel=0.03)


def test_a_stoppage_on_the_calendar_happens_whether_it_runs_or_not() -> None:
    plan = works(open_pieces=1).station(
        "press",
        stoppages=[
            {
                "name": "service",
                "between": {"mean": "47 h", "cv": 1e-6, "shape": "uniform"},
                "repair": "1 h",
                "clock": "calendar",
            }
        ],
    )
    plan.route("r", gives="thing").operation("stamp", station="press", crew={"fitter": 1}, time="20 min")
    result = run(plan, days=28)
    assert [m / 60 for m, *_ in told(result, "stops")][:3] == pytest.approx([47, 95, 143], abs=0.01)


def test_a_repair_waits_for_its_crew() -> None:
    plan = works(open_pieces=1).station(
        "press",
        stoppages=[
            {
                "name": "jam",
                "between": {"mean": "3 h", "cv": 1e-6, "shape": "uniform"},
                "repair": "1 h",
                "crew": {"fitter": 1},
            }
        ],
    )
    plan.route("r", gives="thing").operation("stamp", station="press", time="5 h")
    result = run(plan)
    assert next(iter(told(result, "stops")))[0] == pytest.approx(180, abs=0.01)
    assert next(iter(told(result, "mended")))[0] == pytest.approx(START + 60)


def test_a_station_with_hours_of_its_own_stops_and_goes_on() -> None:
    plan = works(open_pieces=1).station("press", hours="day")
    plan.route("r", gives="thing").operation("stamp", station="press", time="6 h")
    assert times(run(plan), "ends", "stamp")[:2] == [START + 6 * 60, START + 24 * 60 + 4 * 60]


def test_makers_follow_their_shares() -> None:
    plan = works(open_pieces=1).item("part", unit="each")
    plan.route("a", gives="part", share=0.75).operation("by_hand", time="1 min")
    plan.route("b", gives="part", share=0.25).operation("by_machine", time="1 min")
    plan.route("r", gives="thing").operation("join", time="10 min", takes={"part": 1})
    result = run(plan)
    hand, machine = (result.runs.mean[result.operations.index(name)] for name in ("by_hand", "by_machine"))
    assert hand / (hand + machine) == pytest.approx(0.75, abs=0.01)


def test_takt_lets_in_at_demand_and_makes_again_what_is_scrapped() -> None:
    plan = works(release="takt", demand="48 each/day")
    plan.document["plan"].pop("open_pieces")
    plan.station("bench")
    plan.route("r", gives="thing").operation("fit", station="bench", time="1 min", yield_=0.5)
    result = run(plan, days=28)
    assert result.rate.mean == pytest.approx(48, abs=0.2)
    entered = times(result, "enters", "fit")
    assert entered[0] == START
    assert result.scrapped.mean[0] == pytest.approx(48, rel=0.1)


def test_pull_refills_what_demand_takes_from_stock() -> None:
    plan = works(release="pull", demand="48 each/day", open_pieces=5).station("bench")
    plan.route("r", gives="thing").operation("fit", station="bench", time="1 min")
    result = run(plan, days=28)
    assert result.rate.mean == pytest.approx(48, abs=0.1)
    assert result.stock.mean[result.all_items.index("thing")] == pytest.approx(5, abs=0.1)


def test_pull_counts_what_is_delivered_not_what_is_asked_for() -> None:
    """48 h of work are asked for each day, and 24 h are there: demand waits, and the rate is half of it."""
    plan = works(release="pull", demand="48 each/day", open_pieces=5).station("bench")
    plan.route("r", gives="thing").operation("fit", station="bench", time="60 min")
    result = run(plan, days=28)
    assert result.rate.mean == pytest.approx(24, abs=0.1)


def test_flat_out_keeps_its_open_pieces() -> None:
    plan = works(open_pieces=4).station("bench")
    plan.route("r", gives="thing").operation("fit", station="bench", time="2 min")
    result = run(plan)
    assert result.work_in_progress.mean == pytest.approx(4)
    assert result.time_in_plant.mean == pytest.approx(4 * 120, rel=0.01)


def test_a_piece_becomes_several_and_several_become_one() -> None:
    plan = works(open_pieces=20).station("saw").station("stack")
    plan.item("sheet", unit="sheet", buy="3 EUR")
    route = plan.route("r", gives="thing")
    route.operation("cut", station="saw", time="10 min", takes={"sheet": 1}, gives={"thing": 4})
    route.operation("sand", station="stack", time="1 min")
    result = run(plan)
    assert times(result, "ends", "sand")[:5] == [11, 12, 13, 14, 21]
    assert result.rate.mean == pytest.approx(4 * 144, rel=0.01)


@pytest.mark.parametrize("wanted", [55, 62, 69, 76, 153, 160, 167, 251])
def test_what_fills_a_load_at_a_shared_station_comes_by_whole_loads(wanted: int) -> None:
    """Else half a book of small boards would lie in the saw, enough small panels on hand, and no large one be sawn."""
    plan = works(demand=f"{wanted} each/day", open_pieces=12).station("saw").station("bench")
    plan.item("board", unit="each", buy="5 EUR").item("small", unit="each").item("large", unit="each")
    for size, out in (("small", 25), ("large", 2)):
        plan.route(size, gives=size).operation(
            f"saw_{size}", station="saw", crew="fitter", time="4 min", load=4, takes={"board": 1}, gives={size: out}
        )
    plan.route("kit", gives="thing").operation(
        "pack", station="bench", crew="helper", time="2 min", takes={"small": 1, "large": 1}
    )
    assert simulate(network(plan), days=28, replications=1).rate.mean == pytest.approx(240)


@pytest.mark.parametrize("wanted", [20, 26, 32, 38, 44, 50])
def test_what_fills_two_loads_on_its_way_comes_by_whole_ones_of_the_first(wanted: int) -> None:
    """Books of three boards give 30 small panels, pressed by 40: two books come together, not four boards."""
    plan = works(demand=f"{wanted} each/day", open_pieces=12).station("saw").station("press").station("bench")
    plan.item("board", unit="each", buy="5 EUR").item("small", unit="each").item("large", unit="each")
    for size, out, stack in (("small", 10, 40), ("large", 2, 4)):
        route = plan.route(size, gives=size)
        route.operation(
            f"saw_{size}", station="saw", crew="fitter", time="4 min", load=3, takes={"board": 1}, gives={size: out}
        )
        route.operation(f"press_{size}", station="press", time="3 min", load=stack)
    plan.route("kit", gives="thing").operation(
        "pack", station="bench", crew="helper", time="4 min", takes={"small": 1, "large": 1}
    )
    assert simulate(network(plan), days=28, replications=1).rate.mean == pytest.approx(120, rel=0.01)


def test_alternatives_take_the_free_one() -> None:
    plan = works(open_pieces=3).station("press_a").station("press_b")
    plan.route("r", gives="thing").operation("stamp", station=["press_a", "press_b"], time="6 min")
    assert times(run(plan), "starts", "stamp")[:4] == [0, 0, 6, 6]


def test_escaped_faults_come_with_the_parts() -> None:
    """A fault made in a part is found where the part is used."""
    plan = works(open_pieces=1).item("part", unit="each").station("bench")
    plan.route("p", gives="part").operation("make", time="1 min", faults={"crack": "100 %"})
    route = plan.route("r", gives="thing")
    route.operation("join", station="bench", time="1 min", takes={"part": 1})
    route.operation("look", station="bench", time="1 min", check={"finds": {"crack": "100 %"}, "then": "scrap"})
    result = run(plan)
    assert result.rate.mean == 0
    assert result.scrapped.mean[result.operations.index("look")] > 100


def test_by_products_wait_for_room_in_their_store() -> None:
    plan = works(open_pieces=1).station("saw").station("burner").store("bin", room="3 kg")
    plan.item("dust", unit="kg", store="bin").item("heat", unit="kg")
    plan.demand("heat", "1 kg/day")
    plan.route("r", gives="thing").operation("cut", station="saw", time="1 min", gives={"dust": "1 kg"})
    plan.route("h", gives="heat").operation("burn", station="burner", time={"rate": "6 kg/h"}, takes={"dust": "1 kg"})
    result = run(plan)
    assert result.rates[result.items.index("thing")].mean == pytest.approx(144, rel=0.02)


@pytest.mark.parametrize(("again", "most"), [(False, 1), (True, 3)])
def test_by_products_leave_once_with_the_pass_that_takes_parts(again: bool, most: int) -> None:
    """Every piece is cut three times and then scrapped: one strip each, or three where the passes take again."""
    plan = works(open_pieces=1).station("saw").station("bench").item("bar", unit="each", buy="1 EUR")
    plan.item("strip", unit="each").item("frame", unit="each").demand("frame", "200 each/day")
    route = plan.route("r", gives="thing")
    route.operation("cut", station="saw", time="2 min", takes={"bar": 1}, gives={"strip": 1}, faults={"off": "100 %"})
    redo = {"rework": "cut", "at_most": 2, "else": "scrap", "takes_again": again}
    route.operation("look", station="saw", time="1 min", check={"finds": {"off": "100 %"}, "then": redo})
    plan.route("f", gives="frame").operation("join", station="bench", time="10 s", takes={"strip": 1})
    result = run(plan)
    pieces, frames = len(told(result, "scrapped")), len(times(result, "finished", "join"))
    assert pieces > 300
    assert frames == pytest.approx(most * pieces, abs=most)


def test_zero_time_loops_are_refused_by_name() -> None:
    plan = works(open_pieces=1)
    plan.route("r", gives="thing").operation("wish", time="0 s")
    with pytest.raises(ProblemsError, match="wish is done again and again without any time passing"):
        run(plan)


def test_records_are_in_order_and_written_flat(tmp_path: Any) -> None:
    plan = works(open_pieces=2).station("bench")
    plan.route("r", gives="thing").operation("fit", station="bench", crew={"fitter": 1}, time="3 min")
    trace = run(plan).trace
    assert trace is not None
    assert all(a.time <= b.time for a, b in zip(trace.records, trace.records[1:], strict=False))
    trace.write(tmp_path / "trace.csv")
    lines = (tmp_path / "trace.csv").read_text().splitlines()
    assert lines[0] == "time,item,lot,operation,station,crew,event,speed"
    assert f"{START * 60},thing,1,fit,bench,fitter,starts," in lines
    assert trace.records[0] == Record(0, "thing", 1, "fit", "", "", "enters")
