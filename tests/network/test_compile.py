"""The compiler: every table of the network, from plans small enough to tell by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from linewright.base.calendar import DAY, HOUR, MINUTE
from linewright.base.distributions import Shape, fixed
from linewright.base.problems import ProblemsError
from linewright.base.units import read_quantity
from linewright.network import evaluate
from linewright.network.compile import compile_network
from linewright.network.model import DIRECT, NOWHERE, Network
from linewright.plan import read_plan
from linewright.plan.build import PlanBuilder
from linewright.plan.model import Amount, Demand, Duration, Item, Operation, Plan, Route

NS = 1_000_000_000


def works(**plan: Any) -> PlanBuilder:
    """A builder with a shift, a crew and a station."""
    builder = PlanBuilder(
        "Harrow Fen Works, a test", **{"makes": "thing", "demand": "60 each/day", "money": "EUR", **plan}
    )
    builder.shift("day", hours="06:00-14:30", breaks=["09:00-09:15", "11:30-12:00"], days="Mon-Fri")
    builder.crew("hand", people=2, shift="day", wage="18 EUR/h", allowance="10 %", present="80 %")
    builder.station("bench", places=3).station("oven", places=1)
    return builder


def one(builder: PlanBuilder, unit: str = "each", **fields: Any) -> Network:
    """A plan of one operation."""
    builder.item("thing", unit=unit)
    builder.route("thing", gives="thing").operation("work", **fields)
    return compile_network(builder.build())


def test_crewed_time_is_stretched_once() -> None:
    """Standard time = 60 s x 1.10 / 0.80 = 82.5 s; the machine's own 60 s and a stand stay as they are."""
    crewed = one(works(), time="1 min", crew={"hand": 1}, stand="2 min").operations
    assert crewed.time.mean.tolist() == [82.5 * NS]
    assert crewed.time.shape.tolist() == [Shape.FIXED]
    assert crewed.hands_all.tolist() == [True]
    assert crewed.stand.mean.tolist() == [120 * NS]
    alone = one(works(), time="1 min").operations
    assert alone.time.mean.tolist() == [60 * NS]
    assert alone.hands_all.tolist() == [False]


def test_only_the_hands_on_part_is_stretched() -> None:
    """5 min cycle with 40 s and 20 s by hand: 300 + 60 x 0.375 = 322.5 s; hands 55 s and 27.5 s."""
    table = one(works(), time="5 min", crew={"hand": 1}, hands_on={"start": "40 s", "end": "20 s"}).operations
    assert table.time.mean.tolist() == [322.5 * NS]
    assert table.hands_start.tolist() == [55 * NS]
    assert table.hands_end.tolist() == [27.5 * NS]
    assert table.hands_all.tolist() == [False]


def test_spread_keeps_its_cv() -> None:
    table = one(works(), time={"mean": "4 min", "cv": 0.25}, crew={"hand": 1}).operations
    assert table.time.mean[0] == pytest.approx(240 * 1.375 * NS)
    assert np.sqrt(table.time.variance[0]) / table.time.mean[0] == pytest.approx(0.25)


def test_times_are_whole_nanoseconds() -> None:
    """Ten times 0.1 s is one second, exactly."""
    table = one(works(), time="0.1 s").operations
    assert table.time.parameters[0, 0] * 10 == NS


def test_time_for_each_piece_of_a_load() -> None:
    table = one(
        works(), time={"fixed": "3 min", "each": "20 s"}, load={"least": 8, "most": 12}, waits="5 min"
    ).operations
    assert (table.time.mean[0], table.each[0]) == (180 * NS, 20 * NS)
    assert (table.load_least[0], table.load_most[0], table.waits[0]) == (8, 12, 300 * NS)


def test_rate_of_a_mass() -> None:
    """2.4 t/h of a route whose piece is one tonne: 1500 s a piece, no allowance on a machine's rate."""
    builder = works(demand="10 t/day")
    builder.item("chips", unit="t", buy="90 EUR")
    table = one(builder, unit="t", time={"rate": "2.4 t/h"}, crew={"hand": 1}, takes={"chips": "1 t"}).operations
    assert table.continuous.tolist() == [True]
    assert table.each.tolist() == [1500 * NS]
    assert table.pieces_out.tolist() == [1000]  # kg of the item for each piece


