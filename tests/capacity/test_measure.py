"""Small plans whose capacity can be worked out by hand."""

from __future__ import annotations

import math

import pytest

from linewright.capacity import Capacity, measure_capacity
from linewright.flow import solve_flow
from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import simulate


def plan(demand: str = "40 each/day", hours: str = "06:00-14:00", people: int = 1, **fields: object) -> PlanBuilder:
    """One product from one bought part, one crew on one eight-hour shift, Monday to Friday."""
    builder = PlanBuilder("Small", money="EUR", makes="stool", demand=demand, **fields)
    builder.item("stool", unit="each").item("part", unit="each", buy="1 EUR")
    builder.shift("day", hours=hours, days="Mon-Fri").crew("hand", people=people, shift="day", wage="20 EUR/h")
    return builder


def measure(builder: PlanBuilder) -> Capacity:
    network = compile_network(builder.build())
    return measure_capacity(network, solve_flow(network))


def test_one_place_one_person() -> None:
    builder = plan()
    builder.station("bench", places=1)
    builder.route("main", gives="stool").operation(
        "fit", station="bench", crew={"hand": 1}, time="10 min", takes={"part": 1}
    )
    found = measure(builder)
    assert found.multiple == pytest.approx(48 / 40, rel=1e-12)
    assert found.wanted[0].rate == pytest.approx(48.0)
    assert found.wanted[0].takt == pytest.approx(8 * 3600 / 40)
    assert found.effective_hours == pytest.approx(8.0)
    assert found.makes
    assert found.honesty.status == "exact"
    bench = found.of("station", "bench")
    assert bench.hours.working == pytest.approx(40 / 6)
    assert bench.use == pytest.approx(40 / 48)
    assert bench.needed == 1


def test_too_much_is_asked_for() -> None:
    builder = plan(demand="100 each/day")
    builder.station("bench", places=1)
    builder.route("main", gives="stool").operation(
        "fit", station="bench", crew={"hand": 1}, time="10 min", takes={"part": 1}
    )
    found = measure(builder)
    assert not found.makes
    assert found.multiple == pytest.approx(0.48)
    assert found.of("station", "bench").needed == 3
    assert found.of("crew", "hand").needed == 3
    assert "cannot be made" in found.why


def test_a_crew_that_works_in_fours() -> None:
    builder = plan(people=6)
    builder.station("bench", places=9)
    builder.route("main", gives="stool").operation(
        "lift", station="bench", crew={"hand": 4}, time="10 min", takes={"part": 1}
    )
    found = measure(builder)
    assert found.wanted[0].rate == pytest.approx(48.0)  # one at a time; by person-hours it would be 72
    assert found.of("crew", "hand").most == pytest.approx(48 / 40)
    assert found.bottleneck is not None
    assert found.bottleneck.id == "hand"


def test_machines_that_run_alone_need_hands_only_at_the_ends() -> None:
    builder = plan(demand="20 each/day", hours="00:00-24:00")
    builder.station("mill", places=2)
    builder.route("main", gives="stool").operation(
        "mill", station="mill", crew={"hand": 1}, time="30 min", hands_on={"start": "3 min", "end": "2 min"},
        takes={"part": 1},
    )  # fmt: skip
    found = measure(builder)
    assert found.of("crew", "hand").most == pytest.approx(24 * 60 / 5 / 20)
    # Two mills round the clock, Monday to Friday, and one run each that may go on into Saturday.
    assert found.of("station", "mill").most == pytest.approx((5 * 24 + 0.5) * 2 * 2 / (20 * 5), rel=0.01)


def test_setups_and_cleaning_take_time() -> None:
    builder = plan(demand="30 each/day")
    builder.station("press", places=1)
    builder.route("main", gives="stool").operation(
        "press", station="press", crew={"hand": 1}, time="10 min", takes={"part": 1},
        setup={"time": "20 min", "every": "10 each"}, clean={"after": "every", "every": "5 each", "time": "5 min"},
    )  # fmt: skip
    found = measure(builder)
    hours = found.of("station", "press").hours
    assert hours.working == pytest.approx(5.0)
    assert hours.setting_up == pytest.approx(1.0)
    assert hours.cleaning == pytest.approx(0.5)
    assert found.wanted[0].rate == pytest.approx(8 * 60 / (10 + 2 + 1))


