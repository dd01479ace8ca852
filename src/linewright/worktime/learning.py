"""How fast does a crew get better? Learning curves in their two forms, fitted, read backwards, and as a ramp-up.

Each doubling of the count multiplies the time by the learning rate. In the unit form that is the time of the n-th
unit; in the average form it is the mean time of the first n. A figure belongs to one form only, so the form is said.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linewright.base.arrays import number, numbers, share
from linewright.base.problems import Problems
from linewright.base.results import Shown, Table

Form = Literal["unit", "average"]


@dataclass(frozen=True)
class LearningFit(Shown):
    """A fitted curve: time of the first unit (unit form) or its mean (average form), the rate and its interval."""

    form: Form
    first: float
    rate: float
    rate_low: float
    rate_high: float
    level: float
    r_squared: float

    def to_table(self) -> Table:
        """One row."""
        columns = ("form", "first unit", "rate", "rate low", "rate high", "r squared")
        row = (self.form, self.first, self.rate, self.rate_low, self.rate_high, self.r_squared)
        return Table("Learning curve", columns, (row,), f"{self.level:.0%} interval")


@dataclass(frozen=True)
class RampUp(Shown):
    """The rate week by week: units made in each week and in all, and the unit time at its end."""

    week: tuple[int, ...]
    made: tuple[float, ...]
    total: tuple[float, ...]
    unit_time: tuple[float, ...]
    standard_reached_in_week: int | None

    def to_table(self) -> Table:
        """One row a week."""
        rows = tuple(zip(self.week, self.made, self.total, self.unit_time, strict=True))
        return Table("Ramp-up", ("week", "made", "made so far", "unit time at its end [s]"), rows)


def exponent(rate: float) -> float:
    """The exponent of a learning rate.

    Equation: b = ln(rate) / ln 2.
    Takes:
        rate [1]: time left after each doubling, above 0 to 1 (0.8 is an 80 % curve).
    Gives: b [1], 0 or negative.
    Range: 0.5 to 1 in practice.
    Source: Wright, J. Aeronautical Sciences 3 (1936) 122-128.

    >>> round(exponent(0.8), 6)
    -0.321928
    """
    problems = Problems()
    number(rate, "rate", problems, above=0.0, high=1.0)
    problems.raise_errors()
    return math.log2(rate)


def unit_time(first: float, rate: float, n: float, form: Form = "unit") -> float:
    """Time of the n-th unit.

    Equation: unit form: first n^b; average form: first (n^(1+b) - (n-1)^(1+b)).
    Takes:
        first [s, or any unit of time]: time of the first unit, above 0.
        rate [1]: learning rate, above 0 to 1; in the average form above 0.5.
        n [1]: which unit, at least 1.
        form ["unit" or "average"]: which of the two laws the rate belongs to.
    Gives: time of unit n, in the unit of first.
    Range: no learning lasts for ever; see ramp_up for a standard at which it stops.
    Source: Crawford, Learning Curve, Ship Curve, Ratios, Related Data, Lockheed (1944), for the unit form; Wright
        (1936) for the average form. Tables named after Wright often hold Crawford's figures.

    >>> round(unit_time(100.0, 0.8, 10), 2), round(unit_time(100.0, 0.8, 10, "average"), 2)
    (47.65, 32.86)
    """
    _check(first, rate, form, n)
    b = exponent(rate)
    if form == "unit":
        return float(first * n**b)
    return first * float(n ** (1 + b) - (n - 1) ** (1 + b))


def total_time(first: float, rate: float, n: int, form: Form = "unit") -> float:
    """Time of the first n units together.

    Equation: unit form: first sum over i <= n of i^b; average form: first n^(1+b).
    Takes:
        first [s, or any unit of time]: time of the first unit, above 0.
        rate [1]: learning rate, above 0 to 1.
        n [1]: how many units, at least 1, whole.
        form ["unit" or "average"]: as unit_time.
    Gives: total time, in the unit of first.
    Range: summed exactly up to 100,000 units, beyond by Euler-Maclaurin (error below 1e-12 of the total).
    Source: as unit_time.

    >>> round(total_time(1.0, 0.8, 10), 4), round(total_time(1.0, 0.8, 10, "average"), 4)
    (6.3154, 4.7651)
    """
    _check(first, rate, form, n)
    problems = Problems()
    number(n, "n", problems, low=1, whole=True)
    problems.raise_errors()
    return first * float(_totals(np.array([float(n)]), exponent(rate), form)[0])


def unit_reaching(first: float, rate: float, standard: float, form: Form = "unit") -> int:
    """The unit by which the time has come down to a standard.

    Equation: the least n with unit_time(n) <= standard; unit form: ceil((standard/first)^(1/b)).
    Takes:
        first [s, or any unit of time]: time of the first unit, above 0.
        rate [1]: learning rate, above 0, below 1 unless the standard is met at once.
        standard [the unit of first]: time to come down to, above 0.
        form ["unit" or "average"]: as unit_time.
    Gives: the number of the unit, 1 where the first already meets it.
    Range: up to 1e15 units; beyond, or without learning, a problem is raised.
    Source: unit_time solved for n.

    >>> unit_reaching(100.0, 0.8, 50.0)
    9
    """
    _check(first, rate, form, 1)
    problems = Problems()
    number(standard, "standard", problems, above=0.0)
    problems.raise_errors()
    if first <= standard:
        return 1
    b = exponent(rate)
    scale = 1.0 if form == "unit" else 1 + b
    reach = math.log(standard / (first * scale)) / b if b < 0 and scale > 0 else math.inf
    if reach > math.log(1e15):
        problems.error("rate", "the standard is not reached within 1e15 units", value=rate)
        problems.raise_errors()
    n = max(1, math.floor(math.exp(reach)) - 2)
    while unit_time(first, rate, n, form) > standard * (1 + 1e-12):
        n += 1
    return n


def fit_learning(units: ArrayLike, times: ArrayLike, form: Form = "unit", level: float = 0.95) -> LearningFit:
    """A learning curve from times of units.

    Equation: least squares of ln time on ln n; rate = 2^slope, first = exp(intercept); t interval of the slope.
    Takes:
        units [1]: number of each unit timed (unit form), or how many units each mean is over (average form), from 1.
        times [s, or any unit of time]: time of that unit, or mean time of that many; above 0.
        form ["unit" or "average"]: which the times are.
        level [1]: confidence of the interval, between 0 and 1.
    Gives: a LearningFit.
    Range: at least 3 different units. In the average form the means share units, so its interval is too narrow.
    Source: linear regression; scipy.stats.linregress.

    >>> found = fit_learning([1, 2, 4, 8], [100.0, 80.0, 64.0, 51.2])
    >>> round(found.rate, 6), round(found.first, 6)
    (0.8, 100.0)
    """
    problems = Problems()
    n = numbers(units, "units", problems, at_least=3, low=1.0, vary=True)
    t = numbers(times, "times", problems, at_least=3, above=0.0)
    share(level, "level", problems)
    if n.size != t.size:
        problems.error("times", f"{t.size} times for {n.size} units", expected="one time for each unit")
    problems.raise_errors()
    from scipy import stats  # here, as it takes a good part of a second to import

    line = stats.linregress(np.log(n), np.log(t))
    half = float(stats.t.ppf(0.5 + level / 2, n.size - 2)) * float(line.stderr)
    slope = float(line.slope)
    return LearningFit(
        form,
        math.exp(float(line.intercept)),
        2**slope,
        2 ** (slope - half),
        2 ** (slope + half),
        level,
        float(line.rvalue) ** 2,
    )


def ramp_up(standard: float, rate: float, reached_at: int, week_hours: float, weeks: int = 12) -> RampUp:
    """Units made in each of the first weeks, while one place learns down to its standard time.

    Equation: unit form with first = standard reached_at^-b, so that unit ``reached_at`` takes the standard; from then
        on the standard. Units so far after H hours: the n whose total time is H (fractions counted).
    Takes:
        standard [s]: the time the plan is written in, above 0.
        rate [1]: learning rate, above 0 to 1.
        reached_at [1]: the unit that first meets the standard, at least 1, at most 1,000,000.
        week_hours [h]: working hours a week, above 0.
        weeks [1]: how many weeks to show, 1 to 520.
    Gives: a RampUp.
    Range: one place without stoppages; the line's other places limit it too.
    Source: unit_time; stopping at a standard is common practice, no source.

    >>> ramp_up(600.0, 0.85, 200, 37.5, 3).standard_reached_in_week
    2
    """
    problems = Problems()
    number(standard, "standard", problems, above=0.0)
    number(rate, "rate", problems, above=0.0, high=1.0)
    number(reached_at, "reached_at", problems, low=1, high=1_000_000, whole=True)
    number(week_hours, "week_hours", problems, above=0.0)
    number(weeks, "weeks", problems, low=1, high=520, whole=True)
    problems.raise_errors()
    reached_at, weeks = int(reached_at), int(weeks)
    b = exponent(rate)
    first = standard * reached_at**-b
    ends = np.concatenate([[0.0], np.cumsum(first * np.arange(1, reached_at + 1, dtype=float) ** b)])
    clock = week_hours * 3600 * np.arange(1, weeks + 1)
    learned = np.interp(clock, ends, np.arange(ends.size))
    total = np.where(clock <= ends[-1], learned, reached_at + (clock - ends[-1]) / standard)
    made = np.diff(total, prepend=0.0)
    now = np.maximum(standard, first * np.maximum(1.0, total) ** b)
    done = np.flatnonzero(clock >= ends[-1])
    return RampUp(
        tuple(range(1, weeks + 1)),
        tuple(made.tolist()),
        tuple(total.tolist()),
        tuple(now.tolist()),
        int(done[0]) + 1 if done.size else None,
    )


def _totals(n: NDArray[np.float64], b: float, form: Form) -> NDArray[np.float64]:
    if form == "average":
        return np.asarray(n ** (1 + b))
    summed = min(100_000, int(n.max()))
    start = np.cumsum(np.arange(1, summed + 1, dtype=float) ** b)
    m = float(summed)
    # Euler-Maclaurin from m to n; the next term is below 1e-17
    reach = np.log(n / m)
    area = reach if b == -1 else m ** (1 + b) * np.expm1((1 + b) * reach) / (1 + b)
    tail = area + (n**b - m**b) / 2 + b * (n ** (b - 1) - m ** (b - 1)) / 12
    return np.asarray(np.where(n <= m, start[np.minimum(n, m).astype(int) - 1], start[-1] + tail))


def _check(first: float, rate: float, form: str, n: float) -> None:
    problems = Problems()
    number(first, "first", problems, above=0.0)
    number(rate, "rate", problems, above=0.0, high=1.0)
    number(n, "n", problems, low=1.0)
    if form == "average" and rate <= 0.5:
        what = "in the average form the total would fall with every unit"
        problems.error("rate", what, value=rate, expected="a rate above 0.5")
    if form not in ("unit", "average"):
        problems.error("form", "unknown form", value=form, expected='"unit" or "average"')
    problems.raise_errors()