def test_loads_by_mass_volume_and_height() -> None:
    builder = works()
    builder.item("tub", unit="each", buy="3 EUR", mass="2 kg", thickness="16 mm")
    assert one(builder, time="1 h", takes={"tub": 1}, load="24 kg").operations.load_most.tolist() == [12]
    builder = works(demand="8000 L/day")
    builder.item("juice", unit="hL", buy="80 EUR")
    table = one(builder, unit="hL", time="1 h", takes={"juice": "1 hL"}, load="4000 L").operations
    assert table.load_most.tolist() == [40]
    builder = works()
    builder.item("thing", unit="each", thickness="16 mm")
    builder.route("thing", gives="thing").operation("saw", time="1 min", load={"height": "120 mm"})
    assert compile_network(builder.build()).operations.load_most.tolist() == [7]


def test_prices_masses_and_demand_are_brought_to_base_units() -> None:
    builder = works(makes="thing", demand="2 t/week")
    builder.item("oil", unit="hL", buy="120 EUR", mass="92 kg").item("sand", unit="t", buy="0.03 EUR/kg")
    items = one(builder, unit="t", time="1 h", takes={"oil": "1 hL", "sand": "0.908 t"}).items
    at = {name: k for k, name in enumerate(items.ids)}
    assert items.units[at["oil"]] == "L"
    assert items.buy[at["oil"]] == pytest.approx(1.2)
    assert items.mass[at["oil"]] == pytest.approx(0.92)
    assert items.buy[at["sand"]] == pytest.approx(0.03)
    assert items.demand[at["thing"]] == pytest.approx(2000 / 5)


@pytest.mark.parametrize(
    ("rate", "a_day"),
    [("60 each/day", 60), ("300 each/week", 60), ("8 each/h", 62), ("15600 each/year", 15600 * 7 / 365.2425 / 5)],
)
def test_demand_by_the_clock_it_is_written_in(rate: str, a_day: float) -> None:
    """Per day is per working day; per week and year are calendar time; per hour is open time: 7.75 h a day here."""
    items = one(works(demand=rate), time="1 min").items
    assert items.demand[items.ids.index("thing")] == pytest.approx(a_day, rel=1e-4)


def test_calendars_leave_breaks_out_and_wrap_the_night() -> None:
    builder = works()
    builder.shift("night", hours="22:00-06:00", breaks=["02:00-02:30"], days="Sun")
    builder.crew("owl", people={"night": 1, "day": 2}, wage="20 EUR/h")
    network = one(builder, time="1 min", crew={"owl": 1})
    calendar = network.calendars[int(network.crews.calendar[1])]
    assert calendar.total_ns == (5 * 2 * 7.75 + 7.5) * HOUR
    assert calendar.at_time(2 * HOUR + 10 * MINUTE) == 0
    assert calendar.at_time(1 * HOUR) == 1  # Monday 01:00 belongs to Sunday's night
    assert calendar.at_time(6 * DAY + 23 * HOUR) == 1
    assert network.crews.paid_hours_week[1] == pytest.approx(5 * 2 * 7.75 + 7.5)
    assert network.days_week == 6
    assert network.crews.stretch.tolist() == [pytest.approx(1.375), 1.0]


def test_visits_run_on_at_one_station() -> None:
    builder = works()
    builder.store("rack", room=20)
    builder.item("thing", unit="each").item("sheet", unit="sheet", buy="9 EUR")
    route = builder.route("thing", gives="thing")
    route.operation("fill", time="1 min", station="oven", takes={"sheet": 1})
    route.operation("bake", stand="20 min", station="oven")
    route.operation("cut", time="1 min", station="oven", gives={"thing": 4}, then_to="next")
    route.operation("rub", time="1 min", station="oven")  # other pieces: a visit of their own
    route.operation("look", time="1 min")  # a bench
    route.operation("pack", time="1 min", station=["bench", "oven"], then_to="rack")
    network = compile_network(builder.build())
    assert network.operations.visit.tolist() == [0, 0, 0, 1, 2, 3]
    assert network.visits.first.tolist() == [0, 3, 4, 5]
    assert network.visits.last.tolist() == [2, 3, 4, 5]
    assert network.visits.station.tolist() == [1, 1, NOWHERE, 0]
    assert network.operations.then_to.tolist() == [-1, -1, DIRECT, -1, -1, 0]
    assert network.operations.pieces_out.tolist() == [1, 1, 4, 1, 1, 1]


