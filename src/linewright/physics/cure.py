"""When has it set? Degree of cure over time at temperature, time to handle, to full strength, and clamp time.

A cure follows a rate law of order n, or one that speeds itself up; its rate follows temperature by Arrhenius or by a
factor for each 10 degC as a supplier's sheet gives it. Strength is taken as straight in the degree of cure above the
point where the joint first holds.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.integrate import solve_ivp

from linewright.base.cautions import cautions
from linewright.base.results import Honesty
from linewright.physics.inputs import KELVIN, Floats, Inputs
from linewright.physics.outcome import Outcome, Timed, curve
from linewright.physics.ranges import Range, warn_outside

GAS_CONSTANT = 8.314462618e-3
"""kJ/(mol K), CODATA 2018."""
RANGES = {
    "temperature": Range(-10.0, 200.0, "degC", "common practice with adhesives"),
    "energy": Range(20.0, 200.0, "kJ/mol", "common practice with adhesives"),
    "away": Range(-30.0, 30.0, "K", "a factor for each 10 degC as common practice"),
}
"""Where the laws are used; no published limits."""
FULL = 0.95
"""Degree of cure that counts as full strength."""


def arrhenius_factor(temperature: ArrayLike, reference: ArrayLike, energy: ArrayLike) -> Floats:
    """How many times faster than at the reference temperature.

    Equation: exp(-E / R (1 / T - 1 / T_ref)), T in K.
    Takes:
        temperature [degC]: of the joint.
        reference [degC]: at which the rate is known.
        energy [kJ/mol]: E, activation energy, 0 or more.
    Gives: factor [1]. Raises ProblemsError.
    Range: -10 to 200 degC, 20 to 200 kJ/mol; warns RangeWarning outside.
    Source: Arrhenius; R by CODATA 2018.

    >>> round(float(arrhenius_factor(30.0, 20.0, 60.0)), 3)
    2.252
    """
    inputs = Inputs()
    t, t0 = inputs.temperature("temperature", temperature), inputs.temperature("reference", reference)
    e = inputs.amount("energy", energy, "kJ/mol")
    inputs.done()
    warn_outside("Arrhenius", RANGES, temperature=t, energy=e)
    return np.asarray(np.exp(-e / GAS_CONSTANT * (1 / (t + KELVIN) - 1 / (t0 + KELVIN))))


def ten_degree_factor(temperature: ArrayLike, reference: ArrayLike, per_10: ArrayLike) -> Floats:
    """How many times faster than at the reference, from a factor for each 10 degC.

    Equation: f^((T - T_ref) / 10).
    Takes:
        temperature [degC]: of the joint.
        reference [degC]: at which the time is known.
        per_10 [1]: f, above 0; 2 where nothing better is known.
    Gives: factor [1]. Raises ProblemsError.
    Range: 30 K to either side of the reference; warns RangeWarning beyond.
    Source: common practice (van 't Hoff's rule); measure it at two temperatures.

    >>> float(ten_degree_factor(40.0, 20.0, 2.0))
    4.0
    """
    inputs = Inputs()
    t, t0 = inputs.temperature("temperature", temperature), inputs.temperature("reference", reference)
    f = inputs.size("per_10", per_10, "")
    inputs.done()
    warn_outside("factor for each 10 degC", RANGES, away=t - t0)
    return np.asarray(f ** ((t - t0) / 10))


def activation_energy(first: float, first_time: float, second: float, second_time: float) -> float:
    """Activation energy from the times to one state at two temperatures.

    Equation: E = R ln(t_1 / t_2) / (1 / T_1 - 1 / T_2), T in K.
    Takes:
        first [degC]: T_1.
        first_time [s]: t_1 at T_1, above 0.
        second [degC]: T_2, another temperature.
        second_time [s]: t_2 at T_2, above 0.
    Gives: E [kJ/mol]. Raises ProblemsError.
    Range: one reaction.
    Source: Arrhenius.

    >>> round(activation_energy(20.0, 3600.0, 30.0, 1800.0), 1)
    51.2
    """
    inputs = Inputs()
    t1, t2 = float(inputs.temperature("first", first)), float(inputs.temperature("second", second))
    inputs.size("first_time", first_time, "s")
    inputs.size("second_time", second_time, "s")
    if t1 == t2:
        inputs.refuse("second", "two different temperatures are needed", value=t2)
    inputs.done()
    return GAS_CONSTANT * float(np.log(first_time / second_time)) / (1 / (t1 + KELVIN) - 1 / (t2 + KELVIN))


def degree_of_cure(time: ArrayLike, rate: ArrayLike, order: float = 1.0) -> Floats:
    """Degree of cure after a time at one temperature.

    Equation: da/dt = k (1 - a)^n: a = 1 - exp(-k t) for n = 1, else 1 - (1 + (n - 1) k t)^(1 / (1 - n)).
    Takes:
        time [s]: 0 or more.
        rate [1/s]: k, 0 or more.
        order [1]: n, above 0.
    Gives: a [1], 0 to 1. Raises ProblemsError.
    Range: one rate law throughout.
    Source: any text on kinetics; Prime in Turi, Thermal Characterization of Polymeric Materials (from memory).

    >>> round(float(degree_of_cure(60.0, 0.05)), 4)
    0.9502
    """
    inputs = Inputs()
    t, k = inputs.amount("time", time, "s"), inputs.amount("rate", rate, "1/s")
    n = float(inputs.size("order", order, ""))
    inputs.done()
    if n == 1.0:
        return np.asarray(-np.expm1(-k * t))
    return np.asarray(1 - np.maximum(1 + (n - 1) * k * t, 0.0) ** (1 / (1 - n)))


def cure_time(degree: ArrayLike, rate: ArrayLike, order: float = 1.0) -> Floats:
    """Seconds to a degree of cure: degree_of_cure read backwards.

    Equation: t = -ln(1 - a) / k for n = 1, else ((1 - a)^(1 - n) - 1) / ((n - 1) k).
    Takes:
        degree [1]: a, 0 to 1; 1 is never reached where n is 1 or more.
        rate [1/s]: k, above 0.
        order [1]: n, above 0.
    Gives: t [s]. Raises ProblemsError.
    Range: one rate law throughout.
    Source: as degree_of_cure.

    >>> round(float(cure_time(0.5, 0.001)))
    693
    """
    inputs = Inputs()
    a, k = inputs.share("degree", degree), inputs.size("rate", rate, "1/s")
    n = float(inputs.size("order", order, ""))
    inputs.done()
    with np.errstate(divide="ignore"):
        if n == 1.0:
            return np.asarray(-np.log1p(-a) / k)
        return np.asarray(((1 - a) ** (1 - n) - 1) / ((n - 1) * k))


def self_speeding_cure(
    times: ArrayLike, start_rate: float, growth_rate: float, *, power: float = 1.0, order: float = 1.0
) -> Floats:
    """Degree of cure of a resin that speeds itself up, at given times.

    Equation: da/dt = (k_1 + k_2 a^m)(1 - a)^n.
    Takes:
        times [s]: rising, the first 0 or later.
        start_rate [1/s]: k_1, above 0.
        growth_rate [1/s]: k_2, 0 or more.
        power [1]: m.
        order [1]: n.
    Gives: a [1] at the times. Raises ProblemsError.
    Range: one temperature; epoxies and others that show a peak of rate after the start.
    Source: Kamal and Sourour, Polymer Engineering and Science 13 (1973) 59; LSODA of SciPy.

    >>> self_speeding_cure([0.0, 600.0], 1e-4, 5e-3).round(3).tolist()
    [0.0, 0.285]
    """
    inputs = Inputs()
    grid = inputs.amount("times", times, "s")
    inputs.size("start_rate", start_rate, "1/s")
    inputs.amount("growth_rate", growth_rate, "1/s")
    inputs.size("power", power, "")
    inputs.size("order", order, "")
    if grid.ndim != 1 or np.any(np.diff(grid) < 0):
        inputs.refuse("times", "the times rise")
    inputs.done()

    def slope(_: float, a: Floats) -> Floats:
        left = np.clip(1 - a, 0.0, 1.0)
        return np.asarray((start_rate + growth_rate * np.clip(a, 0.0, 1.0) ** power) * left**order)

    last = float(grid[-1]) if grid.size and grid[-1] > 0 else 1.0
    solved = solve_ivp(slope, (0.0, last), [0.0], method="LSODA", t_eval=grid, rtol=1e-9, atol=1e-11)
    return np.asarray(np.clip(solved.y[0], 0.0, 1.0), dtype=np.float64)


def cure_through(hours: ArrayLike, temperature: ArrayLike, rate: float, reference: float, energy: float,
                 order: float = 1.0) -> Floats:  # fmt: skip
    """Degree of cure along a history of temperature, such as an oven's.

    Equation: degree_of_cure at the time theta that counts the same at the reference: theta = integral of the
        arrhenius_factor, by trapezoids.
    Takes:
        hours [h]: of the history, rising from its start.
        temperature [degC]: at those hours.
        rate [1/s]: k at the reference, above 0.
        reference [degC]: at which k is known.
        energy [kJ/mol]: activation energy.
        order [1]: n.
    Gives: a [1] at the hours. Raises ProblemsError.
    Range: as arrhenius_factor; steps short enough for straight lines.
    Source: equivalent time; as arrhenius_factor.

    >>> cure_through([0.0, 1.0], [20.0, 20.0], 1e-3, 20.0, 60.0).round(4).tolist()
    [0.0, 0.9727]
    """
    inputs = Inputs()
    h = inputs.amount("hours", hours, "h")
    t = inputs.temperature("temperature", temperature)
    if h.ndim != 1 or h.shape != t.shape or np.any(np.diff(h) < 0):
        inputs.refuse("hours", "hours and temperatures are two rows of one length, the hours rising")
    inputs.done()
    speed = arrhenius_factor(t, reference, energy)
    steps = np.diff(h) * 3600 * (speed[1:] + speed[:-1]) / 2
    return degree_of_cure(np.concatenate([[0.0], np.cumsum(steps)]), rate, order)


def strength_share(degree: ArrayLike, holds_at: ArrayLike = 0.2) -> Floats:
    """Share of the full strength at a degree of cure.

    Equation: (a - a_h) / (1 - a_h) above a_h, else 0.
    Takes:
        degree [1]: a, 0 to 1.
        holds_at [1]: a_h, where the joint first holds, 0 to below 1.
    Gives: share [1]. Raises ProblemsError.
    Range: a stated simplification; measure lap shears at two times to check it.
    Source: common practice, no source.

    >>> round(float(strength_share(0.6)), 3)
    0.5
    """
    inputs = Inputs()
    a = inputs.share("degree", degree)
    first = inputs.number("holds_at", holds_at, low=0.0, below=1.0, what="this is not a share below 100 %")
    inputs.done()
    return np.maximum((a - first) / (1 - first), 0.0)


def clamp_time(
    spring_back: ArrayLike, area: ArrayLike, full_strength: ArrayLike, rate: ArrayLike, *, margin: ArrayLike = 3.0,
    holds_at: ArrayLike = 0.2, order: float = 1.0,
) -> Floats:  # fmt: skip
    """Seconds in the clamp until the joint holds what wants to spring open.

    Equation: strength_share(a) full_strength area = margin spring_back, then cure_time(a).
    Takes:
        spring_back [kN]: force that opens the joint, 0 or more.
        area [m2]: of the joint, above 0.
        full_strength [kPa]: of the cured joint, above 0.
        rate [1/s]: of cure at the temperature, above 0.
        margin [1]: strength over load, at least 1.
        holds_at [1]: degree of cure where the joint first holds.
        order [1]: of the rate law.
    Gives: t [s]. Raises ProblemsError where even the cured joint would not hold.
    Range: load spread evenly over the joint.
    Source: equilibrium of forces; margin is a choice.

    >>> round(float(clamp_time(0.2, 0.004, 2000.0, 0.001)))
    301
    """
    inputs = Inputs()
    force, a = inputs.amount("spring_back", spring_back, "kN"), inputs.size("area", area, "m2")
    full = inputs.size("full_strength", full_strength, "kPa")
    safe = inputs.number("margin", margin, low=1.0, what="a margin below 1 lets the joint open")
    first = inputs.number("holds_at", holds_at, low=0.0, below=1.0, what="this is not a share below 100 %")
    share = safe * force / (a * full)
    if np.any(share >= 1):
        inputs.refuse("spring_back", "even the cured joint would not hold this with its margin",
                      value=f"{float(np.max(force)):g} kN", hint="a larger joint or other adhesive")  # fmt: skip
    inputs.done()
    return cure_time(np.where(share > 0, first + share * (1 - first), 0.0), rate, order)


def cure(
    known_time: float,
    known_at: float,
    temperature: float,
    *,
    degree: float = 0.5,
    wanted: float | None = None,
    per_10: float = 2.0,
    energy: float | None = None,
    order: float = 1.0,
    holds_at: float = 0.2,
) -> Timed:
    """An adhesive or resin at another temperature than its sheet gives: time to handle, to full strength, the curve.

    Equation: k = cure_time(degree, 1) / known_time, times arrhenius_factor or ten_degree_factor; then cure_time.
    Takes:
        known_time [s]: to the degree at known_at, from the supplier's sheet or own tests.
        known_at [degC]: its temperature.
        temperature [degC]: of the joint now.
        degree [1]: degree of cure that known_time means; 0.5 for handling.
        wanted [1]: degree wanted; the same where not given.
        per_10 [1]: factor for each 10 degC, used where no energy is given.
        energy [kJ/mol]: activation energy.
        order [1]: of the rate law.
        holds_at [1]: degree where the joint first holds.
    Gives: a Timed; outcomes are time to full strength (95 %), factor, strength at the end. Raises ProblemsError.
    Range: as ten_degree_factor or arrhenius_factor.
    Source: as those.

    >>> round(cure(3600.0, 20.0, 40.0).seconds / 60, 3)
    15.0
    """
    inputs = Inputs()
    inputs.size("known_time", known_time, "s")
    goal = degree if wanted is None else wanted
    inputs.share("degree", degree, ends=False)
    inputs.share("wanted", goal, ends=False)
    inputs.done()
    if energy is None:
        factor = float(ten_degree_factor(temperature, known_at, per_10))
    else:
        factor = float(arrhenius_factor(temperature, known_at, energy))
    rate = float(cure_time(degree, 1.0, order)) / known_time * factor
    seconds, full = float(cure_time(goal, rate, order)), float(cure_time(FULL, rate, order))
    times = np.linspace(0, 1.2 * max(seconds, full), 121)
    cured = degree_of_cure(times, rate, order)
    notes = ("strength taken as straight in the degree of cure once the joint holds",)
    return Timed(
        "cure",
        seconds,
        curve("Degree of cure", times, goal, degree_of_cure=("", cured),
              strength=("", strength_share(cured, holds_at))),
        (
            Outcome("full strength after", full / 60, "min"),
            Outcome("times faster than known", factor, ""),
            Outcome("strength then", 100 * float(strength_share(goal, holds_at)), "% of full"),
        ),
        {"known time": known_time, "known at": known_at, "temperature": temperature, "degree": degree,
         "wanted": goal, "factor per 10 degC": per_10},
        {"known time": "s", "known at": "degC", "temperature": "degC", "degree": "", "wanted": "",
         "factor per 10 degC": ""},
        notes,
        cautions((("solvent vapour", "cure"), ("resin skin contact", "cure"))),
        Honesty("estimate", notes=notes),
    )  # fmt: skip
