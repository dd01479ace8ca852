"""How long does a tank ferment, how warm and how full of gas does it get, and will it finish?

The kinetics give sugar over time; alcohol and gas follow from the sugar by practice and chemistry, never from the
kinetics' own yield. Heat is what must be cooled away to hold the temperature. A tank is slower than a stirred flask:
its pace is a constant to be fitted to the cellar's own log.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from linewright.base.cautions import cautions
from linewright.base.results import Honesty
from linewright.physics.ferment_curves import LONGEST, Course, Schedule, ferment_many, ferment_one
from linewright.physics.inputs import KELVIN, Floats, Inputs
from linewright.physics.outcome import Outcome, Timed, curve
from linewright.physics.sugar import (
    ETHANOL_PER_SUGAR,
    GAS_PER_SUGAR,
    SUGAR_PER_ALCOHOL,
    WATER_20,
    fermenting_gravity,
    gravity_of_extract,
)
from linewright.physics.water_alcohol import ETHANOL_DENSITY
from linewright.physics.yeast import rates

HEAT = 0.556
"""kJ for each g of sugar fermented: 100.2 kJ/mol, between measured heats (98) and enthalpies of formation (101)."""
GAS_CONSTANT = 8.314462618
"""J/(mol K), CODATA 2018."""
GAS_MOLAR_MASS = 44.0095
"""g/mol of carbon dioxide."""
CELLAR_PACE = 0.5
"""Pace of a tank of settled must against published flasks. Common practice, no source: a white must at 17 degC ferments
about three weeks, where the flasks took about ten days."""


def gas_litres(grams: ArrayLike, temperature: ArrayLike = 20.0, pressure: ArrayLike = 101.325) -> Floats:
    """Litres of carbon dioxide gas.

    Equation: V = m R T / (M p), M = 44.0095 g/mol.
    Takes:
        grams [g]: m, 0 or more.
        temperature [degC]: of the gas.
        pressure [kPa]: of the gas.
    Gives: V [L]. Raises ProblemsError.
    Range: ideal gas, within 1 % of measured density near room temperature; dissolved gas not taken off.
    Source: ideal gas law; CODATA 2018.

    >>> round(float(gas_litres(97.71)), 1)
    53.4
    """
    inputs = Inputs()
    m, t = inputs.amount("grams", grams, "g"), inputs.temperature("temperature", temperature)
    p = inputs.size("pressure", pressure, "kPa")
    inputs.done()
    return np.asarray(m / GAS_MOLAR_MASS * GAS_CONSTANT * (t + KELVIN) / p)


@dataclass(frozen=True)
class Products:
    """From a litre of must, in g/L of must: ``alcohol``, ``gas``, and ``other`` (yeast, glycerol, acids), which
    together are the sugar fermented. ``strength`` is alcohol by volume of what is left, ``litres`` its volume,
    ``gravity`` what a hydrometer reads."""  # fmt: skip

    alcohol: Floats
    gas: Floats
    other: Floats
    strength: Floats
    litres: Floats
    gravity: Floats


def products(
    start: ArrayLike, sugar: ArrayLike, *, unfermented: ArrayLike = 10.0, per_percent: float = SUGAR_PER_ALCOHOL
) -> Products:
    """What sugar became, on the way or at the end.

    Equation: alcohol = dS 7.8924 / per_percent; gas = alcohol 0.48858 / 0.51142; other = dS - alcohol - gas, which
        stays in the liquid; volume from the mass that is left over its density (Tabarie).
    Takes:
        start [g/L]: sugar of the must.
        sugar [g/L]: what is left, in g for each litre of must; not above start.
        unfermented [g/L]: extract that yeast does not eat and that stays in the liquid.
        per_percent [g/L]: sugar for each per cent by volume, at least 15.43.
    Gives: Products. Raises ProblemsError.
    Range: musts up to 350 g/L.
    Source: Gay-Lussac; 16.83 g/L as European practice counts (from memory).

    >>> found = products(190.0, 2.0)
    >>> round(100 * float(found.strength), 1), round(float(found.gas), 1), round(float(found.litres), 3)
    (11.2, 84.2, 0.997)
    """
    inputs = Inputs()
    s0, s = inputs.amount("start", start, "g/L"), inputs.amount("sugar", sugar, "g/L")
    rest = inputs.amount("unfermented", unfermented, "g/L")
    inputs.number("per_percent", per_percent, low=15.43, unit="g/L", what="yeast cannot make that much of it")
    if np.any(s > s0):
        inputs.refuse("sugar", "more sugar than at the start", value=float(np.max(s)))
    inputs.done()
    eaten = s0 - s
    alcohol = eaten * ETHANOL_DENSITY / 100 / per_percent
    gas = alcohol * GAS_PER_SUGAR / ETHANOL_PER_SUGAR
    other = eaten - alcohol - gas
    mass = gravity_of_extract(s0 + rest) * WATER_20 * 1000 - gas
    # Volume and strength hang on each other; two rounds settle them to a millionth.
    litres = np.ones(np.shape(mass))
    gravity = litres
    for _ in range(6):
        gravity = fermenting_gravity((s + rest + other) / litres, alcohol / ETHANOL_DENSITY / litres)
        litres = mass / (gravity * WATER_20 * 1000)
    return Products(alcohol, gas, np.asarray(other), alcohol / ETHANOL_DENSITY / litres, np.asarray(litres), gravity)


def cooling_power(
    eaten: ArrayLike, litres: ArrayLike, temperature: ArrayLike = 15.0, around: ArrayLike = 15.0, wall: ArrayLike = 0.0
) -> Floats:
    """Power to be cooled away to hold a tank at its temperature.

    Equation: P = 0.556 r V / 3600 + U A (T_a - T) / 1000.
    Takes:
        eaten [g/(L h)]: r, sugar fermented an hour.
        litres [L]: V, above 0.
        temperature [degC]: T held in the tank.
        around [degC]: T_a of the cellar.
        wall [W/K]: U A of the bare wall, 0 or more.
    Gives: P [kW]; negative means that it must be warmed. Raises ProblemsError.
    Range: heat carried off by gas and vapour left out (some 5 to 10 %, so the figure is on the high side).
    Source: heat of fermentation 100 kJ/mol (Boulton and others, Principles and Practices of Winemaking; from memory).

    >>> round(float(cooling_power(1.0, 5000.0)), 3)
    0.772
    """
    inputs = Inputs()
    r, v = inputs.amount("eaten", eaten, "g/(L h)"), inputs.size("litres", litres, "L")
    t, ta = inputs.temperature("temperature", temperature), inputs.temperature("around", around)
    ua = inputs.amount("wall", wall, "W/K")
    inputs.done()
    return np.asarray(HEAT * r * v / 3600 + ua * (ta - t) / 1000)


def stuck_reasons(sugar: float, nitrogen: float, yeast: float, temperature: float, end: float = 2.0) -> tuple[str, ...]:
    """Why a must may stop before it is dry; empty where the kinetics see no risk.

    Equation: the must is fermented again with more nitrogen (300 mg/L), at 20 degC, with twice the yeast, with a tenth
        less sugar, to see which of them frees it; and with a fifth less nitrogen and 3 degC more, to see how near
        it is.
    Takes:
        sugar [g/L]: at the start.
        nitrogen [mg/L]: that yeast can use.
        yeast [g/L]: dry cells pitched.
        temperature [degC]: held.
        end [g/L]: sugar at which it counts as dry.
    Gives: sentences. Raises ProblemsError.
    Range: as yeast.RANGES. Poisons, infections and cold shocks are not seen.
    Source: as yeast.slopes.

    >>> stuck_reasons(264.0, 200.0, 0.25, 18.0)
    ()
    >>> stuck_reasons(264.0, 80.0, 0.25, 35.0)[0]
    'sticks at 50 g/L of sugar'
    """
    hot = min(temperature + 3, 40.0)
    tries = [
        (sugar, nitrogen, yeast, temperature), (sugar, max(nitrogen, 300.0), yeast, temperature),
        (sugar, nitrogen, yeast, 20.0), (sugar, nitrogen, 2 * yeast, temperature),
        (0.9 * sugar, nitrogen, yeast, temperature), (sugar, 0.8 * nitrogen, yeast, temperature),
        (sugar, nitrogen, yeast, hot),
    ]  # fmt: skip
    s, n, x, t = (np.array(column) for column in zip(*tries, strict=True))
    import warnings

    from linewright.physics.ranges import RangeWarning

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)  # the must itself has warned; its variants need not
        course = ferment_many(s, n, x, t, np.linspace(0, LONGEST, 121), end=end)
    dry = np.isfinite(course.dry_after)
    if not dry[0]:
        helps = ("nitrogen is short", "it is too warm or too cold", "too little yeast", "the sugar is high")
        frees = [why for why, free in zip(helps, dry[1:5], strict=True) if free]
        return (f"sticks at {course.sugar[0, -1]:.0f} g/L of sugar", *(frees or ["several causes together"]))
    near = []
    if not dry[5]:
        near.append("would stick with a fifth less nitrogen")
    if not dry[6]:
        near.append("would stick 3 degC warmer")
    return tuple(near)


def ferment(
    sugar: float,
    nitrogen: float = 120.0,
    yeast: float = 0.2,
    temperature: float | Schedule = 17.0,
    *,
    end: float = 2.0,
    pace: float = CELLAR_PACE,
    litres: float = 5000.0,
    around: float = 15.0,
    wall: float = 0.0,
    unfermented: float = 10.0,
) -> Timed:
    """A tank of must until it is dry: time, alcohol, gas, cooling, risk, with the curves.

    Equation: yeast.slopes at the pace of the tank; products; cooling_power; gas_litres.
    Takes:
        sugar [g/L]: that yeast can eat, at the start; above 350 it does not start.
        nitrogen [mg/L]: that yeast can use.
        yeast [g/L]: dry cells pitched.
        temperature [degC, or Schedule]: held in the tank.
        end [g/L]: sugar at which it is dry.
        pace [1]: speed against published flasks; 0.5 for a tank of settled must, or from forecast.
        litres [L]: in the tank.
        around [degC]: of the cellar.
        wall [W/K]: U A of the bare tank wall.
        unfermented [g/L]: extract that yeast does not eat and that stays in the liquid.
    Gives: a Timed, infinite where it sticks. Gas by hour is the most that chemistry allows. Raises ProblemsError.
    Range: as yeast.RANGES; warns RangeWarning outside. Days on skins are a stand of their own.
    Source: as yeast.slopes; pace is common practice, no source.

    >>> found = ferment(192.0, 100.0, 0.1, 17.0)
    >>> 14 < found.seconds / 86400 < 24, round(found.outcome("alcohol"), 1)
    (True, 11.3)
    """
    inputs = Inputs()
    inputs.size("litres", litres, "L")
    inputs.amount("wall", wall, "W/K")
    inputs.temperature("around", around)
    inputs.amount("unfermented", unfermented, "g/L")
    inputs.done()
    course = ferment_one(sugar, nitrogen, yeast, temperature, pace=pace, end=end)
    held = temperature if isinstance(temperature, float | int) else float(np.mean(temperature.degrees))
    now = np.asarray([temperature.at(h) if isinstance(temperature, Schedule) else temperature for h in course.hours])
    eaten = _eaten(course, sugar, nitrogen, now, pace)
    made = products(sugar, np.minimum(course.sugar, sugar), unfermented=unfermented)
    power = cooling_power(eaten, litres, now, around, wall)
    gas = gas_litres(eaten * litres * GAS_PER_SUGAR, now)
    dry = bool(np.isfinite(course.dry_after))
    last = products(sugar, min(end, sugar) if dry else float(course.sugar[-1]), unfermented=unfermented)
    reasons = stuck_reasons(sugar, nitrogen, yeast, held, end) if np.ptp(now) == 0 else ()
    notes: tuple[str, ...] = (
        f"pace {pace:g} of published flasks" + ("" if pace != CELLAR_PACE else ": common practice, no source"),
    )
    notes += tuple(f"stuck risk: {reason}" for reason in reasons)
    drawn = curve(
        "Sugar in the tank", course.hours * 3600, end,
        sugar=("g/L", course.sugar), alcohol=("% vol", 100 * made.strength), gravity=("", made.gravity),
        cooling=("kW", power), carbon_dioxide=("L/h", gas), living_yeast=("g/L", course.living),
    )  # fmt: skip
    return Timed(
        "ferment",
        float(course.dry_after) * 3600,
        drawn,
        (
            Outcome("alcohol", 100 * float(last.strength), "% vol"),
            Outcome("carbon dioxide", float(last.gas), "g/L must", "litre"),
            Outcome("carbon dioxide at most", float(np.max(gas)), "L/h"),
            Outcome("carbon dioxide in all", float(gas_litres(last.gas * litres, held)) / 1000, "m3"),
            Outcome("cooling at most", float(np.max(power)), "kW"),
            Outcome("heat given off", HEAT * (sugar - float(course.sugar[-1])) * litres / 3600, "kWh"),
            Outcome("volume left", 100 * float(last.litres), "%"),
            Outcome("gravity at the end", float(last.gravity), ""),
            Outcome("sugar left", float(end if dry else course.sugar[-1]), "g/L"),
        ),
        {"sugar": sugar, "nitrogen": nitrogen, "yeast": yeast, "temperature": held, "end": end, "pace": pace},
        {"sugar": "g/L", "nitrogen": "mg/L", "yeast": "g/L", "temperature": "degC", "end": "g/L", "pace": ""},
        notes,
        cautions((("carbon dioxide", "fermenting tank"), ("confined space", "fermenting tank"))),
        Honesty("estimate" if dry else "stuck", notes=notes),
    )


def _eaten(course: Course, sugar: float, nitrogen: float, degrees: Floats, pace: float) -> Floats:
    """Sugar fermented an hour, g/(L h), along a course."""
    at = rates(degrees, nitrogen)
    from linewright.physics.yeast import slopes

    log_nitrogen = np.full(course.hours.shape, -50.0)  # eating does not ask for nitrogen
    _, _, falling = slopes(log_nitrogen, course.living, np.log(course.sugar), np.asarray(sugar), at)
    return np.maximum(-falling * course.sugar * pace, 0.0)  # cells of a stuck must may round below zero
