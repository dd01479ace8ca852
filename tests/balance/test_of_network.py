"""A line of a plan as a problem of balancing, by hand; and its balance as the plan would have it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from linewright.balance.line_balance import balance_line, curve_of
from linewright.balance.of_network import line_of
from linewright.base.problems import ProblemsError
from linewright.flow import solve_flow
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder, read_plan

EXAMPLES = Path(__file__).parents[2] / "examples"


def works(line: dict[str, Any] | None = None, **more: dict[str, Any]) -> Network:
    """Two hands and a painter make 60 stools a day in 8 h: takt 480 s. ``more``: fields of operations, by id."""
    plan = PlanBuilder("Stools", makes="stool", demand="60 each/day", money="EUR")
    plan.item("stool", unit="each").item("seat", unit="each").item("board", unit="each", buy="3 EUR")
    plan.shift("day", hours="06:00-14:00")
    plan.crew("joiner", people=3, shift="day", wage="20 EUR/h", allowance="10 %")
    plan.crew("painter", people=1, shift="day", wage="26 EUR/h")
    plan.station("saw").station("bench", places=3).station("rack", places=40).tool("jig", count=1)
    seat, stool = plan.route("seat", gives="seat"), plan.route("stool", gives="stool")
    operations: dict[str, dict[str, Any]] = {
        "saw": {"station": "saw", "crew": "joiner", "time": "100 s", "takes": {"board": 1}},
        "legs": {"station": "bench", "crew": "joiner", "time": "200 s", "takes": {"board": 1}},
        "glue": {"station": "bench", "crew": {"joiner": 2}, "time": "120 s", "takes": {"seat": 1}},
        "dry": {"station": "rack", "stand": "2 h"},
        "sand": {"station": "bench", "crew": "joiner", "time": "60 s"},
        "paint": {"station": "bench", "crew": "painter", "time": "300 s"},
    }
    for id, fields in operations.items():
        (seat if id == "saw" else stool).operation(id, **{**fields, **more.get(id, {})})
    plan.line("main", **{"routes": ["seat", "stool"], **(line or {})})
    return compile_network(plan.build())


def pairs(network: Network) -> set[tuple[str, str]]:
    line = line_of(network, "main").line
    return {(line.names[a], line.names[b]) for a, b in line.pairs}


def seconds(network: Network, **arguments: Any) -> dict[str, float]:
    line = line_of(network, "main", **arguments).line
    return {name: line.amount(int(line.times[i])) for i, name in enumerate(line.names)}


def test_times_are_standard_times_and_a_rack_is_no_task() -> None:
    assert seconds(works()) == {"saw": 110, "legs": 220, "glue": 132, "sand": 66, "paint": 300}
    assert any("dry" in said for said in line_of(works(), "main").assumptions)


def test_order_is_the_operation_above_through_what_nobody_does_and_from_the_part_to_its_user() -> None:
    assert pairs(works()) == {("legs", "glue"), ("saw", "glue"), ("glue", "sand"), ("sand", "paint")}


def test_order_as_written() -> None:
    network = works(sand={"after": "legs"}, paint={"after": ["glue", "sand"]})
    assert pairs(network) == {
        ("legs", "glue"), ("saw", "glue"), ("legs", "sand"), ("glue", "paint"), ("sand", "paint")
    }  # fmt: skip


def test_a_check_comes_after_the_fault_it_finds_and_what_it_sends_back_to() -> None:
    check = {"finds": {"gap": "90 %"}, "then": {"rework": "glue", "at_most": 1, "else": "scrap"}}
    network = works(
        legs={"faults": {"gap": "2 %"}},
        glue={"after": []},
        sand={"after": []},
        paint={"after": "sand", "check": check},
    )
    assert {("legs", "paint"), ("glue", "paint")} <= pairs(network)


def test_takt_from_demand_and_the_hours_that_the_crews_share() -> None:
    line = line_of(works(), "main")
    assert (line.takt, line.pieces) == (480, 60)
    assert line_of(works({"takt": "7 min"}), "main").takt == 420
    assert line_of(works({"stations": 3}), "main").stations == 3


def test_a_load_is_shared_by_its_pieces_and_runs_count() -> None:
    network = works(sand={"load": 4, "time": {"fixed": "60 s", "each": "10 s"}})
    assert seconds(network)["sand"] == pytest.approx(1.1 * (60 + 4 * 10) / 4)
    runs = [60.0, 66.0, 60.0, 60.0, 60.0, 60.0]
    assert seconds(works(), runs=runs)["legs"] == pytest.approx(220 * 1.1)


def test_hands_on_time_alone_counts_and_setups_are_spread() -> None:
    network = works(paint={"hands_on": {"start": "20 s", "end": "10 s"}}, legs={"setup": "5 min", "every": 50})
    assert seconds(network)["paint"] == 30
    assert seconds(network)["legs"] == pytest.approx(220 + 330 / 50)
    assert line_of(network, "main").stays == ("paint",)


def test_each_station_has_one_crew_and_the_pair_at_the_glue_counts_as_two_people() -> None:
    found = balance_line(works(), "main")
    assert [(p.crew, p.operations, p.people) for p in found.posts] == [
        ("joiner", found.posts[0].operations, found.posts[0].people),
        ("joiner", found.posts[1].operations, found.posts[1].people),
        ("painter", ("paint",), 1),
    ]
    assert found.balance.honesty.status == "proved"
    assert max(p.people for p in found.posts) == 2
    assert found.people == 4
    # 110 + 220 + 2 x 132 + 66 + 300 s of people's time, four people for 480 s
    assert found.labour_efficiency == pytest.approx(960 / (4 * 480))


def test_transport_is_done_by_whoever_is_there_and_a_load_gathers_where_it_did() -> None:
    network = works(sand={"crew": "painter", "move": {"lot": 4, "time": "60 s"}, "time": None, "station": None})
    line = line_of(network, "main")
    assert "sand" not in line.line.rules.skill
    assert line.stays == ("sand",)
    posts = balance_line(network, "main").posts
    assert {p.crew for p in posts if p.operations != ("sand",)} == {"joiner", "painter"}


def test_rules_of_the_line_reach_the_balance() -> None:
    network = works(
        {
            "together": [["legs", "glue"], ["dry", "glue"]],
            "apart": [["saw", "sand"]],
            "sides": {"legs": "left", "sand": "either", "dry": "left"},
            "machines": ["saw", "jig"],
            "zones": {"wet": [3, 4]},
            "fixed": {"paint": [4, 5]},
            "within": "90 %",
            "strain": {"legs": 2, "sand": 1.5},
            "strain_limit": 3,
            "skills": {"joiner": ["painter"]},
            "station_cost": "4 EUR/h",
            "current": "as planned",
        },
        glue={"uses": {"jig": 1}},
        paint={"zone": "wet", "time": {"mean": "200 s", "cv": 0.2}},
    )
    rules = line_of(network, "main").line.rules
    assert rules.asked == (
        "fixed", "together", "apart", "tools", "skill", "variance", "strain", "current"
    )  # fmt: skip
    assert rules.together == (("legs", "glue"),)
    assert rules.side == {"legs": "left"}
    assert rules.fixed == {"paint": (4,)}
    assert (rules.tools, rules.uses) == ({"saw": 1, "jig": 1}, {"saw": ("saw",), "glue": ("jig",)})
    assert rules.crews["joiner"].skills == ("joiner", "painter", "joiner, 2 at once")
    assert (rules.crews["joiner"].people, rules.crews["painter"].wage) == (3, pytest.approx(26))
    assert rules.station_cost == pytest.approx(4)
    assert rules.current == {"saw": 1, "legs": 2, "glue": 2, "sand": 2, "paint": 2}
    line = line_of(network, "main").line
    assert rules.variance is not None
    tick = float(line.resolution)
    assert rules.variance[line.index["paint"]] * tick**2 == pytest.approx(40**2, rel=1e-6)


def test_cross_skilled_people_are_limited_by_how_many_there_are() -> None:
    network = works({"skills": {"painter": ["joiner"]}, "takt": "320 s"})
    found = balance_line(network, "main")
    assert sum(p.crew == "painter" for p in found.posts) <= 1
    assert {p.crew for p in found.posts if "paint" in p.operations} == {"painter"}


def test_only_a_crew_of_two_can_stand_in_where_two_are_needed_at_once() -> None:
    network = works({"skills": {"painter": ["joiner"]}})
    rules = line_of(network, "main").line.rules
    assert rules.skill["glue"] == "joiner, 2 at once"
    assert "joiner, 2 at once" in rules.crews["joiner"].skills
    assert "joiner, 2 at once" not in rules.crews["painter"].skills


def test_two_people_at_a_station_pace_it_by_when_the_last_is_through() -> None:
    """Saw 110 beside legs 220, then 132 and 66: two joiners need 418 s where one would need 528 s of the 480 s."""
    found = balance_line(works({"people": 2}), "main")
    first = found.posts[0]
    assert found.balance.count == 2
    assert (first.operations[-1], first.load) == ("sand", 528)
    assert first.use == pytest.approx(528 / 960)
    assert found.pace == 418


def test_a_mixed_line_weighs_its_products_and_limits_the_worst() -> None:
    plan = PlanBuilder("Two", money="EUR").item("red", unit="each").item("blue", unit="each")
    plan.demand("red", "60 each/day").demand("blue", "20 each/day")
    plan.shift("day", hours="06:00-14:00").crew("hand", people=3, shift="day")
    plan.route("r", gives="red").operation("cut_red", crew="hand", time="100 s").operation(
        "sew_red", crew="hand", time="200 s"
    )
    plan.route("b", gives="blue").operation("cut_blue", crew="hand", time="300 s")
    plan.line("main", routes=["r", "b"], worst_model="110 %")
    network = compile_network(plan.build())
    line = line_of(network, "main", runs=[60.0, 60.0, 20.0])
    assert line.takt == 28800 / 80
    tick = float(line.line.resolution)
    assert [float(t) * tick for t in line.line.times] == [75, 150, 75]
    rules = line.line.rules
    assert rules.models == ("red", "blue")
    assert rules.mix == (0.75, 0.25)
    assert rules.model_times is not None
    assert (rules.model_times * tick).tolist() == [[100, 200, 0], [0, 0, 300]]
    assert rules.asked == ("models",)


FAULTS: dict[str, tuple[dict[str, Any], str, str]] = {
    "too long": ({"takt": "200 s"}, "routes.stool.operations[legs]", "longer than the takt"),
    "fixed against order": ({"fixed": {"glue": 1, "legs": 2}}, "lines.main.fixed", "comes after"),
    "together and fixed": (
        {"together": [["legs", "glue"]], "fixed": {"legs": 1, "glue": 2}},
        "lines.main.together",
        "fixed to different stations",
    ),
    "strain": ({"strain": {"legs": 9}, "strain_limit": 3}, "lines.main.strain.legs", "over the limit"),
    "zone and fixed": ({"zones": {"wet": [1]}, "fixed": {"paint": 2}}, "lines.main.fixed.paint", "numbered from 1"),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_line_at_fault_is_placed_in_the_plan(name: str) -> None:
    line, path, what = FAULTS[name]
    network = works(line, paint={"zone": "wet"})
    with pytest.raises(ProblemsError) as wrong:
        balance_line(network, "main")
    assert any(p.path == path and what in p.what for p in wrong.value.problems), wrong.value


def test_a_takt_that_does_not_follow_from_the_plan() -> None:
    network = works({"routes": ["seat"]})
    with pytest.raises(ProblemsError, match="no takt follows"):
        balance_line(network, "main")
    assert balance_line(network, "main", takt=200).balance.count == 1
    assert line_of(network, "main", runs=[60.0] * 6).takt == 480


def test_no_such_line() -> None:
    with pytest.raises(ProblemsError, match='did you mean "main"'):
        balance_line(works(), "mian")


def test_the_moves_put_the_route_in_order_of_the_stations() -> None:
    found = balance_line(works(sand={"after": "legs"}, paint={"after": ["glue", "sand"]}), "main")
    order = found.moves().order
    at = {operation: post.number for post in found.posts for operation in post.operations}
    assert [at[o] for o in order if o in at] == sorted(at.values())
    assert order.index("dry") > order.index("glue")
    assert found.moves().people[found.posts[-1].id] == {"painter": 1}


def test_the_curve_falls_as_stations_are_added() -> None:
    found = curve_of(balance_line(works({"routes": ["seat", "stool"]}), "main"), 1, seconds=60)
    assert found.curve is not None
    takts = [b.takt for b in found.curve.balances if b.stations]
    assert len(takts) >= 2
    assert takts == sorted(takts, reverse=True)  # type: ignore[type-var]


@pytest.mark.parametrize(
    ("name", "line", "crews"),
    [("trailer", "build", 3), ("boot", "closing", 6), ("boot", "making", 6), ("hivekit", "packing", 1)],
)
def test_the_lines_of_the_examples_are_balanced(name: str, line: str, crews: int) -> None:
    network = compile_network(read_plan(EXAMPLES / f"{name}.toml"))
    found = balance_line(network, line, runs=solve_flow(network).runs.tolist(), seconds=5)
    assert found.balance.stations
    assert found.yes
    assert len({p.crew for p in found.posts}) == crews
    assert sorted(o for p in found.posts for o in p.operations) == sorted(found.line.line.names)


@pytest.mark.parametrize(("people", "pace", "counted"), [(2, 1.0, True), (1, 1.0, False), (2, 0.9, False)])
def test_what_all_of_a_crew_can_do_counts_as_a_skill_of_the_line(people: int, pace: float, counted: bool) -> None:
    """Two fitters stand in for the wirer at any of their stations, if both can and are as fast."""
    plan = PlanBuilder("Harrow Fen Works, a line", money="EUR", makes="thing", demand="100 each/day")
    plan.item("thing", unit="each").shift("day", hours="08:00-16:00").line("main", routes=["r"])
    plan.crew("fitter", people=2, shift="day", can={"wirer": {"people": people, "pace": pace}})
    plan.crew("wirer", people=1, shift="day")
    route = plan.route("r", gives="thing").operation("fit", crew="fitter", time="2 min")
    route.operation("wire", crew="wirer", time="1 min")
    found = line_of(compile_network(plan.build()), "main")
    assert ("wirer" in found.line.rules.crews["fitter"].skills) == counted
    assert any("left out: fitter for wirer" in said for said in found.assumptions) != counted


STEPS = ("stamp", "pull", "tack", "brush", "off", "lace")


def formed() -> Network:
    """A shoe is pulled over a last, lasted and taken off it; `after` leaves all of it free."""
    plan = PlanBuilder("Shoes", makes="shoe", demand="60 each/day", money="EUR").item("shoe", unit="each")
    plan.shift("day", hours="06:00-14:00").crew("laster", people=4, shift="day").station("bench", places=4)
    plan.document["carriers"] = {"last": {"count": 40, "from": "pull", "to": "off"}}
    route = plan.route("shoe", gives="shoe")
    for id in STEPS:
        route.operation(id, station="bench", crew="laster", time="60 s", after=[])
    plan.line("main", routes=["shoe"])
    return compile_network(plan.build())


def test_nothing_moves_past_where_a_piece_gets_on_or_off_its_carrier() -> None:
    """Only what is done on the last changes places."""
    found = pairs(formed())
    on_it = {(a, b) for a in ("tack", "brush") for b in ("tack", "brush")}
    every = {(a, b) for k, a in enumerate(STEPS) for b in STEPS[k + 1 :]}
    assert found <= every - on_it
    assert {("stamp", "pull"), ("pull", "tack"), ("pull", "brush"), ("tack", "off"), ("brush", "off")} <= found
    balance = balance_line(formed(), "main", stations=3)
    order = [name for post in balance.posts for name in post.operations]
    assert order.index("stamp") < order.index("pull") < order.index("off") < order.index("lace")
