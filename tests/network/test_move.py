"""A plan with operations moved to balanced stations, and a part of a plan on its own."""

from __future__ import annotations

from pathlib import Path

import pytest

from linewright.base.problems import Problems
from linewright.network import Network, compile_network
from linewright.network.move import Moves, move_operations
from linewright.plan import PlanBuilder, read_plan
from linewright.plan.read import read_document

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def works() -> Network:
    plan = PlanBuilder("Stools", makes="stool", demand="40 each/day", money="EUR")
    plan.item("stool", unit="each").item("seat", unit="each").item("board", unit="each", buy="3 EUR")
    plan.shift("day", hours="06:00-14:00").shift("late", hours="14:00-22:00")
    plan.crew("joiner", people={"day": 4, "late": 2}, wage="20 EUR/h", allowance="10 %").crew(
        "painter", people=1, shift="day"
    )
    plan.station("saw", between_stops="10 h", repair="10 min", machine_rate="4 EUR/h", hazards=["noise"])
    plan.station("bench", places=3, stoppages=[{"name": "lamp", "between": "90 h", "repair": "5 min"}])
    plan.route("seat", gives="seat").operation(
        "saw_seat", station="saw", crew="joiner", time="2 min", takes={"board": 1}
    )
    route = plan.route("stool", gives="stool").operation(
        "legs", station="saw", crew="joiner", time="3 min", takes={"seat": 1, "board": 1}
    )
    route.operation("glue", station="bench", crew={"joiner": 2}, time="4 min")
    route.operation("paint", station="bench", crew="painter", time="4 min")
    plan.line("main", routes="stool")
    return compile_network(plan.build())


def people(network: Network) -> dict[str, dict[str, int]]:
    return {crew.id: dict(crew.people) for crew in network.plan.crews.values()}


def test_a_moved_plan_is_what_its_document_says(works: Network) -> None:
    plan = move_operations(works.plan, Moves({"glue": "line_1"}, {"line_1": 2}, {"line_1": {"joiner": 2}}))
    problems = Problems()
    assert read_document(plan.document, Path(plan.folder), problems) == plan
    assert not problems.errors


def test_a_change_after_a_move_keeps_the_move(works: Network) -> None:
    moved = works.with_stations({"legs": "line_1", "glue": "line_1"})
    changed = moved.change("stations.line_1.places", 2)
    assert changed.plan.routes["stool"].operations[1].station == ("line_1",)
    assert changed.stations.places.tolist() == [1, 3, 2]
    assert moved.fingerprint not in (works.fingerprint, changed.fingerprint)
    assert works.plan.routes["stool"].operations[1].station == ("bench",)


def test_a_new_station_takes_over_stoppages_and_hazards(works: Network) -> None:
    station = works.with_stations({"legs": "line_1", "glue": "line_1"}).plan.stations["line_1"]
    assert [s.name for s in station.stoppages] == ["stoppage", "lamp"]
    assert station.hazards == ("noise",)
    assert station.hours == ()


def test_people_stay_at_their_station_on_every_shift(works: Network) -> None:
    moved = works.with_stations(Moves({"legs": "line_1", "glue": "line_2"}, people={"line_1": {"joiner": 1}}))
    assert people(moved) == {
        "joiner": {"day": 3, "late": 1},
        "painter": {"day": 1},
        "joiner_at_line_1": {"day": 1, "late": 1},
    }
    assert moved.plan.routes["stool"].operations[0].crew == {"joiner_at_line_1": 1.0}
    assert moved.plan.crews["joiner_at_line_1"].wage == works.plan.crews["joiner"].wage


def test_an_operation_for_two_brings_a_second_person(works: Network) -> None:
    moved = works.with_stations(Moves({"glue": "line_1"}, people={"line_1": {"joiner": 1}}))
    assert people(moved)["joiner_at_line_1"]["day"] == 2
    assert moved.plan.routes["stool"].operations[1].crew == {"joiner_at_line_1": 2.0}


def test_a_person_of_another_crew_takes_the_work_over_and_a_crew_left_without_work_goes(works: Network) -> None:
    moved = works.with_stations(Moves({"paint": "line_1"}, people={"line_1": {"joiner": 1}}))
    assert moved.plan.routes["stool"].operations[2].crew == {"joiner_at_line_1": 1.0}
    both = works.with_stations(Moves({"paint": "line_1"}, people={"line_1": {"painter": 1}}))
    assert "painter" not in people(both)


def test_a_crew_that_does_not_exist(works: Network) -> None:
    with pytest.raises(KeyError, match="no crew"):
        works.with_stations(Moves({"paint": "line_1"}, people={"line_1": {"panter": 1}}))


def test_a_part_of_a_plan_has_what_others_make_at_hand(works: Network) -> None:
    part = works.only(["stool"], {"stool": 12.5})
    assert part.routes.ids == ("stool",)
    assert part.operations.ids == ("legs", "glue", "paint")
    assert part.items.free[part.items.ids.index("seat")]
    assert not part.items.free[part.items.ids.index("board")]
    assert part.items.demand[part.items.ids.index("stool")] == 12.5


@pytest.mark.parametrize(
    ("name", "line"), [("trailer", "build"), ("boot", "closing"), ("boot", "making"), ("hivekit", "packing")]
)
def test_the_lines_of_the_examples_stand_alone(name: str, line: str) -> None:
    network = compile_network(read_plan(EXAMPLES / f"{name}.toml"))
    plan = network.written
    routes = plan.lines[line].routes
    part = network.only(routes, {plan.routes[routes[-1]].gives: 10})
    every = part.operations.ids if part.origin is None else part.origin.operations
    assert set(every) == {o.id for route in routes for o in plan.routes[route].operations}
    assert part.problems == ()


def test_a_part_of_a_plan_keeps_what_its_stations_run_on() -> None:
    part = compile_network(read_plan(EXAMPLES / "reedboard.toml")).only(["raw_board", "board"], {"board": 900.0})
    assert part.utilities.ids == ("electricity",)
    assert part.stations.running[part.stations.ids.index("hot_press")] == 64.0


def test_lines_forget_machines_that_their_operations_have_left() -> None:
    plan = read_plan(EXAMPLES / "trailer.toml").change("lines.build.machines", ["wrap_bay", "hoist"])
    moved = move_operations(plan, Moves({"wrap": "build_1"}))
    assert moved.lines["build"].machines == ("hoist",)
    assert plan.lines["build"].machines == ("wrap_bay", "hoist")


def test_a_machine_that_runs_alone_stays_and_operations_come_in_order_of_the_stations(works: Network) -> None:
    moves = Moves(
        {"legs": "line_1", "paint": "line_1", "glue": "line_2"},
        people={"line_1": {"joiner": 1}},
        stays=("legs",),
        order=("legs", "paint", "glue"),
    )
    rows = works.with_stations(moves).plan.routes["stool"].operations
    assert [o.id for o in rows] == ["legs", "paint", "glue"]
    assert [o.station for o in rows] == [("saw",), ("line_1",), ("line_2",)]
    assert rows[0].crew == rows[1].crew == {"joiner_at_line_1": 1.0}
    assert [o.after for o in rows] == [(), ("glue",), ("legs",)]