def test_a_ring_of_finite_places_is_named() -> None:
    builder = works()
    builder.item("thing", unit="each")
    route = builder.route("thing", gives="thing")
    route.operation("rough", time="1 min", station="bench", then_to="next")
    route.operation("bake", time="1 min", station="oven", then_to="next")
    route.operation("smooth", time="1 min", station="bench")
    network = compile_network(builder.build())
    words = [p.what for p in network.problems]
    assert any("bench, oven" in what and "lock" in what for what in words)
    route = (builder := works()).item("thing", unit="each").route("thing", gives="thing")
    route.operation("rough", time="1 min", station="bench", then_to="next").operation(
        "bake", time="1 min", station="oven"
    )
    assert not compile_network(builder.build()).problems


def test_stoppages_setups_cleaning_and_starts() -> None:
    builder = works()
    builder.station("mill", between_stops="20 h", repair="30 min", machine_rate="12 EUR/h")
    network = one(
        builder,
        time="1 min",
        station="mill",
        crew={"hand": 1},
        setup={"time": "8 min", "every": 40},
        clean={"after": "every", "every": 200, "time": "16 min"},
        start={"time": "10 min", "scrap": 3, "after": "stop"},
    )
    table, stops = network.operations, network.stoppages
    assert stops.between.shape.tolist() == [Shape.EXPONENTIAL]
    assert stops.between.mean.tolist() == [20 * HOUR]
    assert stops.repair.mean.tolist() == [30 * MINUTE]
    assert network.stations.machine_rate[2] == pytest.approx(12)
    assert network.crews.wage.tolist() == [pytest.approx(18)]
    assert (table.setup_every[0], table.clean_every[0], table.start_scrap[0]) == (40, 200, 3)
    assert table.setup.mean.tolist() == [8 * 1.375 * MINUTE]
    assert table.clean.mean.tolist() == [16 * 1.375 * MINUTE]
    assert table.setup_crews.row(0)[0].tolist() == [0]


def test_changeovers_by_item_and_operation() -> None:
    builder = works()
    builder.item("thing", unit="each").item("other", unit="each", sell="1 EUR")
    table = {"when": "item changes", "time": "10 min", "table": {"other": {"thing": "25 min"}}}
    del builder.document["plan"]["makes"], builder.document["plan"]["demand"]
    builder.demand("thing", "5 each/day").demand("other", "5 each/day")
    builder.route("thing", gives="thing").operation("a", time="1 min", station="bench", setup=table)
    builder.route("other", gives="other").operation("b", time="1 min", station="bench")
    network = compile_network(builder.build())
    assert network.changeovers.before.tolist() == [1]
    assert network.changeovers.after.tolist() == [0]
    assert network.changeovers.time.tolist() == [25 * MINUTE]


def test_network_is_frozen() -> None:
    network = one(works(), time="1 min")
    with pytest.raises(ValueError, match="read-only"):
        network.operations.each[0] = 1
    with pytest.raises(AttributeError):
        network.days_week = 7  # type: ignore[misc]


def test_change_gives_another_network() -> None:
    network = one(works(), time="1 min", station="bench")
    changed = network.change("stations.bench.places", 9)
    assert changed.stations.places.tolist() == [9, 1]
    assert network.stations.places.tolist() == [3, 1]
    assert changed.fingerprint != network.fingerprint
    with pytest.raises(ProblemsError):
        network.change("stations.bench.places", 0)


def test_with_stations_moves_operations_and_adds_stations() -> None:
    network = one(works(), time="1 min", station="bench")
    moved = network.with_stations({"work": "line_1"})
    assert moved.stations.ids == ("bench", "oven", "line_1")
    assert moved.operations.stations.row(0)[0].tolist() == [2]
    assert moved.fingerprint != network.fingerprint
    with pytest.raises(KeyError, match="no operation"):
        network.with_stations({"wrok": "line_1"})


