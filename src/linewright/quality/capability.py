"""Does the process fit its limits? Cp, Cpk, Pp, Ppk with intervals, and the fraction outside.

An index without its interval says little: twenty readings leave Cpk of 1.33 anywhere from 0.9 to 1.8. Spread inside
subgroups gives Cp and Cpk, spread of everything gives Pp and Ppk; the difference is what drifts between subgroups.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from linewright.base.arrays import limits, number, numbers, share, subgroups
from linewright.base.problems import Problems
from linewright.base.results import Shown, Table
from linewright.quality.constants import c4, d2
from linewright.quality.noncentral import noncentral_t_shift
from linewright.quality.normality import Normality, normality

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Index:
    """A capability index with its two-sided interval; no unit."""

    name: str
    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Outside:
    """Fractions outside the limits as shares of 1, with their intervals; None where there is no such limit.

    ``seen`` is the share of the readings themselves that lie outside.
    """

    below: float | None
    above: float | None
    total: float
    low: float
    high: float
    seen: float


@dataclass(frozen=True)
class Capability(Shown):
    """Capability of one measurement. ``within`` and ``overall`` are standard deviations in the readings' unit.

    ``within`` and Cp, Cpk are None where the readings have no order or subgroups to take them from.
    """

    n: int
    mean: float
    within: float | None
    overall: float
    lower: float | None
    upper: float | None
    indices: tuple[Index, ...]
    outside: Outside
    normality: Normality | None
    level: float
    method: str
    notes: tuple[str, ...] = ()

    def index(self, name: str) -> Index | None:
        """The index of that name, such as "Cpk"; None where it was not asked or has no meaning."""
        return next((i for i in self.indices if i.name == name), None)

    def to_table(self) -> Table:
        """One row an index, then the fraction outside in parts per million."""
        rows = [(i.name, i.value, i.low, i.high) for i in self.indices]
        o = self.outside
        rows.append(("outside [ppm]", o.total * 1e6, o.low * 1e6, o.high * 1e6))
        note = "; ".join((f"{self.n} readings, {self.method}, {self.level:.0%} intervals", *self.notes))
        return Table("Capability", ("", "value", "low", "high"), tuple(rows), note)


def cp_interval(value: float, freedom: float, level: float = 0.95) -> tuple[float, float]:
    """Interval of Cp or Pp.

    Equation: value sqrt(chi2(a/2, v)/v) to value sqrt(chi2(1-a/2, v)/v), a = 1 - level.
    Takes:
        value [1]: Cp or Pp, above 0.
        freedom [1]: v, degrees of freedom of the standard deviation: n - 1 for Pp; above 0.
        level [1]: confidence, between 0 and 1.
    Gives: low and high [1].
    Range: normal readings; exact.
    Source: ISO 22514-2; Montgomery, Introduction to Statistical Quality Control, on process capability.

    >>> [round(v, 4) for v in cp_interval(2.2857, 19)]
    [1.5649, 3.0056]
    """
    problems = Problems()
    number(value, "value", problems, above=0.0)
    number(freedom, "freedom", problems, above=0.0)
    share(level, "level", problems)
    problems.raise_errors()
    a = (1 - level) / 2
    low, high = (float(special.chdtri(freedom, 1 - q)) for q in (a, 1 - a))
    return value * math.sqrt(low / freedom), value * math.sqrt(high / freedom)


def cpk_interval(value: float, n: int, freedom: float | None = None, level: float = 0.95) -> tuple[float, float]:
    """Interval of Cpk or Ppk.

    Equation: value -+ z sqrt(1/(9 n) + value^2/(2 v)).
    Takes:
        value [1]: Cpk or Ppk.
        n [1]: readings, at least 2.
        freedom [1]: v, degrees of freedom of the standard deviation; default n - 1.
        level [1]: confidence, between 0 and 1.
    Gives: low and high [1].
    Range: normal readings; an approximation, near enough from about 20 readings.
    Source: Bissell, Applied Statistics 39 (1990) 331-340.

    >>> [round(v, 3) for v in cpk_interval(1.33, 20)]
    [0.883, 1.777]
    """
    problems = Problems()
    number(value, "value", problems)
    number(n, "n", problems, low=2, whole=True)
    share(level, "level", problems)
    v = number(n - 1 if freedom is None else freedom, "freedom", problems, above=0.0)
    problems.raise_errors()
    half = float(special.ndtri(0.5 + level / 2)) * math.sqrt(1 / (9 * n) + value * value / (2 * v))
    return value - half, value + half


def fraction_beyond(distance: float, n: int, level: float = 0.95) -> tuple[float, float, float]:
    """Fraction beyond one limit that lies so many sample standard deviations from the mean, with its interval.

    Equation: estimate 1 - Phi(k); ends p with k sqrt(n) at the quantiles of the noncentral t(n-1, sqrt(n) z(1-p)).
    Takes:
        distance [standard deviations]: k = (limit - mean)/s, s with n - 1 degrees of freedom.
        n [1]: readings, at least 2.
        level [1]: two-sided confidence, between 0 and 1.
    Gives: estimate, low and high, shares of 1.
    Range: normal readings; the interval is exact; the estimate leans a little low for small n.
    Source: Owen (1968) on the noncentral t; Hahn and Meeker, Statistical Intervals, 1991 (from memory).

    >>> [round(v, 4) for v in fraction_beyond(2.0, 30)]
    [0.0228, 0.0044, 0.0855]
    """
    problems = Problems()
    number(distance, "distance", problems)
    number(n, "n", problems, low=2, whole=True)
    share(level, "level", problems)
    problems.raise_errors()
    a, root = (1 - level) / 2, math.sqrt(n)
    ends = [noncentral_t_shift(distance * root, n - 1, q) / root for q in (a, 1 - a)]
    return float(special.ndtr(-distance)), float(special.ndtr(-ends[0])), float(special.ndtr(-ends[1]))


def capability(
    readings: ArrayLike,
    *,
    lower: float | None = None,
    upper: float | None = None,
    target: float | None = None,
    ordered: bool = True,
    level: float = 0.95,
) -> Capability:
    """Capability of readings against one or two limits, for a normal process.

    Equation: Cp = (U - L)/(6 within), Cpk = least of (U - mean), (mean - L), over 3 within; Pp, Ppk the same with the
        overall s; Cpm = (U - L)/(6 sqrt(s^2 + (mean - target)^2)). Within: mean s of subgroups/c4, or mean moving
        range/d2 of single readings in order. Fraction outside as fraction_beyond, each tail at half the risk.
    Takes:
        readings [any one unit]: in subgroups (a table, one row a subgroup) or single (a row); at least 5, not alike.
        lower [as readings]: lower limit, or None.
        upper [as readings]: upper limit, or None; at least one is needed.
        target [as readings]: for Cpm; needs both limits.
        ordered [yes or no]: whether single readings are in time order; if not, there is no Cp and Cpk.
        level [1]: confidence of the intervals, between 0 and 1.
    Gives: a Capability. Notes say where the readings speak against the normal law or a steady process.
    Range: near-normal, steady process. The interval of the total outside is conservative (two tails joined).
    Source: ISO 22514-2:2017; Kotz and Johnson, Process Capability Indices, 1993 (from memory).

    >>> random = np.random.default_rng(1)
    >>> found = capability(random.normal(50.0, 1.0, (25, 4)), lower=46.0, upper=54.0)
    >>> ppk = found.index("Ppk")
    >>> ppk is not None and ppk.low < 1.333 < ppk.high
    True
    """
    problems = Problems()
    grouped = np.ndim(readings) == 2 if not isinstance(readings, (list, tuple)) else _is_nested(readings)
    table = (
        subgroups(readings, "readings", problems)
        if grouped
        else numbers(readings, "readings", problems, at_least=5, vary=True)
    )
    limits(lower, upper, "limits", problems)
    share(level, "level", problems)
    if target is not None and (lower is None or upper is None):
        problems.error("target", "a target needs both limits", value=target)
    problems.raise_errors()
    flat = table.ravel()
    if grouped and np.all(flat == flat[0]):
        problems.error("readings", "all readings are the same, so there is no spread to work with")
        problems.raise_errors()
    mean, overall = float(flat.mean()), float(flat.std(ddof=1))
    within, freedom = _within(table, ordered)
    found = []
    notes = []
    if within is not None and within > 0:
        found += _pair("Cp", "Cpk", mean, within, freedom, flat.size, lower, upper, level)
    elif within == 0:
        notes.append("no spread inside the subgroups: no Cp and Cpk")
    found += _pair("Pp", "Ppk", mean, overall, flat.size - 1, flat.size, lower, upper, level)
    if target is not None and lower is not None and upper is not None:
        found.append(_cpm(mean, overall, flat.size, lower, upper, target, level))
    shape = normality(flat) if flat.size >= 8 else None
    if shape is not None and not shape.near:
        notes.append(f"the readings speak against the normal law (p = {shape.p_value:.2g}): use the percentile method")
    if within is not None and within > 0 and overall > 1.25 * within:
        notes.append("the process drifts between subgroups: overall spread is well above that within")
    if flat.size < 30:
        notes.append(f"{flat.size} readings leave the indices uncertain")
    outside = _outside(flat, mean, overall, lower, upper, level)
    return Capability(
        int(flat.size),
        mean,
        within,
        overall,
        lower,
        upper,
        tuple(found),
        outside,
        shape,
        level,
        "normal law",
        tuple(notes),
    )


def share_outside(readings: Floats, lower: float | None, upper: float | None) -> float:
    """Share of the readings themselves that lie outside the limits.

    Equation: readings below lower or above upper, over all.
    Takes:
        readings [any one unit]: at least one.
        lower [as readings]: lower limit, or None.
        upper [as readings]: upper limit, or None.
    Gives: a share [1].
    Range: any.
    Source: definition.

    >>> share_outside(np.array([1.0, 2.0, 3.0, 9.0]), None, 5.0)
    0.25
    """
    out = np.zeros(readings.shape, bool)
    if lower is not None:
        out |= readings < lower
    if upper is not None:
        out |= readings > upper
    return float(np.mean(out))


def _is_nested(readings: object) -> bool:
    return isinstance(readings, (list, tuple)) and any(isinstance(r, (list, tuple, np.ndarray)) for r in readings)


def _within(table: Floats, ordered: bool) -> tuple[float | None, float]:
    """Within standard deviation and the degrees of freedom whose chi-square has the variance of its estimate."""
    if table.ndim == 2:
        k, n = table.shape
        factor = c4(n) ** 2
        return float(table.std(axis=1, ddof=1).mean()) / c4(n), k * factor / (2 * (1 - factor))
    if not ordered:
        return None, 0.0
    n = table.size
    # Variance of the mean moving range over d2: (0.8264 n - 1.082)/(n - 1)^2 (Cryer and Ryan, J. Qual. Tech. 22, 1990)
    return float(np.abs(np.diff(table)).mean()) / d2(2), (n - 1) ** 2 / (2 * (0.8264 * n - 1.082))


def _pair(
    both: str,
    nearest: str,
    mean: float,
    sd: float,
    freedom: float,
    n: int,
    lower: float | None,
    upper: float | None,
    level: float,
) -> list[Index]:
    found = []
    if lower is not None and upper is not None:
        value = (upper - lower) / (6 * sd)
        found.append(Index(both, value, *cp_interval(value, freedom, level)))
    room = [upper - mean] if upper is not None else []
    room += [mean - lower] if lower is not None else []
    value = min(room) / (3 * sd)
    found.append(Index(nearest, value, *cpk_interval(value, n, freedom, level)))
    return found


def _cpm(mean: float, sd: float, n: int, lower: float, upper: float, target: float, level: float) -> Index:
    """Cpm with the interval of Boyles (1991): chi-square with effective degrees of freedom."""
    off = (mean - target) / sd
    value = (upper - lower) / (6 * sd * math.sqrt(1 + off * off))
    freedom = n * (1 + off * off) ** 2 / (1 + 2 * off * off)
    return Index("Cpm", value, *cp_interval(value, freedom, level))


def _outside(
    x: Floats,
    mean: float,
    sd: float,
    lower: float | None,
    upper: float | None,
    level: float,
) -> Outside:
    """Each tail exactly; the total's interval joins the tails, each at half the risk (Bonferroni)."""
    each = 1 - (1 - level) / 2 if lower is not None and upper is not None else level
    tails = [
        fraction_beyond((mean - lower) / sd, x.size, each) if lower is not None else None,
        fraction_beyond((upper - mean) / sd, x.size, each) if upper is not None else None,
    ]
    given = [t for t in tails if t is not None]
    total, low, high = (sum(t[i] for t in given) for i in range(3))
    return Outside(
        tails[0][0] if tails[0] else None,
        tails[1][0] if tails[1] else None,
        total,
        low,
        min(1.0, high),
        share_outside(x, lower, upper),
    )
