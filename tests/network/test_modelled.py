"""Amounts that the operation's own model tells: gas, water, fuel and shares, and problems by name."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from linewright.base.problems import ProblemsError
from linewright.flow import solve_flow
from linewright.network import Network, compile_network
from linewright.physics.models import evaluate_model, rate_of
from linewright.plan import PlanBuilder, read_plan
from linewright.plan.model import Plan

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
DRY: dict[str, Any] = {"from": "40 %", "to": "2 %", "gas": "220 degC", "thickness": "2.5 mm", "holds": "1 t"}
SCREEN: dict[str, Any] = {
    "area": "6 m2", "each_m2": "0.8 t/h", "middle": "1.6 mm", "aperture": "2 mm", "core_aperture": "0.9 mm",
    "face_aperture": "0.2 mm",
}  # fmt: skip


def dryer(loses: dict[str, Any], takes: dict[str, Any] | None = None, time: dict[str, Any] | None = None) -> Plan:
    build = PlanBuilder("Dryer", money="EUR", makes="flakes", demand="20 t/day")
    build.item("flakes", unit="kg", moisture="2 %").item("chips", unit="kg", buy="0.04 EUR", moisture="40 %")
    build.item("pellets", unit="kg", buy="0.3 EUR", heating_value="17 MJ/kg", moisture="8 %")
    build.item("flue_gas", unit="kg", moisture="8 %")  # what is burnt goes up the stack with its own water
    build.station("drum")
    route = build.route("flakes", gives="flakes")
    route.operation("dry", station="drum", time=time or {"dry": DRY}, takes=takes or {"chips": "1.3725 kg"},
                    loses=loses)  # fmt: skip
    return build.build()


def lost(network: Network, name: str, operation: str) -> float:
    at = network.operations.ids.index(operation)
    index, kg = network.operations.loses.row(at)
    return float(kg[list(index).index(network.losses.index(name))])


def test_the_water_of_a_dryer_is_what_the_moistures_say() -> None:
    """1.3725 kg at 40 % hold 0.98036 kg of dry matter, which loses 0.38 of its weight; the rest is 1 kg at 2 %."""
    network = compile_network(dryer({"water": {"model": "water lost"}}))
    assert lost(network, "water", "dry") == pytest.approx(1.3725 / 1.4 * 0.38, rel=1e-12)
    by_rest = compile_network(dryer({"water": "rest"}))
    assert lost(network, "water", "dry") == pytest.approx(lost(by_rest, "water", "dry"), rel=1e-3)


def test_fuel_by_the_model_is_bought_and_is_not_dried() -> None:
    """Heat of 0.38 kg of water at 3.63 MJ/kg over 17 MJ/kg, burnt at 79 %."""
    plan = dryer({"water": {"model": "water lost"}, "flue_gas": {"model": "fuel or dust for it"}},
                 {"chips": "1.3725 kg", "pellets": {"model": "fuel or dust for it"}})  # fmt: skip
    flow = solve_flow(compile_network(plan))
    each = flow.bought[flow.items.index("pellets")] / flow.demand
    assert each == pytest.approx(1.3725 / 1.4 * 0.38 * 3.63 / 17 / 0.79, rel=2e-3)


def test_gas_of_a_fermentation_is_a_mass_for_each_litre() -> None:
    plan = read_plan(EXAMPLES / "cider.toml")
    network = compile_network(plan)
    said = evaluate_model("ferment", plan.routes["young"].operations[1].stand.conditions).timed  # type: ignore[union-attr]
    assert lost(network, "carbon dioxide", "ferment") == pytest.approx(said.outcome("carbon dioxide") / 1000, rel=1e-12)
    sweeter = plan.change("routes.young.operations[ferment].stand.ferment.sugar", "128 g/L")
    assert lost(compile_network(sweeter), "carbon dioxide", "ferment") == pytest.approx(
        lost(network, "carbon dioxide", "ferment") * 126 / 122, rel=1e-6
    )  # in proportion to the sugar that is eaten


def screened(gives: dict[str, Any]) -> Plan:
    build = PlanBuilder("Screen", money="EUR", makes="core", demand="20 t/day")
    build.item("milled", unit="kg", buy="0.1 EUR")
    for item in ("core", "face", "oversize", "dust"):
        build.item(item, unit="kg")
    build.station("deck")
    build.route("core", gives="core").operation(
        "screen", station="deck", time={"screen": SCREEN}, takes={"milled": "1 kg"}, gives=gives
    )
    return build.build()


def test_shares_and_rate_of_a_screen_follow_from_sizes() -> None:
    network = compile_network(screened({n: {"model": n} for n in ("oversize", "core", "face", "dust")}))
    flow = solve_flow(network)
    told = {o.name: o.value / 100 for o in evaluate_model("screen", SCREEN).timed.outcomes}
    assert sum(told.values()) == pytest.approx(1, rel=1e-12)
    milled = flow.bought[flow.items.index("milled")]
    for item in ("oversize", "face", "dust"):
        assert flow.made[flow.items.index(item)] == pytest.approx(told[item] * milled, rel=1e-9)
    assert flow.delivered[flow.items.index("core")] == pytest.approx(told["core"] * milled, rel=1e-9)
    assert network.operations.continuous[0]
    assert network.operations.each[0] == pytest.approx(1e9 * 3600 / 4800, abs=1)  # 6 m2 x 0.8 t/h
    assert rate_of("screen", {**SCREEN, "amount": "100 kg"}) is None
    assert "that of a tonne" in evaluate_model("screen", SCREEN).timed.notes[0]


MILL = {"takes": "4 t/h", "middle": "4 mm", "aperture": "2 mm", "core_aperture": "0.8 mm", "face_aperture": "0.2 mm"}


def test_what_goes_round_lowers_the_rate_of_a_mill() -> None:
    build = PlanBuilder("Mill", money="EUR", makes="core", demand="20 t/day")
    build.item("chips", unit="kg", buy="0.1 EUR")
    for item in ("core", "face", "dust"):
        build.item(item, unit="kg")
    build.station("mill")
    build.route("core", gives="core").operation(
        "mill", station="mill", time={"mill": MILL}, takes={"chips": "1 kg"},
        gives={n: {"model": n} for n in ("core", "face", "dust")},
    )  # fmt: skip
    network = compile_network(build.build())
    flow = solve_flow(network)
    told = {o.name: o.value / 100 for o in evaluate_model("mill", MILL).timed.outcomes}
    chips = flow.bought[flow.items.index("chips")]
    assert told["core"] + told["face"] + told["dust"] == pytest.approx(1, rel=1e-12)
    assert flow.delivered[flow.items.index("core")] == pytest.approx(told["core"] * chips, rel=1e-9)
    assert flow.made[flow.items.index("dust")] == pytest.approx(told["dust"] * chips, rel=1e-9)
    assert network.operations.continuous[0]
    # 4 t/h through the mill is 4 / (1 + what is sent back) of fresh feed.
    assert rate_of("mill", MILL) == pytest.approx(4000 / 3600 / (1 + told["sent back"]), rel=1e-12)
    assert network.operations.each[0] == pytest.approx(1e9 * 3600 / 4000 * (1 + told["sent back"]), abs=1)
    assert rate_of("mill", {**MILL, "amount": "100 kg"}) is None


@pytest.mark.parametrize(
    ("plan", "path", "words"),
    [
        (lambda: dryer({"water": {"model": "watr lost"}}), "routes.flakes.operations[0].loses.water.model", "no such"),
        (lambda: dryer({"water": {"model": "wet bulb"}}), "routes.flakes.operations[0].loses.water.model", "no such"),
        (lambda: dryer({"water": {"model": "water lost"}}, time={"fixed": "3 min"}),
         "routes.flakes.operations[0].loses.water.model", "has no model"),
        (lambda: dryer({"water": "rest"}, {"chips": {"model": "water lost"}}),
         "routes.flakes.operations[0].takes.chips.model", "how much of that goes in is not known"),
        (lambda: screened({"core": {"model": "core"}, "face": "rest"}).change(
            "routes.core.operations[0].takes", {"milled": {"model": "core"}}),
         "routes.core.operations[0].takes.milled.model", "cannot say how much goes in"),
        (lambda: screened({"core": "rest"}).change(
            "routes.core.operations[0].takes_per_load", {"milled": {"model": "core"}}),
         "routes.core.operations[0].takes_per_load.milled", "only in takes"),
    ],
)  # fmt: skip
def test_what_a_model_does_not_tell_is_named(plan: Any, path: str, words: str) -> None:
    with pytest.raises(ProblemsError) as caught:
        compile_network(plan())
    assert [p.path for p in caught.value.problems if words in p.what] == [path]


def test_a_name_that_is_nearly_right_is_offered() -> None:
    with pytest.raises(ProblemsError, match="water lost"):
        compile_network(dryer({"water": {"model": "watr lost"}}))


@pytest.mark.parametrize("part", [{"model": 3}, {"model": ""}, {"model": "water lost", "amount": "1 kg"}, {"mdl": "x"}])
def test_wrong_forms_are_problems(part: dict[str, Any]) -> None:
    with pytest.raises(ProblemsError):
        dryer({"water": part})
    with pytest.raises(ProblemsError):
        dryer({"water": "rest"}, {"chips": "1.3725 kg", "pellets": part})
