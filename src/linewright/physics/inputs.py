"""Numbers checked before any formula sees them: finite, possible, and named when they are not.

A formula collects the problems of all its inputs in one pass and raises them together. What physics forbids is said in
words: below absolute zero, humidity above 100 %, a negative size.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linewright.base.problems import Problems

Floats = NDArray[np.float64]

ABSOLUTE_ZERO = -273.15
"""degC."""
KELVIN = 273.15
"""Added to degC gives K."""


@dataclass(slots=True)
class Inputs:
    """Inputs of one formula, read one by one; ``done`` raises what was wrong with them."""

    problems: Problems = field(default_factory=Problems)

    def number(
        self,
        name: str,
        value: ArrayLike,
        *,
        low: float | None = None,
        above: float | None = None,
        high: float | None = None,
        below: float | None = None,
        unit: str = "",
        what: str | None = None,
    ) -> Floats:
        """Numbers of any shape within limits, or one problem that names the worst; ``what`` says it in words."""
        try:
            array = np.asarray(value, dtype=np.float64)
        except (TypeError, ValueError):
            self.problems.error(name, "this is not a number", value=value)
            return np.asarray(np.nan)
        if array.size == 0:
            self.problems.error(name, "no values are given")
            return np.asarray(np.nan)
        bad = ~np.isfinite(array)
        if bad.any():
            self.problems.error(name, "this is not a finite number", value=float(array[bad].flat[0]))
            return np.asarray(np.nan)
        limits: tuple[tuple[NDArray[np.bool_] | None, str, float | None], ...] = (
            (array < low if low is not None else None, "at least", low),
            (array <= above if above is not None else None, "more than", above),
            (array > high if high is not None else None, "at most", high),
            (array >= below if below is not None else None, "less than", below),
        )
        for broken, words, limit in limits:
            if broken is not None and broken.any():
                said = what or ("this is too small" if words in ("at least", "more than") else "this is too large")
                wanted = f"{words} {limit:g} {unit}".rstrip()
                self.problems.error(name, said, value=f"{array[broken].flat[0]:g} {unit}".rstrip(), expected=wanted)
                break
        return array

    def temperature(self, name: str, value: ArrayLike) -> Floats:
        """Temperatures in degC, above absolute zero."""
        what = "this is at or below absolute zero"
        return self.number(name, value, above=ABSOLUTE_ZERO, unit="degC", what=what)

    def size(self, name: str, value: ArrayLike, unit: str) -> Floats:
        """Lengths, areas, masses, coefficients: above zero."""
        return self.number(name, value, above=0.0, unit=unit, what="this must be above zero")

    def amount(self, name: str, value: ArrayLike, unit: str) -> Floats:
        """Amounts that may be zero but not negative."""
        return self.number(name, value, low=0.0, unit=unit, what="this cannot be negative")

    def share(self, name: str, value: ArrayLike, *, ends: bool = True) -> Floats:
        """Fractions of one; without ``ends`` strictly between 0 and 1."""
        if ends:
            return self.number(name, value, low=0.0, high=1.0, what="this is not a share between 0 and 100 %")
        return self.number(name, value, above=0.0, below=1.0, what="this is not a share between 0 and 100 %")

    def humidity(self, name: str, value: ArrayLike) -> Floats:
        """Relative humidity as a fraction, 0 to 1."""
        array = self.number(name, value, low=0.0, what="relative humidity cannot be negative")
        if np.any(array > 1.0):
            self.problems.error(
                name, "relative humidity above 100 %", value=f"{100 * float(np.max(array)):g} %", expected="0 to 100 %"
            )
        return array

    def share_left(self, start: Floats, end: Floats, around: Floats) -> Floats:
        """(end - around) / (start - around), in degC: 1 where nothing need change; a problem where it cannot be."""
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.where(end == start, 1.0, (end - around) / (start - around))
        wrong = ~((share >= 0) & (share <= 1))
        if not np.any(wrong):
            return np.asarray(share)
        t0, t1, ta = (float(np.broadcast_to(v, share.shape)[wrong].flat[0]) for v in (start, end, around))
        self.refuse(
            "end",
            f"{t1:g} degC cannot be reached from {t0:g} degC in surroundings of {ta:g} degC",
            expected="an end between start and surroundings",
        )
        return np.ones_like(share)

    def refuse(self, name: str, what: str, *, value: object = None, expected: str | None = None,
               hint: str | None = None) -> None:  # fmt: skip
        """Note a problem found by the formula itself."""
        self.problems.error(name, what, value=value, expected=expected, hint=hint)

    def done(self) -> None:
        """Raise ProblemsError with everything found, if anything was."""
        self.problems.raise_errors()
