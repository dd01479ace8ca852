"""Densities of the shapes a plan's time may take, by SciPy.

The engines draw from a Distribution row by inversion; a fit and its picture need the density and the distribution
function too, and find them here.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from linewright.base.distributions import Distribution, Shape

PARAMETERS: dict[Shape, int] = {
    Shape.EXPONENTIAL: 1,
    Shape.LOGNORMAL: 2,
    Shape.GAMMA: 2,
    Shape.WEIBULL: 2,
    Shape.NORMAL: 2,
    Shape.TRIANGULAR: 3,
}
"""The shapes that are fitted, with how many parameters each takes from the readings."""


def frozen(distribution: Distribution) -> Any:
    """The SciPy distribution of a Distribution row: pdf, cdf, ppf, rvs.

    Equation: the parameters of ``base.distributions.Shape``, in SciPy's shape, loc and scale.
    Takes:
        distribution [s, or the unit of its parameters]: a row of any shape but FIXED.
    Gives: a frozen SciPy distribution.
    Range: every shape with a density; a fixed value has none and raises ValueError.
    Source: SciPy reference, scipy.stats continuous distributions.

    >>> round(float(frozen(Distribution(Shape.EXPONENTIAL, 5.0)).cdf(5.0)), 4)
    0.6321
    """
    a, b, c = distribution.a, distribution.b, distribution.c
    match distribution.shape:
        case Shape.EXPONENTIAL:
            return stats.expon(scale=a)
        case Shape.LOGNORMAL:
            return stats.lognorm(s=b, scale=math.exp(a))
        case Shape.GAMMA:
            return stats.gamma(a, scale=b)
        case Shape.WEIBULL:
            return stats.weibull_min(a, scale=b)
        case Shape.NORMAL:
            return stats.truncnorm(-a / b, np.inf, loc=a, scale=b)
        case Shape.TRIANGULAR:
            return stats.triang((b - a) / (c - a), loc=a, scale=c - a)
        case Shape.UNIFORM:
            return stats.uniform(loc=a, scale=b - a)
        case Shape.FIXED:
            raise ValueError("a fixed value has no density")


def log_likelihood(distribution: Distribution, values: NDArray[np.float64]) -> float:
    """How likely the readings are under a distribution, as a natural logarithm.

    Equation: ln L = sum of ln f(x).
    Takes:
        distribution [the unit of values]: a row of any shape but FIXED.
        values [any one unit]: readings, at least one.
    Gives: ln L [1]; minus infinity where a reading is impossible.
    Range: any.
    Source: definition.

    >>> round(log_likelihood(Distribution(Shape.EXPONENTIAL, 2.0), np.array([1.0, 3.0])), 4)
    -3.3863
    """
    with np.errstate(divide="ignore"):
        return float(np.sum(frozen(distribution).logpdf(values)))
