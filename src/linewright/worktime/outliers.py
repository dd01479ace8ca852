"""Which readings stand apart from the rest? The generalized extreme studentized deviate test, with the reason said.

It finds up to a stated number of outliers without one hiding another. Nothing is removed: a reading is flagged, and
the person who timed it decides (a dropped tool is not part of the work; a tight seam may well be).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from linewright.base.arrays import number, numbers, share
from linewright.base.problems import Problems


@dataclass(frozen=True)
class Outlier:
    """A reading that stands apart: its position (from 0), its value, and why in words."""

    index: int
    value: float
    reason: str


@dataclass(frozen=True)
class DeviateStep:
    """One step of the test: the reading removed, its studentized deviate and the critical value for it."""

    index: int
    deviate: float
    critical: float


def deviate_steps(values: ArrayLike, at_most: int, significance: float = 0.05) -> tuple[DeviateStep, ...]:
    """The steps of the generalized extreme studentized deviate test.

    Equation: R_i = max |x - mean| / s over what is left; critical = (n-i) t / sqrt((n-i-1+t^2)(n-i+1)) with
        t = t(1 - a/(2(n-i+1)), n-i-1). The outliers are the first i readings for the largest i with R_i > critical.
    Takes:
        values [any one unit]: readings, at least 5.
        at_most [1]: how many outliers to look for, at least 1, fewer than half the readings.
        significance [1]: chance of flagging anything in clean normal readings, between 0 and 1.
    Gives: one DeviateStep for each i.
    Range: for readings near normal; for times, which lean to the right, test their logarithms. Fair from 15 readings,
        good from 25.
    Source: Rosner, Technometrics 25 (1983) 165-172; NIST/SEMATECH e-Handbook 1.3.5.17.3.

    >>> steps = deviate_steps([4.1, 4.0, 4.2, 3.9, 4.0, 4.1, 9.5, 4.0], 1)
    >>> steps[0].index, steps[0].deviate > steps[0].critical
    (6, True)
    """
    problems = Problems()
    array = numbers(values, "values", problems, at_least=5)
    number(at_most, "at_most", problems, low=1, high=max(1, (array.size - 1) // 2), whole=True)
    share(significance, "significance", problems)
    problems.raise_errors()
    left = np.arange(array.size)
    steps = []
    n = array.size
    for i in range(1, at_most + 1):
        rest = array[left]
        spread = float(rest.std(ddof=1))
        if spread == 0 or rest.size < 3:
            break
        away = np.abs(rest - rest.mean()) / spread
        worst = int(np.argmax(away))
        t = float(stats.t.ppf(1 - significance / (2 * (n - i + 1)), n - i - 1))
        critical = (n - i) * t / math.sqrt((n - i - 1 + t * t) * (n - i + 1))
        steps.append(DeviateStep(int(left[worst]), float(away[worst]), critical))
        left = np.delete(left, worst)
    return tuple(steps)


def flag_outliers(
    values: ArrayLike, *, at_most: int | None = None, significance: float = 0.05, logarithms: bool = True
) -> tuple[Outlier, ...]:
    """Readings that stand apart, each with its reason.

    Equation: as deviate_steps, on ln x where ``logarithms``.
    Takes:
        values [any one unit]: readings; above 0 where logarithms are taken. Fewer than 5: none is flagged.
        at_most [1]: how many to look for; default a fifth of the readings, at most 10.
        significance [1]: chance of flagging anything in clean readings, between 0 and 1.
        logarithms [yes or no]: test the logarithms, as suits times.
    Gives: Outliers in the order of the readings.
    Range: as deviate_steps.
    Source: as deviate_steps; taking logarithms of times is common practice, no source.

    >>> [o.index for o in flag_outliers([41, 39, 43, 40, 42, 118, 41, 40])]
    [5]
    """
    problems = Problems()
    array = numbers(values, "values", problems, above=0.0 if logarithms else None)
    problems.raise_errors()
    if array.size < 5:
        return ()
    most = at_most if at_most is not None else max(1, min(10, array.size // 5))
    steps = deviate_steps(np.log(array) if logarithms else array, most, significance)
    count = max((i + 1 for i, s in enumerate(steps) if s.deviate > s.critical), default=0)
    middle = float(np.median(array))
    found = [
        Outlier(
            s.index,
            float(array[s.index]),
            f"{'long' if array[s.index] > middle else 'short'}: {array[s.index]:.4g} against a median of {middle:.4g}, "
            f"{s.deviate:.1f} standard deviations from the rest"
            + (" (of logarithms)" if logarithms else "")
            + f"; up to {s.critical:.1f} would be chance",
        )
        for s in steps[:count]
    ]
    return tuple(sorted(found, key=lambda o: o.index))
