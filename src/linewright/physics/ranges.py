"""Where does a formula hold? Ranges of validity as data, and a warning at the call that leaves one.

A range is a row of its module's table, so documents and tests can walk it. Leaving a range is a warning and not an
error: the number is given, and said to be outside what its source covers.
"""

from __future__ import annotations

import sys
import warnings
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike


class RangeWarning(UserWarning):
    """A formula was used outside the range for which its source gives it."""


@dataclass(frozen=True, slots=True)
class Range:
    """The lowest and highest value of an input for which a formula holds, in ``unit``, and who says so."""

    low: float
    high: float
    unit: str
    source: str

    def __str__(self) -> str:
        return f"{self.low:g} to {self.high:g} {self.unit}".rstrip()


def warn_outside(model: str, ranges: Mapping[str, Range], **values: ArrayLike) -> None:
    """Warn once for each named value that leaves its range.

    Equation: low <= value <= high.
    Takes:
        model [text]: the formula, as the warning names it.
        ranges [see each Range]: the ranges by name.
        values [unit of the range]: the values by name, of any shape.
    Gives: nothing; warns RangeWarning at the first caller outside this package.
    Range: any.
    Source: none; this keeps the books for the sources of the formulas.

    >>> import warnings
    >>> with warnings.catch_warnings(record=True) as caught:
    ...     warnings.simplefilter("always")
    ...     warn_outside("cooling", {"speed": Range(0, 10, "m/s", "a book")}, speed=12.0)
    >>> str(caught[0].message)
    'cooling: speed of 12 m/s is outside 0 to 10 m/s, for which a book gives the formula'
    """
    for name, value in values.items():
        limits = ranges[name]
        array = np.atleast_1d(np.asarray(value, dtype=np.float64))
        outside = (array < limits.low) | (array > limits.high)
        if not outside.any():
            continue
        bad = array[outside]
        worst = float(bad[np.argmax(np.maximum(limits.low - bad, bad - limits.high))])
        many = f" and {bad.size - 1} more" if bad.size > 1 else ""
        warnings.warn(
            f"{model}: {name.replace('_', ' ')} of {worst:g} {limits.unit}".rstrip()
            + f"{many} is outside {limits}, for which {limits.source} gives the formula",
            RangeWarning,
            stacklevel=_level_of_caller(),
        )


def _level_of_caller() -> int:
    """How many frames above warn_outside the first one outside this package stands."""
    frame, level = sys._getframe(1), 1
    while frame.f_back is not None and str(frame.f_globals.get("__name__", "")).startswith(__package__ or __name__):
        frame, level = frame.f_back, level + 1
    return level
