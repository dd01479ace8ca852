"""One chart for several measurements that move together: Hotelling's T-squared.

Two dimensions may each be inside their limits and yet be wrong together; T-squared measures the distance from the
centre in the measurements' own spread and correlation.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import linalg, stats

from linewright.base.arrays import share
from linewright.base.problems import Problems
from linewright.quality.charts.chart import Chart, Floats, Known, make_track
from linewright.quality.charts.rules import BEYOND_LIMITS

FALSE_ALARM = 0.0027  # as the usual three standard deviations


@dataclass(frozen=True)
class KnownTogether:
    """Centre and covariance of several measurements from phase I, and how many readings (or subgroups) they rest on."""

    mean: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    points: int
    subgroup: int = 1


def together(readings: ArrayLike, *, known: KnownTogether | None = None, alarm: float = FALSE_ALARM) -> Chart:
    """Chart of Hotelling's T-squared for readings of several measurements at once.

    Equation: T2 = n (x - mean)' S^-1 (x - mean). Upper limits, p measurements, m points of n readings each:
        n = 1, phase I: (m-1)^2/m Beta(1-a; p/2, (m-p-1)/2); phase II: p (m+1)(m-1)/(m (m-p)) F(1-a; p, m-p);
        n > 1, phase I: p (m-1)(n-1)/(mn-m-p+1) F(1-a; p, mn-m-p+1); phase II: the same with m + 1 for m - 1.
    Takes:
        readings [each measurement in its own unit]: one row a reading (m x p), or subgroups (m x n x p).
        known [as readings]: from together_known of a steady phase I; None makes a phase I chart.
        alarm [1]: a, chance of a false alarm at a point.
    Gives: a Chart of one track; its ``known`` is that of T2 and is not carried on (use together_known).
    Range: readings near normal together; more points than measurements; no measurement a sum of others.
    Source: Tracy, Young and Mason, J. Quality Technology 24 (1992) 88-95 (from memory); NIST/SEMATECH
        e-Handbook 6.5.4.3.

    >>> random = np.random.default_rng(2)
    >>> together(random.normal(size=(50, 2))).steady
    True
    """
    problems = Problems()
    table = _table(readings, problems)
    share(alarm, "alarm", problems)
    problems.raise_errors()
    _, n, p = table.shape
    base = known if known is not None else _estimate(table, problems)
    if len(base.mean) != p:
        problems.error("readings", f"{p} measurements", expected=f"{len(base.mean)}, as in phase I")
    if n != base.subgroup:
        problems.error("readings", f"subgroups of {n}", expected=f"{base.subgroup}, as in phase I")
    problems.raise_errors()
    inverse = _inverse(base, problems)
    away = table.mean(axis=1) - np.array(base.mean)
    values = n * np.einsum("ij,jk,ik->i", away, inverse, away)
    upper = _limit(base.points, n, p, alarm, first=known is None)
    sd = float(np.sqrt(2 * p))
    track = make_track("T-squared", values, float(p), sd, [BEYOND_LIMITS], lower=0.0, upper=upper)
    return Chart("several measurements", (track,), 1 if known is None else 2, Known(float(p), sd))


def together_known(readings: ArrayLike) -> KnownTogether:
    """Centre and covariance of a steady phase I, for judging later readings.

    Equation: means; sample covariance of single readings, or mean of the covariances inside subgroups.
    Takes:
        readings [each measurement in its own unit]: as together.
    Gives: a KnownTogether.
    Range: as together.
    Source: as together.

    >>> together_known([[1.0, 2.0], [2.0, 4.1], [3.0, 5.9], [4.0, 8.1]]).mean
    (2.5, 5.025)
    """
    problems = Problems()
    table = _table(readings, problems)
    problems.raise_errors()
    base = _estimate(table, problems)
    _inverse(base, problems)
    return base


def contributions(reading: ArrayLike, known: KnownTogether) -> tuple[float, ...]:
    """Which measurement made a point signal: how much T-squared falls when each is left out.

    Equation: d_j = T2 - T2(without measurement j).
    Takes:
        reading [each measurement in its own unit]: one reading (or subgroup mean) of p measurements.
        known [as reading]: from phase I.
    Gives: one number [1] a measurement; the largest points at the culprit.
    Range: p of 2 or more.
    Source: Runger, Alt and Montgomery (1996), as in Montgomery, Statistical Quality Control (from memory).

    >>> base = KnownTogether((0.0, 0.0), ((1.0, 0.0), (0.0, 1.0)), 100)
    >>> contributions([3.0, 1.0], base)
    (9.0, 1.0)
    """
    x = np.asarray(reading, dtype=float) - np.array(known.mean)
    s = np.array(known.covariance)

    def distance(keep: list[int]) -> float:
        part = x[keep]
        return known.subgroup * float(part @ np.linalg.solve(s[np.ix_(keep, keep)], part))

    every = list(range(x.size))
    whole = distance(every)
    return tuple(whole - distance([i for i in every if i != j]) for j in every)


def _table(readings: ArrayLike, problems: Problems) -> Floats:
    try:
        table = np.asarray(readings, dtype=float)
    except (TypeError, ValueError):
        problems.error("readings", "not a table of numbers", expected="rows of equal length, numbers only")
        return np.empty((0, 0, 0))
    if table.ndim == 2:
        table = table[:, None, :]
    if table.ndim != 3 or table.shape[2] < 2:
        problems.error("readings", "not a table of several measurements", expected="rows of at least 2 numbers")
        return np.empty((0, 0, 0))
    for place in np.argwhere(~np.isfinite(table))[:5]:
        problems.error(f"readings[{place[0]}][{place[-1]}]", "this is not a finite number")
    return table


def _estimate(table: Floats, problems: Problems) -> KnownTogether:
    m, n, p = table.shape
    need = p + 2 if n == 1 else 2
    if m < need or m * (n - 1 if n > 1 else 1) < p + 1:
        problems.error("readings", f"{m} points of {n} for {p} measurements", expected=f"more points, at least {need}")
        problems.raise_errors()
    mean = table.mean(axis=(0, 1))
    away = table - (table.mean(axis=1, keepdims=True) if n > 1 else mean)
    s = np.einsum("ijk,ijl->kl", away, away) / (m * (n - 1) if n > 1 else m - 1)
    return KnownTogether(tuple(mean.tolist()), tuple(tuple(row) for row in s.tolist()), m, n)


def _inverse(base: KnownTogether, problems: Problems) -> Floats:
    s = np.array(base.covariance)
    spread = np.sqrt(np.diag(s))
    if np.any(spread == 0):
        which = int(np.argmin(spread))
        problems.error(f"readings[:, {which}]", "this measurement never varies", hint="leave it out")
        problems.raise_errors()
    correlation = s / np.outer(spread, spread)
    if np.linalg.eigvalsh(correlation)[0] < 1e-10:
        problems.error("readings", "one measurement follows from the others", hint="leave one of them out")
        problems.raise_errors()
    return np.asarray(linalg.inv(correlation) / np.outer(spread, spread))


def _limit(m: int, n: int, p: int, alarm: float, *, first: bool) -> float:
    if n == 1 and first:
        return (m - 1) ** 2 / m * float(stats.beta.isf(alarm, p / 2, (m - p - 1) / 2))
    if n == 1:
        return p * (m + 1) * (m - 1) / (m * (m - p)) * float(stats.f.isf(alarm, p, m - p))
    freedom = m * n - m - p + 1
    return p * (m - 1 if first else m + 1) * (n - 1) / freedom * float(stats.f.isf(alarm, p, freedom))
