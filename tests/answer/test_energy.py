"""Heat of dryers against fuel at hand, cooling of tanks against cooling there is: by hand, and said by name."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from rich.console import Console

from linewright.answer import Answer, answer
from linewright.plan import read_plan
from linewright.plan.model import Plan
from linewright.report import energy as said
from linewright.report.html import to_html
from linewright.report.terminal import print_answer

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
CIDER = read_plan(EXAMPLES / "cider.toml")
BOARD = read_plan(EXAMPLES / "reedboard.toml")


@pytest.fixture(scope="module")
def cider() -> Answer:
    return answer(CIDER)


@pytest.fixture(scope="module")
def board() -> Answer:
    return answer(BOARD)


def test_the_dryer_by_hand(board: Answer) -> None:
    """Dry matter is the flakes over 1.02; 3.63 MJ for each kg of water (docs of dryer_heat), 0.38 kg water a kg dry."""
    (dryer,) = board.energy.dryers
    flow = board.flow
    flakes = flow.made[flow.items.index("flakes")]
    assert dryer.dry_matter == pytest.approx(flakes / 1.02, rel=1e-3)
    assert dryer.heat == pytest.approx(dryer.dry_matter * 0.38 * 3.63, rel=1e-3)
    assert dryer.power * dryer.hours * 3.6 == pytest.approx(dryer.heat, rel=1e-12)
    assert dryer.per_unit * flow.demand == pytest.approx(dryer.heat, rel=1e-12)


def test_dust_and_bought_fuel_give_the_heat(board: Answer) -> None:
    (dryer,) = board.energy.dryers
    own, other = dryer.fuels
    assert (own.item, own.own, other.item, other.own) == ("dust", True, "pellets", False)
    assert own.at_hand == pytest.approx(board.flow.made[board.flow.items.index("dust")])
    given = (own.at_hand - dryer.left) * own.value + dryer.bought * other.value
    assert given * dryer.burnt == pytest.approx(dryer.heat, rel=1e-9)
    assert dryer.cover == pytest.approx(own.at_hand * own.value * dryer.burnt / dryer.heat, rel=1e-9)
    assert dryer.plan_gives == pytest.approx(1, abs=0.05)
    assert not board.problems


def test_fuel_that_does_not_fit_the_heat_is_a_warning() -> None:
    wetter = BOARD.change("items.dust.heating_value", "12 MJ/kg").change("items.pellets.heating_value", "12 MJ/kg")
    warnings = [p for p in answer(wetter).problems if "% of the heat that its model wants" in p.what]
    assert [p.path for p in warnings] == ["routes.flakes.operations[dry].takes"]
    assert warnings[0].file
    assert "gives 70 %" in warnings[0].what


def test_a_choice_called_fuel_burns_at_the_value_of_the_model() -> None:
    bare = BOARD.change("items.dust.heating_value", None).change("items.pellets.heating_value", None)
    found = answer(bare)
    (dryer,) = found.energy.dryers
    assert [(f.item, f.value, f.stated) for f in dryer.fuels] == [("dust", 17.0, False), ("pellets", 17.0, False)]
    assert "not written" in dryer.said


def test_cooling_and_gas_by_hand(cider: Answer) -> None:
    """Heat and gas of a whole fermentation, times the tanks started in an hour, are the means (nothing is lost)."""
    from linewright.answer.followed import followed

    (tanks,) = cider.energy.tanks
    (model,) = followed(cider.plan)
    starts = tanks.at_once / (model.timed.seconds / 3600)  # an hour, by Little's law
    assert tanks.mean == pytest.approx(model.timed.outcome("heat given off") * starts, rel=0.01)
    grams = 122 * 44.0095 / (180.156 / 2) * 5000  # the most that chemistry allows of 122 g/L in 5,000 L
    litres = grams / 44.0095 * 8.314462618 * 285.15 / 101.325  # at 12 degC, by the ideal gas law
    assert tanks.gas_mean == pytest.approx(litres * starts, rel=0.01)
    assert tanks.gas_mean > 1000 * model.timed.outcome("carbon dioxide in all") * starts
    made = min(1.0, cider.capacity.bounds[0].multiple)
    cycles = cider.flow.cycles[cider.network.operations.ids.index("ferment")]
    assert starts * 24 * 7 == pytest.approx(cycles * made * cider.network.days_week, rel=1e-9)
    assert tanks.mean <= tanks.peak <= tanks.most
    assert tanks.most == pytest.approx(tanks.places * model.timed.outcome("cooling at most"), rel=0.01)


@pytest.mark.parametrize(("power", "words"), [("0.5 kW", "short even on average"), ("1.2 kW", "together it would be"),
                                              ("9 kW", "meets what the model wants")])  # fmt: skip
def test_cooling_that_is_short_is_said(power: str, words: str) -> None:
    found = answer(CIDER.change("stations.fermenter.cooling", power))
    assert words in found.energy.tanks[0].said
    short = [p.path for p in found.problems if "kW of cooling" in p.what]
    assert short == (["stations.fermenter.cooling"] if power == "0.5 kW" else [])


def test_report_and_terminal_say_it(cider: Answer, board: Answer) -> None:
    for found, words in ((cider, "tanks at once want"), (board, "of heat while it runs")):
        page = to_html(found, live=False)
        assert words in page
        out = io.StringIO()
        print_answer(found, console=Console(file=out, width=140))
        assert all(table.title.split(",")[0] in out.getvalue() for table in said.tables(found))
    assert "L of carbon dioxide an hour" in to_html(cider, live=False)
    assert cider.to_dict()["energy"]["tanks"][0]["at_once"] == pytest.approx(cider.energy.tanks[0].at_once)


def test_cautions_of_a_model_come_without_being_named() -> None:
    quiet: Plan = CIDER.change("routes.young.operations[1].hazards", None)
    quiet = quiet.change("stations.fermenter.hazards", None).change("stations.maturing_tank.hazards", None)
    gas = next(c for c in answer(quiet).cautions if c.hazard == "carbon dioxide")
    assert "Ferment cold" in gas.where