def test_order_of_writing_changes_only_the_order() -> None:
    def summary(network: Network) -> dict[str, Any]:
        operations, items, stations = network.operations, network.items, network.stations
        found: dict[str, Any] = {}
        for o, name in enumerate(operations.ids):
            index, units = operations.takes.row(o)
            found[name] = (
                float(operations.time.mean[o]),
                float(operations.load_most[o]),
                float(operations.piece_mass[o]),
                sorted((items.ids[i], u) for i, u in zip(index.tolist(), units.tolist(), strict=True)),
                sorted(stations.ids[s] for s in operations.stations.row(o)[0].tolist()),
            )
        found |= {name: (items.units[i], float(items.mass[i])) for i, name in enumerate(items.ids)}
        return found

    builder = works()
    builder.item("tub", unit="each", buy="1 EUR", mass="2 kg").item("lid", unit="each").item("thing", unit="each")
    builder.route("thing", gives="thing").operation("join", time="1 min", station="bench", takes={"lid": 1, "tub": 2})
    builder.route("lid", gives="lid").operation("press", time="1 min", station="oven", takes={"tub": 1}, load=6)
    plan = builder.build()
    turned = replace(
        plan,
        items=dict(reversed(plan.items.items())),
        routes=dict(reversed(plan.routes.items())),
        stations=dict(reversed(plan.stations.items())),
    )
    assert summary(compile_network(plan)) == summary(compile_network(turned))


def plan_of(**fields: Any) -> Plan:
    """A plan built without its reader, so that the compiler's own guard is tried."""
    operation = Operation("work", **{"time": Duration(fixed=read_quantity("1 min")), **fields})
    return Plan(
        "Guard",
        "EUR",
        (Demand("thing", read_quantity("5 each/day")),),
        {"thing": Item("thing", "each")},
        {"main": Route("main", "thing", (operation,))},
    )


@pytest.mark.parametrize(
    ("fields", "path", "words"),
    [
        ({"station": ("bnch",)}, "operations[0].station", "no station of this name"),
        ({"takes": (Amount("tub", read_quantity("1")),)}, "operations[0].takes.tub", "no item of this name"),
        ({"crew": {"hnd": 1}}, "operations[0].crew", "no crew of this name"),
        ({"then_to": "rack"}, "operations[0].then_to", "no store of this name"),
        ({"yields": 1.4}, "operations[0].yield", "at most 100 %"),
        ({"time": Duration(physics="dowse")}, "operations[0].time", 'a time by "dowse" is not yet played'),
        ({"time": Duration(fixed=replace(read_quantity("1 min"), value=-3.0))}, "operations[0].time", "negative"),
        ({"faults": {"gap": 3.0}}, "operations[0].faults.gap", "from 0 to 100 %"),
    ],
)
def test_the_compiler_guards_itself(fields: dict[str, Any], path: str, words: str) -> None:
    with pytest.raises(ProblemsError) as caught:
        compile_network(plan_of(**fields))
    found = [p for p in caught.value.problems if p.path.endswith(path)]
    assert any(words in p.what for p in found), caught.value


def test_faults_belong_to_counted_items(network: Callable[[str], Network]) -> None:
    with pytest.raises(ProblemsError, match="counted"):
        network(
            """
[plan]
name = "Juice"
money = "EUR"
makes = "juice"
demand = "10 L/day"
[items.juice]
unit = "L"
[items.fruit]
unit = "kg"
buy = "1 EUR"
[routes.juice]
gives = "juice"
[[routes.juice.operations]]
id = "press"
time = "1 min"
takes = { fruit = "1 kg" }
faults = { cloudy = "1 %" }
"""
        )


