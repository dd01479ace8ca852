"""What a row of readings is like: mean, spread, and whether each reading leans on the one before.

A chart of single readings believes that they are independent; the lag-one autocorrelation says whether they are.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from linewright.base.arrays import numbers
from linewright.base.problems import Problems
from linewright.base.results import Shown, Table

_LONG = 50_000


@dataclass(frozen=True)
class Summary(Shown):
    """Count, mean, sample standard deviation, lag-one autocorrelation, least and most, in the readings' unit."""

    n: int
    mean: float
    sd: float
    autocorrelation: float
    least: float
    most: float

    @property
    def leans(self) -> bool:
        """Whether the readings lean on each other: |r1| beyond two standard errors, 2/sqrt(n)."""
        return abs(self.autocorrelation) > 2 / math.sqrt(self.n)

    def to_table(self) -> Table:
        """One row."""
        columns = ("readings", "mean", "standard deviation", "lag-one autocorrelation", "least", "most")
        row = (self.n, self.mean, self.sd, self.autocorrelation, self.least, self.most)
        return Table("Readings", columns, (row,))


@dataclass(frozen=True)
class OneWay(Shown):
    """One-way analysis of variance: sums of squares and degrees of freedom between and within, F and its p."""

    between: float
    within: float
    between_df: int
    within_df: int
    f: float
    p_value: float

    @property
    def within_sd(self) -> float:
        """Residual standard deviation."""
        return math.sqrt(self.within / self.within_df)

    def to_table(self) -> Table:
        """The usual table."""
        mean_between, mean_within = self.between / self.between_df, self.within / self.within_df
        rows = (
            ("between", self.between_df, self.between, mean_between, self.f, self.p_value),
            ("within", self.within_df, self.within, mean_within, None, None),
        )
        return Table("Analysis of variance", ("source", "df", "sum of squares", "mean square", "F", "p"), rows)


def summarise(readings: ArrayLike) -> Summary:
    """Mean, standard deviation and lag-one autocorrelation, accurate even where the spread is in the last digits.

    Equation: s^2 = sum (x - mean)^2/(n - 1); r1 = sum (x_i - mean)(x_{i+1} - mean) / sum (x - mean)^2; deviations are
        taken from a first mean and the mean corrected by theirs, so that leading digits in common cost nothing.
    Takes:
        readings [any one unit]: at least 2, not all the same.
    Gives: a Summary.
    Range: any finite readings.
    Source: NIST Statistical Reference Datasets, univariate, which it meets to the digits a double allows.

    >>> found = summarise([10000001.0, 10000003.0, 10000002.0])
    >>> found.mean, found.sd, found.autocorrelation
    (10000002.0, 1.0, -0.5)
    """
    problems = Problems()
    array = numbers(readings, "readings", problems, at_least=2, vary=True)
    problems.raise_errors()
    first = float(array[0])
    away = array - first  # exact or nearly so where readings share their leading digits
    centre = _sum(away) / array.size
    away -= centre
    away -= _sum(away) / array.size
    square = _sum(away * away)
    return Summary(
        int(array.size),
        first + centre,
        math.sqrt(square / (array.size - 1)),
        _sum(away[:-1] * away[1:]) / square,
        float(array.min()),
        float(array.max()),
    )


def _sum(x: NDArray[np.float64]) -> float:
    """Exactly rounded for ordinary lengths; of very long rows pairwise, whose error is below 1e-14 of the terms."""
    return math.fsum(x.tolist()) if x.size <= _LONG else float(x.sum())


def one_way(readings: ArrayLike, group: ArrayLike) -> OneWay:
    """Do groups differ by more than their own spread? One-way analysis of variance.

    Equation: F = [sum n_g (mean_g - mean)^2/(g - 1)] / [sum (x - mean_g)^2/(N - g)].
    Takes:
        readings [any one unit]: at least 3, spread within some group.
        group [a name or number]: the group of each reading, at least 2 groups.
    Gives: a OneWay.
    Range: normal readings of equal spread.
    Source: Fisher; checked on the NIST Statistical Reference Datasets, analysis of variance.

    >>> round(one_way([1.0, 2.0, 3.0, 4.0, 5.0, 6.0], ["a", "a", "a", "b", "b", "b"]).f, 4)
    13.5
    """
    problems = Problems()
    array = numbers(readings, "readings", problems, at_least=3)
    names, member = np.unique(np.asarray(group), return_inverse=True)
    if member.size != array.size:
        problems.error("group", f"{member.size} groups for {array.size} readings", expected="one for each reading")
    elif names.size < 2 or names.size >= array.size:
        what = f"{names.size} groups for {array.size} readings"
        problems.error("group", what, expected="at least 2 groups, and more readings than groups")
    problems.raise_errors()
    away = array - array[0]
    size = np.bincount(member)
    mean = np.bincount(member, weights=away) / size
    rest = away - mean[member]
    correction = np.bincount(member, weights=rest) / size
    mean, rest = mean + correction, rest - correction[member]
    grand = float(np.sum(size * mean) / array.size)
    between = math.fsum((size * (mean - grand) ** 2).tolist())
    within = math.fsum((rest * rest).tolist())
    if within == 0:
        problems.error("readings", "there is no spread within any group", hint="F has no meaning here")
        problems.raise_errors()
    low, high = int(names.size) - 1, int(array.size - names.size)
    f = (between / low) / (within / high)
    return OneWay(between, within, low, high, f, float(special.fdtrc(low, high, f)))