def test_loads_share_one_cycle() -> None:
    builder = plan(demand="120 each/day")
    builder.station("oven", places=1)
    builder.route("main", gives="stool").operation(
        "bake", station="oven", crew={"hand": 1}, time={"fixed": "20 min", "each": "1 min"}, load=12, takes={"part": 1}
    )
    assert measure(builder).wanted[0].rate == pytest.approx(8 * 60 / 32 * 12)


def test_either_of_two_stations() -> None:
    """Sawing can be done at either; drilling only at the second: the work is shared out evenly."""
    builder = plan(people=9)
    builder.station("one").station("two")
    builder.route("main", gives="stool").operation(
        "saw", station=["one", "two"], crew={"hand": 1}, time="12 min", takes={"part": 1}
    ).operation("drill", station="two", crew={"hand": 1}, time="6 min")
    found = measure(builder)
    assert found.wanted[0].rate == pytest.approx(2 * 480 / 18)
    one, two = found.of("station", "one"), found.of("station", "two")
    assert one.use == pytest.approx(two.use)
    assert found.bounds[0].kind == "shared stations"


def test_a_shared_tool() -> None:
    builder = plan(people=9)
    builder.station("a").station("b").tool("robot", count=1)
    builder.route("main", gives="stool").operation(
        "weld", station="a", crew={"hand": 1}, time="6 min", uses={"robot": 1}, takes={"part": 1}
    ).operation("grind", station="b", crew={"hand": 1}, time="8 min", uses={"robot": 1})
    found = measure(builder)
    assert found.wanted[0].rate == pytest.approx(480 / 14)
    assert found.bottleneck is not None
    assert found.bottleneck.kind == "tool"


def test_stoppages_round_the_clock() -> None:
    builder = PlanBuilder("Mill", money="EUR", makes="meal", demand="10 t/day")
    builder.item("meal", unit="kg").item("grain", unit="kg", buy="1 EUR")
    builder.station("mill", stoppages=[{"name": "jam", "between": "9 h", "repair": "1 h"}])
    builder.route("main", gives="meal").operation(
        "mill", station="mill", time={"rate": "1 t/h"}, takes={"grain": "1 kg"}
    )
    found = measure(builder)
    assert found.wanted[0].rate == pytest.approx(24_000 * 0.9, rel=1e-9)
    effective = found.effectiveness[0]
    assert effective.availability == pytest.approx(0.9)
    assert effective.effectiveness == pytest.approx(1.0)


def test_rework_is_shown_beside_working() -> None:
    builder = plan(demand="20 each/day", people=4)
    builder.station("bench", places=4)
    builder.route("main", gives="stool").operation(
        "fit", station="bench", crew={"hand": 1}, time="10 min", takes={"part": 1}, faults={"gap": "20 %"}
    ).operation(
        "look", crew={"hand": 1}, time="2 min",
        check={"finds": {"gap": "100 %"}, "then": {"rework": "fit", "at_most": 1, "else": "scrap"}},
    )  # fmt: skip
    found = measure(builder)
    bench = found.of("station", "bench")
    # Of 100 started 20 are done again and 4 of these are lost: 96 good of 120 runs.
    assert bench.hours.working + bench.hours.reworking == pytest.approx(20 / 0.96 * 1.2 / 6)
    assert bench.hours.reworking / bench.hours.working == pytest.approx(0.2)
    assert found.effectiveness[0].quality_ratio == pytest.approx(1 / 1.2)


