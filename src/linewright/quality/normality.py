"""Are these readings near normal? The Anderson-Darling test with mean and spread estimated.

Capability and many limits lean on the normal law; the test says whether the readings speak against it. With few
readings it cannot, and with very many it objects to departures that do not matter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from linewright.base.arrays import numbers
from linewright.base.problems import Problems
from linewright.base.results import Shown, Table


@dataclass(frozen=True)
class Normality(Shown):
    """The statistic corrected for the number of readings, and its p value; ``near`` is whether 5 % does not reject."""

    n: int
    statistic: float
    p_value: float

    @property
    def near(self) -> bool:
        """Whether the test at 5 % does not reject the normal law."""
        return self.p_value >= 0.05

    def to_table(self) -> Table:
        """One row."""
        return Table("Normality", ("readings", "A*2", "p"), ((self.n, self.statistic, self.p_value),))


def normality(readings: ArrayLike) -> Normality:
    """Anderson-Darling test of the normal law, mean and standard deviation estimated from the readings.

    Equation: A2 = -n - (1/n) sum (2i-1)(ln F_i + ln(1 - F_{n+1-i})); A*2 = A2 (1 + 0.75/n + 2.25/n^2); p from the
        fitted exponentials of D'Agostino and Stephens.
    Takes:
        readings [any one unit]: at least 8, not all the same.
    Gives: a Normality.
    Range: p between about 1e-20 and 1, good to two digits between 0.005 and 0.5.
    Source: D'Agostino and Stephens, Goodness-of-Fit Techniques, 1986, table 4.9 (from memory; agrees with statsmodels).

    >>> normality([9.8, 10.1, 10.0, 9.9, 10.2, 10.0, 9.7, 10.3, 10.1, 9.9]).near
    True
    """
    problems = Problems()
    x = np.sort(numbers(readings, "readings", problems, at_least=8, vary=True))
    problems.raise_errors()
    n = x.size
    z = (x - x.mean()) / x.std(ddof=1)
    i = np.arange(1, n + 1)
    a2 = float(-n - np.sum((2 * i - 1) * (special.log_ndtr(z) + special.log_ndtr(-z[::-1]))) / n)
    star = a2 * (1 + 0.75 / n + 2.25 / n**2)
    return Normality(n, star, _p(star))


def _p(a: float) -> float:
    if a >= 0.6:
        return math.exp(1.2937 - 5.709 * a + 0.0186 * a * a) if a < 13 else 0.0
    if a >= 0.34:
        return math.exp(0.9177 - 4.279 * a - 1.38 * a * a)
    if a >= 0.2:
        return 1 - math.exp(-8.318 + 42.796 * a - 59.938 * a * a)
    return 1 - math.exp(-13.436 + 101.14 * a - 223.73 * a * a)
