"""Constants of a model from a works' own readings: least squares, with an interval for each constant.

A works trusts its own log more than a book. The interval comes from the curvature at the best fit (linearised), with
Student's t; a constant that the readings cannot tell is refused by name instead of being given a wild value.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import optimize, stats

from linewright.base.arrays import numbers, share
from linewright.base.problems import Problems
from linewright.base.results import Honesty, Shown, Table
from linewright.physics.inputs import Floats

_FLAT = 1e-10  # a column of the scaled Jacobian below this share of the largest tells nothing


@dataclass(frozen=True, slots=True)
class Constant:
    """A fitted constant and its two-sided interval."""

    name: str
    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Fitted(Shown):
    """Constants fitted to readings; ``spread`` is the standard deviation of the readings about the curve."""

    constants: tuple[Constant, ...]
    spread: float
    readings: int
    level: float
    fitted: tuple[float, ...]
    honesty: Honesty

    def value(self, name: str) -> float:
        """A constant by name; KeyError where there is none."""
        return self.constant(name).value

    def constant(self, name: str) -> Constant:
        """A constant with its interval; KeyError where there is none."""
        for found in self.constants:
            if found.name == name:
                return found
        raise KeyError(name)

    def to_table(self) -> Table:
        """One row a constant."""
        rows = tuple((c.name, c.value, c.low, c.high) for c in self.constants)
        note = f"{self.readings} readings, spread {self.spread:.4g}; {self.level:.0%} intervals"
        return Table("Fitted constants", ("constant", "value", "low", "high"), rows, note)


def fit_constants(
    model: Callable[[Floats, Mapping[str, float]], ArrayLike],
    x: ArrayLike,
    y: ArrayLike,
    start: Mapping[str, float],
    *,
    positive: bool = True,
    level: float = 0.95,
) -> Fitted:
    """Least-squares constants of y = model(x, constants), each with its interval.

    Equation: min sum (y - f(x))^2; covariance s^2 (J'J)^-1 with s^2 = SSR / (n - p); interval by Student's t with n - p
        degrees of freedom.
    Takes:
        model [unit of y]: the curve, for x and named constants.
        x [as the model]: where it was read, one row.
        y [as the model]: what was read, one row.
        start [as the model]: a first guess of each constant, by name.
        positive [yes or no]: fit logarithms, so that values and intervals stay above zero.
        level [1]: confidence, 0 to 1.
    Gives: a Fitted. Raises ProblemsError for readings that are too few, not finite, unequal in number, or that cannot
        tell a constant.
    Range: intervals are linearised at the best fit.
    Source: Bates and Watts, Nonlinear Regression Analysis and Its Applications, 1988 (from memory).

    >>> import numpy as np
    >>> t = np.array([0.0, 1, 2, 3, 4])
    >>> found = fit_constants(lambda x, c: np.exp(-c["pace"] * x), t, np.exp(-0.5 * t), {"pace": 1.0})
    >>> round(found.value("pace"), 6)
    0.5
    """
    problems = Problems()
    names = list(start)
    xs = numbers(x, "x", problems, at_least=len(names) + 1)
    ys = numbers(y, "y", problems, at_least=len(names) + 1)
    share(level, "level", problems)
    if xs.size and ys.size and xs.size != ys.size:
        problems.error("y", "readings and times are not of one number", value=f"{xs.size} and {ys.size}")
    for name, value in start.items():
        if positive and not value > 0:
            problems.error(name, "a start above zero is needed", value=value)
    problems.raise_errors()
    first = np.array([start[n] for n in names], dtype=np.float64)

    def unpack(p: Floats) -> dict[str, float]:
        return dict(zip(names, (np.exp(p) if positive else p).tolist(), strict=True))

    def residuals(p: Floats) -> Floats:
        return np.asarray(model(xs, unpack(p)), dtype=np.float64) - ys

    found = optimize.least_squares(
        residuals, np.log(first) if positive else first, x_scale="jac", xtol=1e-12, ftol=1e-12, gtol=1e-12
    )
    return _told(
        found.x, np.asarray(found.jac, dtype=np.float64), found.fun, names, ys, positive, level, bool(found.success)
    )


def _told(
    best: Floats, jacobian: Floats, residual: Floats, names: list[str], ys: Floats, positive: bool, level: float,
    success: bool,
) -> Fitted:  # fmt: skip
    problems = Problems()
    lengths = np.linalg.norm(jacobian, axis=0)
    largest = max(float(lengths.max()), float(np.linalg.norm(ys)) * 1e-6, 1e-300)
    for name, length in zip(names, lengths, strict=True):
        if length <= _FLAT * largest:
            problems.error(name, "the readings say nothing about this constant", hint="fix it, or read over longer")
    problems.raise_errors()
    scaled = jacobian / lengths
    singular = np.linalg.svd(scaled, compute_uv=False)
    if singular[-1] <= 1e-7 * singular[0]:
        problems.error(
            " and ".join(names), "the readings cannot tell these constants apart", hint="fix one of them, or read wider"
        )
    problems.raise_errors()
    freedom = ys.size - len(names)
    variance = float(residual @ residual) / freedom
    covariance = np.linalg.inv(scaled.T @ scaled) / np.outer(lengths, lengths) * variance
    half = stats.t.ppf(0.5 + level / 2, freedom) * np.sqrt(np.diag(covariance))
    ends = [(b, b - h, b + h) for b, h in zip(best, half, strict=True)]
    if positive:
        ends = [(float(np.exp(b)), float(np.exp(lo)), float(np.exp(hi))) for b, lo, hi in ends]
    constants = tuple(Constant(n, float(b), float(lo), float(hi)) for n, (b, lo, hi) in zip(names, ends, strict=True))
    notes = ("intervals are linearised at the best fit",)
    honesty = Honesty("estimate" if success else "stopped", notes=notes)
    fitted = tuple(float(v) for v in ys + residual)
    return Fitted(constants, float(np.sqrt(variance)), int(ys.size), level, fitted, honesty)
