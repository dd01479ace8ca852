"""Random times as plain rows: a kind and three parameters, with mean, variance and inversion.

A duration that varies is one of a closed list of shapes. Engines read the row; draws are by inversion of a uniform
number, so that a changed plan sees the same luck. Times are in seconds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray


class Shape(IntEnum):
    """The closed list of shapes; parameters a, b, c in the unit of the value.

    ========== ======================= =====================================
    shape       a, b, c                 note
    ========== ======================= =====================================
    FIXED       value                   no variation
    EXPONENTIAL mean                    cv is 1
    LOGNORMAL   log-mean, log-sd        the reading of ``{mean, cv}``
    GAMMA       shape, scale
    WEIBULL     shape, scale
    NORMAL      mean, sd                cut off at zero (of the parent normal)
    TRIANGULAR  least, likely, most     the reading of ``{least, likely, most}``
    UNIFORM     least, most
    ========== ======================= =====================================
    """

    FIXED = 0
    EXPONENTIAL = 1
    LOGNORMAL = 2
    GAMMA = 3
    WEIBULL = 4
    NORMAL = 5
    TRIANGULAR = 6
    UNIFORM = 7


@dataclass(frozen=True, slots=True)
class Distribution:
    """One random value: its shape and parameters (see Shape). Immutable; ``scaled`` gives a stretched copy."""

    shape: Shape
    a: float
    b: float = 0.0
    c: float = 0.0

    @property
    def mean(self) -> float:
        """Expected value, in the unit of the parameters.

        >>> spread(60.0, 0.5).mean
        60.0
        """
        a, b, c = self.a, self.b, self.c
        match self.shape:
            case Shape.FIXED | Shape.EXPONENTIAL:
                return a
            case Shape.LOGNORMAL:
                return float(f"{math.exp(a + b * b / 2):.14g}")
            case Shape.GAMMA:
                return a * b
            case Shape.WEIBULL:
                return b * math.gamma(1 + 1 / a)
            case Shape.NORMAL:
                return _cut_normal(a, b)[0]
            case Shape.TRIANGULAR:
                return (a + b + c) / 3
            case Shape.UNIFORM:
                return (a + b) / 2

    @property
    def variance(self) -> float:
        """Variance, in the squared unit of the parameters.

        >>> Distribution(Shape.EXPONENTIAL, 5.0).variance
        25.0
        """
        a, b, c = self.a, self.b, self.c
        match self.shape:
            case Shape.FIXED:
                return 0.0
            case Shape.EXPONENTIAL:
                return a * a
            case Shape.LOGNORMAL:
                return math.expm1(b * b) * self.mean**2
            case Shape.GAMMA:
                return a * b * b
            case Shape.WEIBULL:
                return b * b * (math.gamma(1 + 2 / a) - math.gamma(1 + 1 / a) ** 2)
            case Shape.NORMAL:
                return _cut_normal(a, b)[1]
            case Shape.TRIANGULAR:
                return (a * a + b * b + c * c - a * b - a * c - b * c) / 18
            case Shape.UNIFORM:
                return (b - a) ** 2 / 12

    @property
    def cv(self) -> float:
        """Coefficient of variation: standard deviation over mean; 0 where the mean is 0."""
        return math.sqrt(self.variance) / self.mean if self.mean > 0 else 0.0

    @property
    def is_fixed(self) -> bool:
        """Whether the value never varies."""
        return self.shape is Shape.FIXED

    def scaled(self, factor: float) -> Distribution:
        """The distribution of ``factor`` times this value; ``factor`` is above 0."""
        a, b, c = self.a, self.b, self.c
        match self.shape:
            case Shape.LOGNORMAL:
                return Distribution(self.shape, a + math.log(factor), b)
            case Shape.GAMMA | Shape.WEIBULL:
                return Distribution(self.shape, a, b * factor)
            case _:
                return Distribution(self.shape, a * factor, b * factor, c * factor)

    def quantile(self, p: NDArray[np.float64] | float) -> NDArray[np.float64]:
        """Values not exceeded with probability ``p`` (any array shape), by SciPy: the reference for the engine's own.

        >>> float(Distribution(Shape.UNIFORM, 2.0, 4.0).quantile(0.25))
        2.5
        """
        from scipy import stats

        a, b, c = self.a, self.b, self.c
        u = np.asarray(p, dtype=np.float64)
        match self.shape:
            case Shape.FIXED:
                return np.full_like(u, a)
            case Shape.EXPONENTIAL:
                return np.asarray(-a * np.log1p(-u))
            case Shape.LOGNORMAL:
                return np.asarray(np.exp(a + b * stats.norm.ppf(u)))
            case Shape.GAMMA:
                return np.asarray(stats.gamma.ppf(u, a, scale=b))
            case Shape.WEIBULL:
                return np.asarray(b * (-np.log1p(-u)) ** (1 / a))
            case Shape.NORMAL:
                return np.asarray(stats.truncnorm.ppf(u, -a / b, np.inf, loc=a, scale=b))
            case Shape.TRIANGULAR:
                return np.asarray(stats.triang.ppf(u, (b - a) / (c - a), loc=a, scale=c - a))
            case Shape.UNIFORM:
                return np.asarray(a + (b - a) * u)


def fixed(value: float) -> Distribution:
    """A value that never varies."""
    return Distribution(Shape.FIXED, value)


def spread(mean: float, cv: float, shape: Shape = Shape.LOGNORMAL) -> Distribution:
    """The distribution of a given mean and coefficient of variation.

    ``{ mean, cv }`` in a plan is read as lognormal: manual times are never negative and lean to the right (common
    practice, no source). EXPONENTIAL ignores ``cv`` (it is 1). Raises ValueError for a shape that these two do not fix.

    >>> round(spread(60.0, 0.5).cv, 12)
    0.5
    """
    if cv == 0 and shape is not Shape.EXPONENTIAL:
        return fixed(mean)
    match shape:
        case Shape.EXPONENTIAL:
            return Distribution(shape, mean)
        case Shape.LOGNORMAL:
            s2 = math.log1p(cv * cv)
            return Distribution(shape, math.log(mean) - s2 / 2, math.sqrt(s2))
        case Shape.GAMMA:
            return Distribution(shape, 1 / (cv * cv), mean * cv * cv)
        case Shape.NORMAL:
            return Distribution(shape, mean, mean * cv)
        case Shape.UNIFORM:
            half = math.sqrt(3.0) * cv * mean
            return Distribution(shape, mean - half, mean + half)
        case _:
            raise ValueError(f"a mean and a cv do not fix a {shape.name.lower()} distribution")


def _cut_normal(mean: float, sd: float) -> tuple[float, float]:
    """Mean and variance of a normal cut off below zero. Source: Johnson, Kotz and Balakrishnan, vol. 1, 13.10."""
    z = -mean / sd
    above = 0.5 * math.erfc(z / math.sqrt(2))
    ratio = math.exp(-z * z / 2) / math.sqrt(2 * math.pi) / above
    return mean + sd * ratio, sd * sd * (1 + z * ratio - ratio * ratio)
