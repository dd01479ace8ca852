"""Control charts of measurements: mean and range, mean and deviation, single readings and moving range.

Readings come in subgroups taken close together in time, so that the spread inside a subgroup is chance alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import ArrayLike

from linewright.base.arrays import numbers, subgroups
from linewright.base.problems import Problems
from linewright.quality.charts.chart import Chart, Floats, Known, check_known, make_track
from linewright.quality.charts.rules import BEYOND_LIMITS, USUAL_RULES, Rule
from linewright.quality.constants import D3, D4, c4, d2, d3
from linewright.quality.summary import summarise

_LARGE = 10  # readings in a subgroup beyond which the range wastes information (common practice, no source)


def mean_and_range(readings: ArrayLike, *, known: Known | None = None, rules: Sequence[Rule] = USUAL_RULES) -> Chart:
    """Chart of subgroup means and ranges.

    Equation: phase I: sigma = mean range/d2; means: grand mean -+ 3 sigma/sqrt(n) = grand mean -+ A2 mean range;
        ranges: D3 and D4 times mean range. Phase II: mean -+ 3 sigma/sqrt(n); ranges (d2 -+ 3 d3) sigma.
    Takes:
        readings [any one unit]: one row a subgroup in time order, equal subgroups of 2 to 1000; at least 2 subgroups.
        known [as readings]: centre and spread from phase I; None makes a phase I chart.
        rules [Rules]: looked for on the means; on the ranges only the limits.
    Gives: a Chart with the tracks mean and range.
    Range: readings near normal; 20 to 25 subgroups for trustworthy limits (common practice, no source).
    Source: ISO 7870-2:2013; ASTM MNL 7.

    >>> chart = mean_and_range([[5.0, 5.2], [4.9, 5.1], [5.1, 5.0], [5.0, 4.8]])
    >>> round(chart.known.sd, 4), chart.steady
    (0.1551, True)
    """
    problems = Problems()
    table = subgroups(readings, "readings", problems)
    check_known(known, problems)
    problems.raise_errors()
    n = table.shape[1]
    means, ranges = table.mean(axis=1), np.ptp(table, axis=1)
    if known is None and not ranges.any():
        problems.error("readings", "every subgroup has no spread", hint="is the gauge too coarse?")
    problems.raise_errors()
    if known is None:
        sigma, centre, middle = float(ranges.mean()) / d2(n), float(means.mean()), float(ranges.mean())
        low, high = D3(n) * middle, D4(n) * middle
    else:
        sigma, centre, middle = known.sd, known.mean, d2(n) * known.sd
        low, high = max(0.0, d2(n) - 3 * d3(n)) * sigma, (d2(n) + 3 * d3(n)) * sigma
    notes = _few(table.shape[0], known)
    if n > _LARGE:
        notes.append(f"subgroups of {n}: mean and deviation uses the readings better")
    tracks = (
        make_track("mean", means, centre, sigma / math.sqrt(n), rules),
        make_track("range", ranges, middle, d3(n) * sigma, [BEYOND_LIMITS], lower=low, upper=high),
    )
    return Chart("mean and range", tracks, 1 if known is None else 2, Known(centre, sigma), tuple(notes))


def mean_and_deviation(
    readings: ArrayLike | Sequence[Sequence[float]],
    *,
    known: Known | None = None,
    rules: Sequence[Rule] = USUAL_RULES,
) -> Chart:
    """Chart of subgroup means and standard deviations; the subgroups may differ in size.

    Equation: equal sizes: sigma = mean s/c4. Unequal: sigma = pooled s/c4(sum(n-1)+1). Means: centre -+ 3
        sigma/sqrt(n); deviations: c4 sigma -+ 3 sigma sqrt(1 - c4^2), not below 0.
    Takes:
        readings [any one unit]: one row a subgroup in time order, each of 2 to 1000 readings; at least 2 subgroups.
        known [as readings]: centre and spread from phase I; None makes a phase I chart.
        rules [Rules]: looked for on the means; on the deviations only the limits.
    Gives: a Chart with the tracks mean and deviation.
    Range: readings near normal.
    Source: ISO 7870-2:2013; ASTM MNL 7; pooling as Burr, J. Quality Technology 1 (1969) (from memory).

    >>> mean_and_deviation([[5.0, 5.2, 5.1], [4.9, 5.1], [5.1, 5.0, 4.8]]).steady
    True
    """
    problems = Problems()
    means, spreads, sizes = _each_subgroup(readings, problems)
    check_known(known, problems)
    problems.raise_errors()
    equal = bool(np.all(sizes == sizes[0]))
    if known is None:
        freedom = float(np.sum(sizes - 1))
        pooled = math.sqrt(float(np.sum((sizes - 1) * spreads**2)) / freedom)
        if pooled == 0:
            problems.error("readings", "every subgroup has no spread", hint="is the gauge too coarse?")
            problems.raise_errors()
        sigma = float(spreads.mean()) / c4(int(sizes[0])) if equal else pooled / _c4_of(freedom)
        centre = float(np.sum(sizes * means) / np.sum(sizes))
    else:
        sigma, centre = known.sd, known.mean
    factor = np.array([c4(int(n)) for n in np.unique(sizes)])[np.unique(sizes, return_inverse=True)[1]]
    sd_of_s = sigma * np.sqrt(1 - factor**2)
    tracks = (
        make_track("mean", means, centre, sigma / np.sqrt(sizes), rules),
        make_track("deviation", spreads, factor * sigma, sd_of_s, [BEYOND_LIMITS], floor=0.0),
    )
    notes = _few(means.size, known) + ([] if equal else ["subgroups differ in size, so the limits do too"])
    return Chart("mean and deviation", tracks, 1 if known is None else 2, Known(centre, sigma), tuple(notes))


def single_readings(readings: ArrayLike, *, known: Known | None = None, rules: Sequence[Rule] = USUAL_RULES) -> Chart:
    """Chart of single readings and their moving ranges.

    Equation: sigma = mean moving range of two/d2(2); readings: mean -+ 3 sigma; moving ranges: up to D4(2) of their
        mean.
    Takes:
        readings [any one unit]: in time order, at least 3, not all the same.
        known [as readings]: centre and spread from phase I; None makes a phase I chart.
        rules [Rules]: looked for on the readings; on the moving ranges only the upper limit.
    Gives: a Chart with the tracks reading and moving range (one point fewer).
    Range: independent readings near normal; a note says where they lean on each other.
    Source: ISO 7870-2:2013; ASTM MNL 7.

    >>> round(single_readings([10.0, 10.2, 9.9, 10.1, 10.0]).known.sd, 4)
    0.1772
    """
    problems = Problems()
    array = numbers(readings, "readings", problems, at_least=3, vary=known is None)
    check_known(known, problems)
    problems.raise_errors()
    moving = np.abs(np.diff(array))
    if known is None:
        sigma, centre = float(moving.mean()) / d2(2), float(array.mean())
    else:
        sigma, centre = known.sd, known.mean
    notes = _few(array.size, known)
    if array.size >= 20 and np.ptp(array) > 0:
        leaning = summarise(array)
        if leaning.leans:
            r = leaning.autocorrelation
            notes.append(
                f"readings lean on the one before (r = {r:.2f}): the limits are too "
                + ("narrow" if r > 0 else "wide")
                + "; chart less often, or the change from what the last reading foretells"
            )
    middle = d2(2) * sigma
    tracks = (
        make_track("reading", array, centre, sigma, rules),
        make_track("moving range", moving, middle, d3(2) * sigma, [BEYOND_LIMITS], lower=0.0, upper=D4(2) * middle),
    )
    return Chart("single readings", tracks, 1 if known is None else 2, Known(centre, sigma), tuple(notes))


def _each_subgroup(readings: object, problems: Problems) -> tuple[Floats, Floats, Floats]:
    if isinstance(readings, np.ndarray) and readings.ndim == 2:
        table = subgroups(readings, "readings", problems)
        if not table.size or len(problems):
            return np.empty(0), np.empty(0), np.empty(0)
        return table.mean(axis=1), table.std(axis=1, ddof=1), np.full(table.shape[0], float(table.shape[1]))
    rows = list(readings) if isinstance(readings, Iterable) and not isinstance(readings, str) else []
    if len(rows) < 2:
        problems.error("readings", "too few subgroups", value=len(rows), expected="at least 2")
    groups = [
        numbers(
            row if isinstance(row, Iterable) and not isinstance(row, str) else [row],
            f"readings[{i}]",
            problems,
            at_least=2,
        )
        for i, row in enumerate(rows)
    ]
    if len(problems.errors):
        return np.empty(0), np.empty(0), np.empty(0)
    means = np.array([g.mean() for g in groups])
    return means, np.array([g.std(ddof=1) for g in groups]), np.array([float(g.size) for g in groups])


def _c4_of(freedom: float) -> float:
    """c4 for a pooled deviation of so many degrees of freedom; 1 to six digits where they are many."""
    return c4(int(freedom) + 1) if freedom < 999 else 1 - 1 / (4 * freedom)


def _few(points: int, known: Known | None) -> list[str]:
    if known is None and points < 20:
        return [f"limits from {points} points are uncertain; 20 to 25 are usual"]
    return []