def test_models_of_physics_that_nobody_plays_are_refused_and_registered_ones_asked(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    with pytest.raises(ProblemsError, match='a time by "dowse" is not yet played'):
        compile_network(plan_of(time=Duration(physics="dowse")))
    monkeypatch.setitem(evaluate.PHYSICS, "dowse", lambda conditions: fixed(float(conditions["depth"])))  # type: ignore[arg-type]
    dowsed = compile_network(plan_of(time=Duration(physics="dowse", conditions={"depth": 30})))
    assert dowsed.operations.time.mean.tolist() == [30 * NS]


STUDY = """\
[plan]
name = "Pad"
makes = "pad"
demand = "10 each/day"
[shifts.day]
hours = "06:00-14:00"
[crews.hand]
people = 1
shift = "day"
allowance = "10 %"
[items.pad]
unit = "each"
[routes.pad]
gives = "pad"
[[routes.pad.operations]]
id = "glue"
crew = "hand"
time = { study = "pad.csv", element = "glue" }
"""


def studied(folder: Path, readings: str, text: str = STUDY) -> Path:
    (folder / "pad.csv").write_text(readings, encoding="utf-8")
    (folder / "pad.toml").write_text(text, encoding="utf-8")
    return folder / "pad.toml"


def test_a_time_from_a_study_is_its_normal_time_stretched_by_the_allowance(tmp_path: Path) -> None:
    rows = "".join(f"glue,{t},110\n" for t in (50, 52, 48, 51, 49, 50, 53))
    file = studied(tmp_path, f"element,time [s],rating\n{rows}")
    operations = compile_network(read_plan(file)).operations
    assert operations.time.mean[0] == pytest.approx(sum((50, 52, 48, 51, 49, 50, 53)) / 7 * 1.1 * 1.1 * NS, rel=1e-3)
    assert operations.time.variance[0] > 0
    studied(tmp_path, "element,time [s]\n" + "glue,40\n" * 3)
    assert compile_network(read_plan(file)).operations.time.mean[0] == pytest.approx(44 * NS)


def test_a_study_at_fault_is_placed_at_the_field_that_asks(tmp_path: Path) -> None:
    file = studied(tmp_path, "element,time [s]\n" + "press,40\n" * 6)
    with pytest.raises(ProblemsError) as wrong:
        compile_network(read_plan(file))
    assert [p.path for p in wrong.value.problems] == ["routes.pad.operations[0].time.element"]
    file = studied(tmp_path, "element,time [s]\n" + "glue,soon\n" * 6)
    with pytest.raises(ProblemsError) as wrong:
        compile_network(read_plan(file))
    first = wrong.value.problems[0]
    assert (first.path, Path(first.file or "").name, first.line) == (
        "routes.pad.operations[0].time.study",
        "pad.csv",
        2,
    )


def test_dry_and_wet_mass_and_energy() -> None:
    """1 t dry of chips at 80 % moisture weighs 1.8 t; heat has no mass and spoils no balance."""
    builder = works(demand="10 t/day")
    builder.item("chips", unit="t dry", buy="160 EUR", moisture="80 %").item("heat", unit="MWh", buy="60 EUR")
    builder.item("dry", unit="t", moisture="6 %").item("thing", unit="t", moisture="6 %")
    builder.route("dry", gives="dry").operation(
        "dry",
        time={"rate": "2 t/h"},
        takes={"chips": "1 t", "heat": "0.4 MWh"},
        gives={"dry": "rest"},
        loses={"water": "rest"},
    )
    builder.route("thing", gives="thing").operation("sift", time={"rate": "1 t dry/h"}, takes={"dry": "1 t"})
    network = compile_network(builder.build())
    items, operations = network.items, network.operations
    at = {name: k for k, name in enumerate(items.ids)}
    assert (items.units[at["chips"]], items.units[at["heat"]]) == ("kg dry", "kWh")
    assert items.mass[at["chips"]] == pytest.approx(1.8)
    assert items.buy[at["chips"]] == pytest.approx(0.16)
    index, units = operations.takes.row(0)
    assert dict(zip(index.tolist(), units.tolist(), strict=True)) == pytest.approx(
        {at["chips"]: 1000 / 1.8, at["heat"]: 400}
    )
    assert operations.piece_mass[0] == pytest.approx(1000)
    assert operations.loses.amount.tolist() == [pytest.approx(1000 - 1000 / 1.8 * 1.06)]
    assert operations.each[1] == pytest.approx(3600 * NS / 1.06)
