"""The factors of control charts for normal readings, computed from their definitions and not typed from a table.

Each belongs to a subgroup of n readings. They are exact to about ten digits; printed tables round them.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from scipy import special

from linewright.base.arrays import number
from linewright.base.problems import Problems

LARGEST = 1000


@lru_cache(maxsize=256)
def c4(n: int) -> float:
    """Mean of the sample standard deviation, as a multiple of the true one.

    Equation: c4 = sqrt(2/(n-1)) Gamma(n/2) / Gamma((n-1)/2).
    Takes:
        n [1]: readings in a subgroup, 2 to 1000.
    Gives: c4 [1].
    Range: independent normal readings.
    Source: ISO 7870-2:2013; ASTM Manual on Presentation of Data and Control Chart Analysis (MNL 7).

    >>> round(c4(5), 5)
    0.93999
    """
    _check(n)
    return math.sqrt(2 / (n - 1)) * math.exp(special.gammaln(n / 2) - special.gammaln((n - 1) / 2))


@lru_cache(maxsize=256)
def _range_moments(n: int) -> tuple[float, float]:
    """Mean and standard deviation of the range of n standard normal readings.

    E R = integral of 1 - F, E R^2 = integral of 2 r (1 - F), F(r) = n integral phi(x) (Phi(x+r) - Phi(x))^(n-1) dx.
    """
    x = np.linspace(-9.0, 9.0, 721)  # the trapezoid rule is exact to rounding for such smooth, vanishing functions
    weight = (x[1] - x[0]) * np.exp(-x * x / 2) / math.sqrt(2 * math.pi)
    node, step = np.polynomial.legendre.leggauss(160)
    r, step = 9.0 * (node + 1), 9.0 * step
    inside = special.ndtr(x[None, :] + r[:, None]) - special.ndtr(x)[None, :]
    beyond = 1 - n * (inside ** (n - 1) @ weight)
    mean = float(np.sum(step * beyond))
    return mean, math.sqrt(float(np.sum(step * 2 * r * beyond)) - mean * mean)


def d2(n: int) -> float:
    """Mean of the range, as a multiple of the standard deviation.

    Equation: d2 = E(R)/sigma = integral of 1 - Phi(x)^n - (1 - Phi(x))^n.
    Takes:
        n [1]: readings in a subgroup, 2 to 1000.
    Gives: d2 [1].
    Range: independent normal readings.
    Source: Tippett, Biometrika 17 (1925); ISO 7870-2:2013; ASTM MNL 7.

    >>> round(d2(5), 4)
    2.3259
    """
    _check(n)
    return _range_moments(n)[0]


def d3(n: int) -> float:
    """Standard deviation of the range, as a multiple of the standard deviation.

    Equation: d3 = sqrt(E(R^2) - d2^2)/sigma.
    Takes:
        n [1]: readings in a subgroup, 2 to 1000.
    Gives: d3 [1].
    Range: independent normal readings.
    Source: ISO 7870-2:2013; ASTM MNL 7.

    >>> round(d3(5), 4)
    0.8641
    """
    _check(n)
    return _range_moments(n)[1]


def A2(n: int) -> float:  # noqa: N802  the trade's own name
    """Limits of means from the mean range.

    Equation: A2 = 3 / (d2 sqrt(n)).
    Takes:
        n [1]: readings in a subgroup, 2 to 1000.
    Gives: A2 [1]; limits are the grand mean plus and minus A2 times the mean range.
    Range: independent normal readings.
    Source: ISO 7870-2:2013; ASTM MNL 7.

    >>> round(A2(5), 3)
    0.577
    """
    return 3 / (d2(n) * math.sqrt(n))


def A3(n: int) -> float:  # noqa: N802
    """Limits of means from the mean standard deviation.

    Equation: A3 = 3 / (c4 sqrt(n)).
    Takes:
        n [1]: readings in a subgroup, 2 to 1000.
    Gives: A3 [1].
    Range: independent normal readings.
    Source: ISO 7870-2:2013; ASTM MNL 7.

    >>> round(A3(5), 3)
    1.427
    """
    return 3 / (c4(n) * math.sqrt(n))


def B3(n: int) -> float:  # noqa: N802
    """Lower limit of standard deviations, as a multiple of their mean.

    Equation: B3 = max(0, 1 - 3 sqrt(1 - c4^2)/c4).
    Takes:
        n [1]: readings in a subgroup, 2 to 1000.
    Gives: B3 [1].
    Range: independent normal readings; 0 below n = 6.
    Source: ISO 7870-2:2013; ASTM MNL 7.

    >>> round(B3(6), 3)
    0.03
    """
    return max(0.0, 1 - 3 * math.sqrt(1 - c4(n) ** 2) / c4(n))


def B4(n: int) -> float:  # noqa: N802
    """Upper limit of standard deviations, as a multiple of their mean.

    Equation: B4 = 1 + 3 sqrt(1 - c4^2)/c4.
    Takes:
        n [1]: readings in a subgroup, 2 to 1000.
    Gives: B4 [1].
    Range: independent normal readings.
    Source: ISO 7870-2:2013; ASTM MNL 7.

    >>> round(B4(5), 3)
    2.089
    """
    return 1 + 3 * math.sqrt(1 - c4(n) ** 2) / c4(n)


def D3(n: int) -> float:  # noqa: N802
    """Lower limit of ranges, as a multiple of their mean.

    Equation: D3 = max(0, 1 - 3 d3/d2).
    Takes:
        n [1]: readings in a subgroup, 2 to 1000.
    Gives: D3 [1].
    Range: independent normal readings; 0 below n = 7.
    Source: ISO 7870-2:2013; ASTM MNL 7.

    >>> round(D3(7), 3)
    0.076
    """
    return max(0.0, 1 - 3 * d3(n) / d2(n))


def D4(n: int) -> float:  # noqa: N802
    """Upper limit of ranges, as a multiple of their mean.

    Equation: D4 = 1 + 3 d3/d2.
    Takes:
        n [1]: readings in a subgroup, 2 to 1000.
    Gives: D4 [1].
    Range: independent normal readings. For n = 5 tables print 2.114 or 2.115; it is 2.1145.
    Source: ISO 7870-2:2013; ASTM MNL 7.

    >>> round(D4(2), 3)
    3.267
    """
    return 1 + 3 * d3(n) / d2(n)


def E2(n: int) -> float:  # noqa: N802
    """Limits of single readings from the mean moving range of n.

    Equation: E2 = 3 / d2.
    Takes:
        n [1]: readings in each moving range, 2 to 1000.
    Gives: E2 [1].
    Range: independent normal readings.
    Source: ISO 7870-2:2013; ASTM MNL 7.

    >>> round(E2(2), 2)
    2.66
    """
    return 3 / d2(n)


def _check(n: int) -> None:
    problems = Problems()
    number(n, "n", problems, low=2, high=LARGEST, whole=True)
    problems.raise_errors()
