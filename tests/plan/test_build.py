"""A plan built in Python is the plan read from a file that says the same."""

from __future__ import annotations

from pathlib import Path

import pytest

from linewright.base.problems import ProblemsError
from linewright.plan import PlanBuilder, read_plan


def cart() -> PlanBuilder:
    plan = PlanBuilder("Cart", money="EUR", makes="cart", demand="36 each/day")
    plan.shift("day", hours="06:00-14:30", breaks=["09:00-09:15", "11:30-12:00"], days="Mon-Fri")
    plan.shift("late", hours="14:30-22:00")
    plan.crew("fitter", people=3, shift="day", wage="27 EUR/h").crew("cleaner", people={"late": 2})
    plan.item("cart", unit="each").item("tub", unit="each", buy="96 EUR", store="rack", mass="11.2 kg")
    plan.item("adhesive", unit="kg", buy="9 EUR/kg")
    plan.station("bond_frame", places=2, between_stops="22 h", repair="35 min")
    plan.store("rack", room=20).tool("robot", count=1)
    route = plan.route("cart", gives="cart")
    route.operation(
        "glue",
        station="bond_frame",
        crew={"fitter": 1},
        time={"mean": "5.5 min", "cv": 0.15},
        takes={"tub": 1, "adhesive": "0.42 kg"},
        faults={"seam gap": "2 %"},
    ).operation("cure", station="bond_frame", stand="15 min")
    check = {"finds": {"seam gap": "97 %"}, "then": {"rework": "glue", "at_most": 1}}
    route.operation("leak", crew={"fitter": 1}, time="3 min", check=check)
    return plan


def test_built_equals_read(tmp_path: Path, text: str) -> None:
    file = tmp_path / "cart.toml"
    file.write_text(text)
    built, read = cart().build(), read_plan(file)
    assert built == read
    assert built.fingerprint == read.fingerprint


def test_words_that_python_keeps() -> None:
    plan = cart()
    then = {"rework": "pack", "at_most": 1, "else_": "scrap"}
    plan.route("other", gives="cart").operation(
        "pack", time="1 min", yield_="98 %", check={"finds": {"seam gap": 0.5}, "then": then}, station=None
    )
    operation = plan.build().routes["other"].operations[0]
    assert operation.yields == 0.98
    assert operation.check is not None
    assert operation.check.then["*"].otherwise is not None


def test_problems_are_collected() -> None:
    plan = cart().item("lid", unit="h")
    plan.route("lid", gives="lidd").operation("press", time=3)
    with pytest.raises(ProblemsError) as caught:
        plan.build()
    paths = {p.path for p in caught.value.problems}
    assert paths >= {"items.lid.unit", "routes.lid.gives", "routes.lid.operations[0].time"}


def test_values_of_a_wrong_type_are_problems() -> None:
    plan = cart().item("lid", unit=object(), buy={1, 2}, mass=b"x")
    with pytest.raises(ProblemsError):
        plan.build()


def test_same_id_twice() -> None:
    with pytest.raises(ValueError, match='items has "tub" already'):
        cart().item("tub", unit="each")


def test_overhead_demand_and_lines() -> None:
    plan = cart().overhead(of_labour="40 %", per_day="100 EUR").line("main", routes="cart", stations=2)
    plan.demand("tub", "3 each/day")
    built = plan.build()
    assert built.overhead.of_labour == 0.4
    assert [d.item for d in built.demand] == ["cart", "tub"]
    assert built.lines["main"].routes == ("cart",)


def test_builder_may_go_on_after_building() -> None:
    plan = cart()
    first = plan.build()
    plan.route("spare", gives="cart").operation("all", time="9 min")
    assert "spare" not in first.routes
    assert "spare" in plan.build().routes