def test_the_oven_that_waits_for_the_morning() -> None:
    """The counter-example of the meaning page: 2.00 a day, and a bound, not the truth of every plan."""
    builder = PlanBuilder("Night", money="EUR", makes="pot", demand="2 each/day")
    builder.item("pot", unit="each").item("clay", unit="kg", buy="1 EUR")
    builder.shift("day", hours="08:00-16:00", days="Mon-Sun").crew("hand", people=1, shift="day").station("oven")
    builder.route("main", gives="pot").operation(
        "load", station="oven", crew={"hand": 1}, time="10 min", takes={"clay": "1 kg"}
    ).operation("age", station="oven", stand="5 h").operation("unload", station="oven", crew={"hand": 1}, time="5 min")
    found = measure(builder)
    assert found.wanted[0].rate == pytest.approx(2.0, rel=1e-12)
    assert found.binds is not None
    assert found.binds.kind == "calendar cycle"
    assert found.honesty.status == "bound"
    standing = next(b for b in found.bounds if b.kind == "standing")
    assert standing.rate == pytest.approx(13 / 5.25)


def test_work_that_must_fit_before_the_break() -> None:
    builder = plan(demand="10 each/day")
    builder.document["shifts"]["day"] = {"hours": "06:00-14:00", "breaks": ["10:00-10:30"], "days": "Mon-Fri"}
    builder.station("bench")
    builder.route("main", gives="stool").operation(
        "glue", station="bench", crew={"hand": 1}, time="50 min", stop="fits", takes={"part": 1}
    )
    # 240 min hold four, 210 min hold four: eight, where 450 / 50 says nine.
    assert measure(builder).wanted[0].rate == pytest.approx(8.0)


def test_work_that_is_finished_after_the_bell() -> None:
    builder = plan(demand="5 each/day")
    builder.station("bench")
    builder.route("main", gives="stool").operation(
        "weld", station="bench", crew={"hand": 1}, time="100 min", stop="finish", takes={"part": 1}
    )
    found = measure(builder)
    assert found.wanted[0].rate == pytest.approx(5.0)  # four within 480 min, and the fifth ends 20 min late
    assert found.makes


def test_what_circulates_limits_the_rate() -> None:
    """Three forms go round: 10 min filling, 20 min standing, 6 min emptying: at most 3 in 36 min; places allow more."""
    builder = PlanBuilder("Forms", money="EUR", makes="block", demand="50 each/day")
    builder.item("block", unit="each").item("mix", unit="kg", buy="1 EUR").item("form", unit="each", stock=3)
    builder.item("full", unit="each").station("fill", places=9).station("empty", places=9)
    builder.route("filling", gives="full").operation(
        "fill", station="fill", time="10 min", takes={"mix": "1 kg", "form": 1}
    ).operation("set", stand="20 min")
    builder.route("emptying", gives="block").operation(
        "empty", station="empty", time="6 min", takes={"full": 1}, gives={"block": 1, "form": 1}
    )
    found = measure(builder)
    assert found.wanted[0].rate == pytest.approx(24 * 60 / 36 * 3)
    assert found.binds is not None
    assert found.binds.kind == "cycle"
    assert "fill" in found.binds.where


def test_no_stations_and_no_times() -> None:
    builder = PlanBuilder("Thought", money="EUR", makes="stool", demand="40 each/day")
    builder.item("stool", unit="each").item("part", unit="each", buy="1 EUR")
    builder.route("main", gives="stool").operation("wish", time="10 min", takes={"part": 1})
    found = measure(builder)
    assert found.multiple == math.inf
    assert found.bottleneck is None
    assert found.binds is None
    assert found.makes
    assert found.to_dict()["multiple"] is None


def test_tables_and_names() -> None:
    builder = plan()
    builder.station("bench", places=1)
    builder.route("main", gives="stool").operation(
        "fit", station="bench", crew={"hand": 1}, time="10 min", takes={"part": 1}
    )
    found = measure(builder)
    assert {row[1] for row in found.to_table().rows} == {"bench", "hand"}
    assert [row[0] for row in found.bounds_table().rows] == ["load", "load"]
    assert found.wanted_table().rows[0][:2] == ("stool", "each")
    with pytest.raises(KeyError):
        found.of("crew", "nobody")


