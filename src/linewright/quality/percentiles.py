"""Does a process that is not normal fit its limits? Capability by the percentiles of a fitted law.

The law is fitted by a function of the caller's, so any will do; intervals come from fitting it again to drawn readings.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linewright.base.arrays import limits, number, numbers, share
from linewright.base.problems import Problems
from linewright.quality.capability import Capability, Index, Outside, share_outside

Floats = NDArray[np.float64]
_TAIL = 0.00135  # what the normal law leaves beyond three standard deviations on one side


class Law(Protocol):
    """Any distribution with quantiles and tails: SciPy's frozen ones, or a fit of your own."""

    def ppf(self, q: Any) -> Any:
        """Value not exceeded with probability q."""

    def cdf(self, x: Any) -> Any:
        """Probability of x or less."""

    def sf(self, x: Any) -> Any:
        """Probability of more than x."""


def capability_by_percentiles(
    readings: ArrayLike,
    fit: Callable[[Floats], Law],
    *,
    lower: float | None = None,
    upper: float | None = None,
    level: float = 0.95,
    samples: int = 400,
    seed: int = 1,
) -> Capability:
    """Capability of readings that are not normal, by the percentiles of a fitted law.

    Equation: Pp = (U - L)/(X99.865 - X0.135); Ppk = least of (U - X50)/(X99.865 - X50), (X50 - L)/(X50 - X0.135);
        fraction outside from the law's tails. Intervals by parametric bootstrap: draw as many readings from the law,
        fit anew, and take quantiles of the results.
    Takes:
        readings [any one unit]: at least 20, not all the same.
        fit [a function]: from readings to a law with ppf, cdf and sf, such as a frozen SciPy distribution.
        lower [as readings]: lower limit, or None.
        upper [as readings]: upper limit, or None; at least one is needed.
        level [1]: confidence, between 0 and 1.
        samples [1]: bootstrap samples, 100 to 100,000.
        seed [1]: of the bootstrap.
    Gives: a Capability with Pp and Ppk only.
    Range: as good as the law in its tails, which readings inside the limits can hardly test; the intervals take the
        shape of the law as right.
    Source: ISO 22514-2:2017, percentile method; Efron and Tibshirani, An Introduction to the Bootstrap, 1993.

    >>> from scipy import stats
    >>> def lognormal(x: Floats) -> Law:
    ...     return stats.lognorm(np.log(x).std(), scale=np.exp(np.log(x).mean()))
    >>> times = stats.lognorm(0.3, scale=10.0).ppf((np.arange(200) + 0.5) / 200)
    >>> found = capability_by_percentiles(times, lognormal, upper=30.0)
    >>> found.indices[0].name, round(found.indices[0].value, 2)
    ('Ppk', 1.38)
    """
    problems = Problems()
    x = numbers(readings, "readings", problems, at_least=20, vary=True)
    limits(lower, upper, "limits", problems)
    share(level, "level", problems)
    number(samples, "samples", problems, low=100, high=100_000, whole=True)
    problems.raise_errors()
    law = fit(x)
    ends = _percentiles(law)
    if not all(math.isfinite(e) for e in ends) or not ends[0] < ends[1] < ends[2]:
        problems.error("fit", "the law's percentiles are not finite and rising", value=str(ends))
        problems.raise_errors()
    random = np.random.default_rng(seed)
    drawn = [fit(np.array(law.ppf(random.random(x.size)))) for _ in range(samples)]
    a = (1 - level) / 2
    found = _percentile_indices(law, lower, upper)
    again = np.array([list(_percentile_indices(d, lower, upper).values()) for d in drawn])
    indices = tuple(
        Index(name, value, *(float(v) for v in np.quantile(again[:, j], [a, 1 - a])))
        for j, (name, value) in enumerate(found.items())
    )
    below, above = _tails(law, lower, upper)
    low, high = (float(v) for v in np.quantile([sum(_tails(d, lower, upper)) for d in drawn], [a, 1 - a]))
    outside = Outside(
        None if lower is None else below,
        None if upper is None else above,
        below + above,
        low,
        high,
        share_outside(x, lower, upper),
    )
    notes = (f"{samples} bootstrap samples, seed {seed}",)
    mean, sd = float(x.mean()), float(x.std(ddof=1))
    return Capability(
        int(x.size), mean, None, sd, lower, upper, indices, outside, None, level, "percentiles of a fitted law", notes
    )


def _percentiles(law: Law) -> tuple[float, float, float]:
    return float(law.ppf(_TAIL)), float(law.ppf(0.5)), float(law.ppf(1 - _TAIL))


def _percentile_indices(law: Law, lower: float | None, upper: float | None) -> dict[str, float]:
    least, middle, most = _percentiles(law)
    found = {}
    if lower is not None and upper is not None:
        found["Pp"] = (upper - lower) / (most - least)
    sides = [(upper - middle) / (most - middle)] if upper is not None else []
    sides += [(middle - lower) / (middle - least)] if lower is not None else []
    return {**found, "Ppk": min(sides)}


def _tails(law: Law, lower: float | None, upper: float | None) -> tuple[float, float]:
    return (
        0.0 if lower is None else float(law.cdf(lower)),
        0.0 if upper is None else float(law.sf(upper)),
    )
