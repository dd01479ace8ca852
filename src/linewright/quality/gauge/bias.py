"""Does the gauge read right, and as right at one end of its range as at the other? Bias and linearity.

Bias is the mean reading of a known piece less its value; linearity is how the bias changes with the value.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special, stats

from linewright.base.arrays import number, numbers, share
from linewright.base.problems import Problems
from linewright.base.results import Interval, Shown, Table


@dataclass(frozen=True)
class Linearity(Shown):
    """Bias as a line over the reference value: intercept and slope with intervals, p values of each being 0, r squared.

    ``references``, ``biases`` and ``bands`` give the mean bias at each reference and its interval.
    """

    slope: Interval
    intercept: Interval
    slope_p: float
    intercept_p: float
    r_squared: float
    references: tuple[float, ...]
    biases: tuple[float, ...]
    bands: tuple[tuple[float, float], ...]

    @property
    def linear(self) -> bool:
        """Whether neither slope nor intercept speaks against a gauge that reads right (each at 5 %)."""
        return self.slope_p >= 0.05 and self.intercept_p >= 0.05

    def to_table(self) -> Table:
        """One row a reference, the line in the note."""
        rows = tuple((x, b, *band) for x, b, band in zip(self.references, self.biases, self.bands, strict=True))
        note = f"bias = {self.intercept.mean:.4g} + {self.slope.mean:.4g} x reference; r squared {self.r_squared:.3f}"
        return Table("Linearity", ("reference", "mean bias", "band, low", "band, high"), rows, note)


def bias(readings: ArrayLike, reference: float, level: float = 0.95) -> tuple[Interval, float]:
    """Bias of a gauge at one reference piece, and the p value of there being none.

    Equation: bias = mean - reference; half-width t(1 - (1-level)/2, n-1) s/sqrt(n); p of Student's t.
    Takes:
        readings [any one unit]: repeated readings of one piece, at least 2, not all the same.
        reference [as readings]: its true value.
        level [1]: confidence, between 0 and 1.
    Gives: an Interval of the bias and p [1].
    Range: near-normal readings; an error of the reference itself adds to the bias.
    Source: AIAG, Measurement Systems Analysis, 4th ed.

    >>> found, p = bias([6.01, 5.98, 6.02, 5.99, 6.03, 6.00], 6.0)
    >>> round(found.mean, 4), found.low < 0 < found.high
    (0.005, True)
    """
    problems = Problems()
    x = numbers(readings, "readings", problems, at_least=2, vary=True)
    number(reference, "reference", problems)
    share(level, "level", problems)
    problems.raise_errors()
    error = float(x.std(ddof=1)) / math.sqrt(x.size)
    off = float(x.mean()) - reference
    p = 2 * float(special.stdtr(x.size - 1, -abs(off) / error))
    return Interval(off, float(special.stdtrit(x.size - 1, 0.5 + level / 2)) * error, level), p


def linearity(reference: ArrayLike, readings: ArrayLike, level: float = 0.95) -> Linearity:
    """How the bias changes over the gauge's range.

    Equation: least squares of (reading - reference) on reference; t intervals of slope and intercept; band at x:
        line -+ t s sqrt(1/n + (x - mean x)^2/Sxx).
    Takes:
        reference [any one unit]: true value of the piece of each reading; at least 3 different.
        readings [as reference]: one reading each, more readings than references.
        level [1]: confidence, between 0 and 1.
    Gives: a Linearity.
    Range: the references should span the gauge's range; readings of equal spread.
    Source: AIAG, Measurement Systems Analysis, 4th ed.

    >>> found = linearity([2, 2, 4, 4, 6, 6], [2.1, 2.2, 4.0, 4.1, 5.9, 6.0])
    >>> round(found.slope.mean, 3), round(found.intercept.mean, 3)
    (-0.05, 0.25)
    """
    problems = Problems()
    x = numbers(reference, "reference", problems, at_least=4)
    y = numbers(readings, "readings", problems, at_least=4)
    share(level, "level", problems)
    if x.size != y.size:
        problems.error("readings", f"{y.size} readings for {x.size} references", expected="one for each")
    elif np.unique(x).size < 3:
        problems.error("reference", f"{np.unique(x).size} different references", expected="at least 3")
    elif not problems.errors and np.ptp(y - x) == 0:
        problems.error("readings", "the bias never varies, so there is no spread to judge it by")
    problems.raise_errors()
    off = y - x
    line = stats.linregress(x, off)
    n = x.size
    t = float(special.stdtrit(n - 2, 0.5 + level / 2))
    slope, intercept = float(line.slope), float(line.intercept)
    slope_error, intercept_error = float(line.stderr), float(line.intercept_stderr)
    at = np.unique(x)
    rest = off - (intercept + slope * x)
    s = math.sqrt(float(np.sum(rest**2)) / (n - 2))
    width = t * s * np.sqrt(1 / n + (at - x.mean()) ** 2 / np.sum((x - x.mean()) ** 2))
    middle = intercept + slope * at
    return Linearity(
        Interval(slope, t * slope_error, level),
        Interval(intercept, t * intercept_error, level),
        _p(slope, slope_error, n - 2),
        _p(intercept, intercept_error, n - 2),
        float(line.rvalue) ** 2,
        tuple(at.tolist()),
        tuple(float(off[x == v].mean()) for v in at),
        tuple((float(m - w), float(m + w)) for m, w in zip(middle, width, strict=True)),
    )


def _p(value: float, error: float, freedom: int) -> float:
    if error == 0:
        return 1.0 if value == 0 else 0.0
    return 2 * float(special.stdtr(freedom, -abs(value) / error))
