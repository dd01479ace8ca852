"""Each field is read into the model as docs/meaning.md says."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from linewright.base.problems import ProblemsError
from linewright.base.units import UnitError, read_quantity
from linewright.plan import Plan, PlanBuilder
from linewright.plan.amounts import mass_of, price_of, units_of
from linewright.plan.demand import units_per_second
from linewright.plan.hours import minutes_of
from linewright.plan.model import Amount, Duration, HandsOn, Item, Load, Mass, Operation, Reaction, Shift


def built(**operation: Any) -> Plan:
    plan = PlanBuilder("Test", makes="thing", demand="10 each/day", money="EUR")
    plan.item("thing", unit="each", thickness="18 mm").item("part", unit="each", buy="1 EUR")
    plan.item("glue", unit="kg", buy="9 EUR/kg").item("offcut", unit="kg", moisture="8 %").item("second", unit="each")
    plan.shift("day", hours="06:00-14:00").crew("fitter", people=2, shift="day")
    plan.station("press_a").station("press_b").store("rack", room=20).tool("robot", count=1)
    plan.route("main", gives="thing").operation("first", time="1 min", takes={"part": 1, "glue": "1 g"}).operation(
        "op", **{"time": "1 min", **operation}
    )
    return plan.build()


def read(**operation: Any) -> Operation:
    return built(**operation).routes["main"].operations[1]


def q(text: object) -> Any:
    return read_quantity(text, money="EUR")


TIMES: list[tuple[Any, Duration]] = [
    ("4 min", Duration(fixed=q("240 s"))),
    ({"fixed": "3 min", "each": "20 s"}, Duration(fixed=q("3 min"), each=q("20 s"))),
    ({"each": "20 s"}, Duration(each=q("20 s"))),
    ({"mean": "5 min", "cv": 0.2}, Duration(mean=q("5 min"), cv=0.2)),
    ({"mean": "5 min", "cv": 0.2, "shape": "gamma"}, Duration(mean=q("5 min"), cv=0.2, shape="gamma")),
    ({"mean": "5 min", "shape": "exponential"}, Duration(mean=q("5 min"), shape="exponential")),
    (
        {"least": "1 min", "likely": "2 min", "most": "4 min"},
        Duration(least=q("1 min"), likely=q("2 min"), most=q("4 min")),
    ),
    ({"rate": "2.4 t/h"}, Duration(rate=q("2400 kg/h"))),
    ({"rate": "30 each/h", "rate_of": "part"}, Duration(rate=q("30 each/h"), rate_of="part")),
    ({"rate": "30 kg/h", "dwell": "19 min"}, Duration(rate=q("30 kg/h"), dwell=q("19 min"))),
    ({"study": "glue.csv", "element": "glue"}, Duration(study="glue.csv", element="glue")),
    ({"ferment": {"at": "17 degC"}}, Duration(physics="ferment", conditions={"at": "17 degC"})),
]


@pytest.mark.parametrize(("written", "expected"), TIMES, ids=[str(w) for w, _ in TIMES])
def test_forms_of_a_time(written: Any, expected: Duration, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "glue.csv").write_text("1\n2\n")
    monkeypatch.chdir(tmp_path)
    assert read(time=written).time == expected
    assert read(stand=written).stand == expected


def test_takes() -> None:
    assert read(takes={"part": 2, "glue": "420 g"}).takes == (Amount("part", q(2)), Amount("glue", q("0.42 kg")))


def test_takes_of_any_one_of_several_items() -> None:
    mix = {"any_of": ["part", "second"], "amount": 3, "shares": {"part": "70 %", "second": 0.3}}
    plan = PlanBuilder("Test", makes="thing", demand="10 each/day", money="EUR")
    plan.item("thing", unit="each").item("part", unit="each", buy="1 EUR").item("second", unit="each", free=True)
    plan.route("main", gives="thing").operation("op", time="1 min", takes={"feed": mix})
    (amount,) = plan.build().routes["main"].operations[0].takes
    assert amount == Amount("feed", q(3), any_of=("part", "second"), shares={"part": 0.7, "second": 0.3})


def test_gives_and_loses() -> None:
    operation = read(gives={"thing": 12, "offcut": "30 %"}, loses={"water": "rest", "dust": "20 g"})
    assert operation.gives == (Amount("thing", q(12)), Amount("offcut", share=0.3))
    assert operation.loses == (Amount("water", rest=True), Amount("dust", q("0.02 kg")))


def test_loads() -> None:
    assert read(load=12).load == Load(least=q(12), most=q(12))
    assert read(load=12, waits="30 min").load == Load(least=q(12), most=q(12), waits=q("30 min"))
    assert read(load={"least": 8, "most": 12}).load == Load(least=q(8), most=q(12))
    assert read(load={"height": "120 mm"}).load == Load(height=q("0.12 m"))


def test_hands_on() -> None:
    assert read(hands_on="20 s").hands_on == HandsOn(start=q("20 s"))
    assert read(hands_on={"start": "10 s", "end": "5 s"}).hands_on == HandsOn(q("10 s"), q("5 s"))


def test_setup_in_short_and_in_full() -> None:
    short, full = read(setup="12 min", every=80).setup, read(setup={"time": "12 min", "every": 80}).setup
    assert short == full
    assert short is not None
    assert short.when == "every"
    by_change = read(setup="12 min").setup
    assert by_change is not None
    assert by_change.when == "item changes"
    table = read(setup={"table": {"thing": {"part": "40 min"}}}).setup
    assert table is not None
    assert table.table == {("thing", "part"): q("40 min")}


def test_checks() -> None:
    def of(then: Any) -> Any:
        check = read(faults={"gap": "2 %"}, check={"finds": {"gap": "97 %"}, "then": then}).check
        assert check is not None
        return check.then

    scrap = Reaction("scrap")
    assert of("scrap") == {"*": scrap}
    again = Reaction("rework", rework="first", at_most=2, otherwise=Reaction("seconds", seconds="second"))
    written = {"rework": "first", "at_most": 2, "else": {"seconds": "second"}}
    assert of(written) == {"*": again}
    assert of({"gap": written}) == {"gap": again, "*": scrap}
    unsaid = read(check={"finds": {}}).check
    assert unsaid is not None
    assert unsaid.then == {"*": scrap}


def test_one_or_several() -> None:
    assert read(station="press_a").station == ("press_a",)
    assert read(station=["press_a", "press_b"]).station == ("press_a", "press_b")
    assert read().station == ()
    assert read().after is None
    assert read(after="first").after == ("first",)
    assert read(after=[]).after == ()


def test_people_of_shifts() -> None:
    assert built().crews["fitter"].people == {"day": 2}


def test_short_stoppage_comes_first() -> None:
    plan = PlanBuilder("Test", makes="thing", demand="10 each/day").item("thing", unit="each")
    jam = {"name": "jam", "between": "2 h", "repair": "5 min"}
    plan.station("saw", between_stops="22 h", repair="35 min", stoppages=[jam])
    plan.route("main", gives="thing").operation("op", station="saw", time="1 min")
    names = [s.name for s in plan.build().stations["saw"].stoppages]
    assert names == ["stoppage", "jam"]


# ----------------------------------------------------------------------------------------------- hours of a shift


def shift(hours: Any, breaks: Any = (), days: str = "Mon-Fri") -> Shift:
    plan = PlanBuilder("Test", makes="thing", demand="10 each/day").item("thing", unit="each")
    plan.shift("s", hours=hours, breaks=list(breaks), days=days)
    plan.route("main", gives="thing").operation("op", time="1 min")
    return plan.build().shifts["s"]


def test_working_minutes_of_a_week() -> None:
    assert minutes_of(shift("06:00-14:30", ["09:00-09:15", "11:30-12:00"])).bit_count() == 5 * (510 - 45)


def test_night_shift_runs_past_midnight_and_past_the_week() -> None:
    night = minutes_of(shift("22:00-06:00", ["02:00-02:30"], days="Sun"))
    assert night.bit_count() == 480 - 30
    assert night & 1  # Monday 00:00 belongs to Sunday's night
    assert not night & (1 << 125)  # Monday 02:05 is its break
    assert night & (1 << (6 * 1440 + 23 * 60))


@pytest.mark.parametrize(
    ("days", "expected"),
    [
        ("Mon-Fri", (0, 1, 2, 3, 4)),
        ("Mon,Wed", (0, 2)),
        ("Fri-Mon", (0, 4, 5, 6)),
        ("saturday", (5,)),
        ("Mon-Tue, Sun", (0, 1, 6)),
    ],
)
def test_days(days: str, expected: tuple[int, ...]) -> None:
    assert shift("06:00-14:00", days=days).days == expected


# ------------------------------------------------------------------------------------------- amounts, prices, rates


def test_amount_in_units_of_its_item() -> None:
    assert units_of(Item("a", "t"), q("400 kg")) == 0.4
    assert units_of(Item("a", "hL"), q("250 L")) == 2.5
    assert units_of(Item("a", "each", mass=Mass(q("4 g"))), q("1 kg")) == pytest.approx(250, rel=1e-12)
    assert units_of(Item("a", "sheet"), read_quantity("3 sheets", nouns=frozenset({"sheets"}))) == 3


def test_wet_and_dry_mass() -> None:
    """At 25 % moisture on dry basis 1.25 kg holds 1 kg of dry matter."""
    wet, dry = Item("chips", "kg", moisture=0.25), Item("chips", "t dry", moisture=0.25)
    assert units_of(wet, q("1 kg dry")) == pytest.approx(1.25, rel=1e-12)
    assert units_of(dry, q("1.25 kg")) == pytest.approx(0.001, rel=1e-12)
    assert mass_of(dry) == 1250.0
    assert mass_of(dry, dry=True) == 1000.0
    assert price_of(dry, q("50 EUR/t dry")) == pytest.approx(50.0, rel=1e-12)
    assert price_of(dry, q("40 EUR/t")) == pytest.approx(50.0, rel=1e-12)


def test_price_of_a_unit() -> None:
    assert price_of(Item("a", "t"), q("1.2 EUR/kg")) == pytest.approx(1200, rel=1e-12)
    assert price_of(Item("a", "each", mass=Mass(q("2 kg"))), q("3 EUR/kg")) == 6.0
    assert price_of(Item("a", "each"), q("96 EUR")) == 96.0
    assert price_of(Item("a", "each"), q("96 EUR/each")) == 96.0


def test_amounts_that_do_not_fit() -> None:
    with pytest.raises(UnitError, match="counted in sheet"):
        units_of(Item("a", "sheet"), q("2 kg"))
    with pytest.raises(UnitError, match="counted in sheet"):
        units_of(Item("a", "sheet"), q("2 pair"))


def test_rate_of_a_demand() -> None:
    assert 3600 * units_per_second(Item("a", "t"), q("500 kg/h")) == pytest.approx(0.5, rel=1e-12)
    assert 86400 * units_per_second(Item("a", "each"), q("36 each/day")) == pytest.approx(36, rel=1e-12)


@pytest.mark.parametrize("field", ["crew", "setup", "clean"])
def test_the_name_of_a_crew_is_one_person_of_it(field: str) -> None:
    written: dict[str, dict[str, Any]] = {
        "crew": {"crew": "fitter"},
        "setup": {"setup": {"time": "1 min", "every": 8, "crew": "fitter"}},
        "clean": {"clean": {"time": "1 min", "crew": "fitter"}},
    }
    part = getattr(read(**written[field]), field)
    assert (part if field == "crew" else part.crew) == {"fitter": 1.0}


def test_a_crew_by_a_wrong_name_is_hinted_at() -> None:
    with pytest.raises(ProblemsError) as wrong:
        built(crew="fiter")
    problem = wrong.value.problems[0]
    assert (problem.path, problem.hint) == ("routes.main.operations[1].crew", 'did you mean "fitter"?')


def test_a_demand_by_mass_of_a_counted_item_is_refused_with_the_pieces_it_comes_to() -> None:
    plan = PlanBuilder("Test", makes="thing", demand="36 kg/day")
    plan.item("thing", unit="each", mass="12 kg").route("main", gives="thing").operation("op", time="1 min")
    with pytest.raises(ProblemsError) as wrong:
        plan.build()
    (problem,) = wrong.value.problems
    assert problem.path == "plan.demand"
    assert "3 each/day" in (problem.hint or "")
    plan = PlanBuilder("Test", makes="thing", demand="36 kg/day")
    plan.item("thing", unit="each").route("main", gives="thing").operation("op", time="1 min")
    with pytest.raises(ProblemsError, match="give the item a mass"):
        plan.build()


@pytest.mark.parametrize("written", ["1e300 h", "101 year"])
def test_a_time_of_more_than_a_hundred_years_is_refused(written: str) -> None:
    builder = PlanBuilder("Stool", makes="stool", demand="1 each/day").item("stool", unit="each")
    builder.route("r", gives="stool").operation("wait", stand=written)
    with pytest.raises(ProblemsError, match="longer than a hundred years"):
        builder.build()