def test_changeovers_by_a_table_and_by_the_mix() -> None:
    """Two items alternate on one press: every load changes over, A to B in 6 min, B to A in 2 min."""
    builder = PlanBuilder("Two", money="EUR")
    builder.item("a", unit="each").item("b", unit="each").item("raw", unit="each", buy="1 EUR")
    builder.shift("day", hours="06:00-14:00").crew("hand", people=1, shift="day").station("press")
    builder.demand("a", "20 each/day").demand("b", "20 each/day")
    for item in ("a", "b"):
        builder.route(f"make_{item}", gives=item).operation(
            f"press_{item}", station="press", crew={"hand": 1}, time="5 min", takes={"raw": 1},
            setup={"when": "item changes", "table": {"a": {"b": "6 min"}, "b": {"a": "2 min"}}},
        )  # fmt: skip
    found = measure(builder)
    press = found.of("station", "press")
    assert press.hours.setting_up == pytest.approx((20 * 6 + 20 * 2) / 60)
    assert press.hours.working == pytest.approx(40 * 5 / 60)
    # The bound leaves changeovers out: longer campaigns need fewer.
    assert found.wanted[0].rate == pytest.approx(480 / 10)
    assert any("even mix" in text for text in found.assumptions)


def test_standing_places_are_there_while_pieces_come() -> None:
    # 40 pieces in an 8 h shift, each standing 2 h with nobody by: 80 h a day in 8 h, and 2 h more of the evening.
    # By the hours of the week alone (33.6 h for each of five working days) three places would seem to do.
    builder = plan()
    builder.station("bench", places=1).station("rack", places=12)
    route = builder.route("main", gives="stool")
    route.operation("fit", station="bench", crew={"hand": 1}, time="10 min", takes={"part": 1})
    route.operation("cool", station="rack", stand="2 h")
    rack = measure(builder).of("station", "rack")
    assert rack.needed == 8  # 80 h over 10 h
    assert rack.hours.standing == pytest.approx(80.0)


def flashing_off(same: bool, lost: float = 0.0, by_hand: bool = False, trays: int | None = None) -> PlanBuilder:
    """Glued in 2 min, pressed in 3 min, ten minutes later at the earliest: in the same place, or at another station."""
    builder = PlanBuilder("Harrow Fen Works, glue", makes="thing", demand="50 each/day", release="flat out",
                          open_pieces=20)  # fmt: skip
    builder.item("thing", unit="each").station("one").station("two")
    builder.shift("day", hours="06:00-14:00", days="Mon-Sun").crew("hand", people=9, shift="day")
    crew = {"crew": "hand"} if by_hand else {}
    check = {"check": {"finds": {"gap": 1.0}, "then": "scrap"}} if lost else {}
    builder.route("r", gives="thing").operation(
        "glue", station="one", time="2 min", **crew, **({"faults": {"gap": lost}} if lost else {})
    ).operation(
        "press",
        station="one" if same else "two",
        time="3 min",
        wait={"after": "glue", "least": "10 min"},
        **crew,
        **check,
    )
    if trays:
        builder.carrier("tray", count=trays, from_="glue", to="press")
    return builder


@pytest.mark.parametrize(
    ("plan", "rate"),
    [
        (flashing_off(same=True), 1440 / 15),  # the place is kept for 2 + 10 + 3 min
        (flashing_off(same=True, lost=0.1), 1440 / 15 * 0.9),
        (flashing_off(same=True, by_hand=True), 480 / 15),  # no piece is begun at night, and one at most ends then
        (flashing_off(same=False), 1440 / 3),  # one after the other, the press is the slower
        (flashing_off(same=False, trays=2), 1440 * 2 / 15),  # but a tray is away for as long
        (flashing_off(same=False, lost=0.1, trays=2), 1440 * 2 / 15 * 0.9),
    ],
)
def test_a_window_that_opens_late_takes_time_of_the_place_and_of_the_carrier(plan: PlanBuilder, rate: float) -> None:
    network = compile_network(plan.build())
    bound = measure_capacity(network, solve_flow(network)).multiple * 50
    a_gap = 10 / 480 if network.crews.ids and network.operations.crews.index.size else 0.0
    assert rate * (1 - 1e-9) <= bound <= rate * (1 + a_gap + 1e-9), "at night what stands may go on for ten minutes"
    played = simulate(network, days=84, replications=2)
    assert played.rate.low <= bound
    assert played.rate.mean == pytest.approx(bound, rel=0.03)
