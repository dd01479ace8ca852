"""Fermentation: both solvers against a plain integration, mass and heat closed, risk, common practice."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from linewright.base.problems import ProblemsError
from linewright.physics.ferment import HEAT, cooling_power, ferment, gas_litres, products, stuck_reasons
from linewright.physics.ferment_curves import Schedule, ferment_many, ferment_one
from linewright.physics.ranges import RangeWarning
from linewright.physics.yeast import STATED_YIELD, rates

MONTH = np.linspace(0, 720, 121)


def plainly(sugar: float, nitrogen: float, yeast: float, temperature: float, hours: np.ndarray) -> np.ndarray:
    """The published equations as printed, five plain variables, by another method."""
    at = rates(temperature, nitrogen)

    def slope(_: float, y: np.ndarray) -> list[float]:
        _, living, n, alcohol, s = y
        mu = float(at.growth) * n / (at.half_nitrogen + n)
        beta = float(at.eating) * s / (at.half_sugar + s)
        return [mu * living, mu * living - float(at.loss) * alcohol * living, -mu * living / float(at.cells),
                beta * living, -beta * living / STATED_YIELD]  # fmt: skip

    first = [yeast, yeast, nitrogen / 1000, 0.0, sugar]
    solved = solve_ivp(slope, (0, hours[-1]), first, method="BDF", t_eval=hours, rtol=1e-9, atol=1e-11)
    found: np.ndarray = solved.y
    return found


@pytest.mark.parametrize("temperature", [11.0, 20.0, 30.0, 35.0])
@pytest.mark.parametrize("nitrogen", [80.0, 330.0])
def test_both_paths_solve_the_printed_equations(temperature: float, nitrogen: float) -> None:
    plain = plainly(264.0, nitrogen, 0.25, temperature, MONTH)
    one = ferment_one(264.0, nitrogen, 0.25, temperature, hours=MONTH)
    many = ferment_many(264.0, [nitrogen], 0.25, temperature, MONTH)
    assert one.sugar == pytest.approx(np.maximum(plain[4], 0), abs=2e-3)
    assert one.living == pytest.approx(plain[1], abs=2e-4)
    assert one.cells == pytest.approx(plain[0], abs=2e-4)
    assert many.sugar[0] == pytest.approx(one.sugar, abs=2e-3)
    assert many.living[0] == pytest.approx(one.living, abs=1e-4)
    assert many.dry_after[0] == pytest.approx(float(one.dry_after), abs=0.02)


def test_a_schedule_of_one_temperature_is_that_temperature() -> None:
    steady = ferment_one(200.0, 120.0, 0.2, 17.0)
    held = Schedule((0.0, 1000.0), (17.0, 17.0))
    assert ferment_one(200.0, 120.0, 0.2, held).dry_after == pytest.approx(float(steady.dry_after), abs=0.01)
    many = ferment_many(200.0, [120.0], 0.2, held, MONTH)
    assert many.dry_after[0] == pytest.approx(float(steady.dry_after), abs=0.02)


def test_a_cellar_that_warms_lies_between() -> None:
    cold, warm = (float(ferment_one(200.0, 120.0, 0.2, t).dry_after) for t in (13.0, 20.0))
    rising = float(ferment_one(200.0, 120.0, 0.2, Schedule((0.0, 100.0), (13.0, 20.0))).dry_after)
    assert warm < rising < cold


def test_pace_stretches_time_and_nothing_else() -> None:
    flask, tank = ferment_one(200.0, 120.0, 0.2, 17.0), ferment_one(200.0, 120.0, 0.2, 17.0, pace=0.5)
    assert tank.dry_after == pytest.approx(2 * float(flask.dry_after), rel=1e-6)


def test_mass_is_conserved() -> None:
    found = products(200.0, np.linspace(0, 200, 21))
    assert found.alcohol + found.gas + found.other == pytest.approx(200 - np.linspace(0, 200, 21), abs=1e-9)
    assert np.all(found.other >= 0)
    pure = products(200.0, 0.0, per_percent=15.44)
    assert float(pure.alcohol) < 200 * 0.51142 + 1e-9
    assert float(pure.other) == pytest.approx(0.0, abs=0.2)


def test_volume_shrinks_and_gas_leaves_by_mass() -> None:
    """What is left weighs what went in less the gas, and takes less room."""
    found = products(200.0, 2.0)
    assert 0.98 < found.litres < 1.0
    from linewright.physics.sugar import gravity_of_extract

    before = float(gravity_of_extract(210.0)) * 998.20123
    after = float(found.litres) * float(found.gravity) * 998.20123
    assert before - after == pytest.approx(float(found.gas), abs=1e-6)


def test_nothing_fermented_changes_nothing() -> None:
    found = products(200.0, 200.0)
    assert found.litres == pytest.approx(1.0, abs=1e-9)
    assert found.strength == pytest.approx(0.0, abs=1e-9)
    assert cooling_power(0.0, 5000.0, 15.0, 15.0) == 0.0


def test_heat_and_gas_add_up_over_the_curve() -> None:
    found = ferment(192.0, 100.0, 0.15, 17.0, around=17.0)
    hours = np.array(found.curve.times) / 3600
    heat = np.trapezoid(found.curve.values("cooling"), hours)
    assert heat == pytest.approx(found.outcome("heat given off"), rel=2e-3)
    fermented = 192.0 - found.curve.values("sugar")[-1]
    assert heat == pytest.approx(HEAT * fermented * 5000 / 3600, rel=2e-3)
    gas = np.trapezoid(found.curve.values("carbon dioxide"), hours)
    assert gas == pytest.approx(float(gas_litres(0.48858 * fermented * 5000, 17.0)), rel=2e-3)


def test_cautions_come_with_every_tank() -> None:
    found = ferment(192.0, 100.0, 0.15, 17.0)
    assert {c.hazard for c in found.cautions} == {"carbon dioxide", "confined space"}
    assert all("decide" in c.text for c in found.cautions)


def test_refusals_by_name() -> None:
    with pytest.raises(ProblemsError, match="yeast will not start at this sugar"):
        ferment(380.0)
    with pytest.raises(ProblemsError, match="yeast does not work at this temperature"):
        ferment(190.0, temperature=2.0)
    with pytest.raises(ProblemsError) as wrong:
        ferment_one(-5.0, -1.0, 0.0, -300.0)
    assert {p.path for p in wrong.value.problems} == {"sugar", "nitrogen", "yeast", "temperature"}
    with pytest.raises(ProblemsError, match="hours rise from 0"):
        ferment_many(200.0, 100.0, 0.2, 17.0, [0.0, 5.0, 3.0])


def test_outside_the_published_fermentations_it_warns() -> None:
    with pytest.warns(RangeWarning, match="nitrogen of 40 mg/L") as seen:
        ferment_one(200.0, 40.0, 0.2, 17.0)
    assert seen[0].filename == __file__
    with pytest.warns(RangeWarning, match="nitrogen of 40 mg/L") as seen:
        ferment(200.0, 40.0, 0.2, 17.0)  # through another formula, and still at the call
    assert {w.filename for w in seen} == {__file__}


def test_a_tank_on_a_schedule() -> None:
    rising = ferment(200.0, 120.0, 0.2, Schedule((0.0, 120.0), (13.0, 18.0)))
    cold, warm = (ferment(200.0, 120.0, 0.2, t).seconds for t in (13.0, 18.0))
    assert warm < rising.seconds < cold


def test_a_must_without_nitrogen_still_has_an_answer() -> None:
    with pytest.warns(RangeWarning):
        found = ferment_one(200.0, 0.0, 0.2, 20.0)
    assert np.all(np.isfinite(found.sugar))


def test_dry_already() -> None:
    assert ferment_one(1.0, 100.0, 0.2, 17.0).dry_after == 0.0


def test_stuck_says_why() -> None:
    assert stuck_reasons(190.0, 200.0, 0.25, 18.0) == ()
    reasons = stuck_reasons(264.0, 80.0, 0.25, 35.0)
    assert reasons[0].startswith("sticks at 50")
    assert "nitrogen is short" not in reasons  # at 35 degC more nitrogen does not free it
    assert "it is too warm or too cold" in reasons
    found = ferment(264.0, 80.0, 0.25, 35.0)
    assert found.seconds == np.inf
    assert found.honesty.status == "stuck"
    assert any("too warm" in note for note in found.notes)


def test_warmer_is_faster_and_colder_gives_less_gas_an_hour() -> None:
    days = {t: ferment(192.0, 100.0, 0.15, t) for t in (13.0, 17.0)}
    assert days[13.0].seconds > 1.3 * days[17.0].seconds
    assert days[13.0].outcome("carbon dioxide at most") < days[17.0].outcome("carbon dioxide at most")
    assert days[13.0].outcome("alcohol") == pytest.approx(days[17.0].outcome("alcohol"), abs=1e-9)


def test_common_practice_of_a_white_must() -> None:
    """Common practice, no source: a white must at 17 degC takes about three weeks, and ends at 11 to 11.5 % vol."""
    found = ferment(193.0, 80.0, 0.1, 17.0)
    assert found.seconds / 86400 == pytest.approx(21, abs=4)
    assert 11 <= found.outcome("alcohol") <= 11.5


def test_common_practice_of_a_red_must() -> None:
    """Common practice, no source: a red at 30 degC is done within about ten days, at 11 to 13 % vol."""
    found = ferment(210.0, 150.0, 0.25, 30.0)
    assert found.seconds / 86400 < 10
    assert 11 <= found.outcome("alcohol") <= 13
