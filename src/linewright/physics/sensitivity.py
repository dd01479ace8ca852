"""What does the time hang on? The change of a time with each of its inputs, by central differences.

For each input: seconds per unit, and by how many per cent the time moves when the input moves by a tenth of its value.
Inputs with a zero of convention (temperatures) are moved by one unit instead, and the row says so.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from linewright.base.problems import ProblemsError
from linewright.base.results import Shown, Table
from linewright.physics.ranges import RangeWarning

TENTH = 0.1


@dataclass(frozen=True, slots=True)
class Slope:
    """One input: ``per_unit`` seconds a unit; the time at ``less`` and ``more`` by ``step``; None where it has none."""

    name: str
    unit: str
    at: float
    step: float
    per_unit: float | None
    less: float | None
    more: float | None


@dataclass(frozen=True)
class Sensitivity(Shown):
    """The slopes of a time, the strongest first."""

    seconds: float
    slopes: tuple[Slope, ...]

    def slope(self, name: str) -> Slope:
        """The row of an input; KeyError where there is none."""
        for found in self.slopes:
            if found.name == name:
                return found
        raise KeyError(name)

    def to_table(self) -> Table:
        """One row an input."""
        rows = tuple(
            (s.name, s.at, s.unit, s.step, _percent(s.less, self.seconds), _percent(s.more, self.seconds))
            for s in self.slopes
        )
        columns = ("input", "value", "unit", "moved by", "time when less [%]", "time when more [%]")
        return Table("What the time hangs on", columns, rows, "Blank: the end is then not reached, or cannot be.")


def _percent(time: float | None, whole: float) -> float | None:
    return None if time is None or whole == 0 else 100 * (time / whole - 1)


def sensitivity(
    time_of: Callable[[Mapping[str, float]], float],
    inputs: Mapping[str, float],
    units: Mapping[str, str] | None = None,
    *,
    fine: float = 1e-4,
) -> Sensitivity:
    """How a time hangs on each input.

    Equation: dt/dx = (t(x + h) - t(x - h)) / 2 h, with h = fine x, or fine itself for temperatures and zero.
    Takes:
        time_of [s]: gives the time for named numbers.
        inputs [as units says]: the numbers.
        units [text]: the unit of each input; "degC" is moved by degrees and not by shares.
        fine [1]: step of the slope as a share of the value.
    Gives: a Sensitivity: slopes in s per unit, and the time when each input moves by a tenth (by 1 degC). An input
        that cannot move that way shows None. Raises what time_of raises at the inputs themselves.
    Range: any smooth time.
    Source: central difference; any text on numerical methods.

    >>> found = sensitivity(lambda x: x["length"] ** 2 / x["spread"], {"length": 2.0, "spread": 4.0})
    >>> found.seconds, round(found.slope("length").per_unit, 6), round(found.slope("spread").per_unit, 6)
    (1.0, 1.0, -0.25)
    """
    known = units or {}
    base = time_of(inputs)
    rows = [_slope(time_of, inputs, name, known.get(name, ""), fine) for name in inputs]
    rows.sort(key=lambda s: -_swing(s, base))
    return Sensitivity(base, tuple(rows))


def _swing(row: Slope, base: float) -> float:
    return max((abs(t - base) for t in (row.less, row.more) if t is not None), default=math.inf)


def _slope(
    time_of: Callable[[Mapping[str, float]], float], inputs: Mapping[str, float], name: str, unit: str, fine: float
) -> Slope:
    value = inputs[name]
    degrees = unit == "degC"
    h = fine if degrees or value == 0 else fine * abs(value)
    step = 1.0 if degrees or value == 0 else TENTH * abs(value)

    def moved(by: float) -> float | None:
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore", RangeWarning)
                time = time_of({**inputs, name: value + by})
        except ProblemsError:
            return None
        return time if math.isfinite(time) else None

    low, high = moved(-h), moved(h)
    per_unit = None if low is None or high is None else (high - low) / (2 * h)
    return Slope(name, unit, value, step, per_unit, moved(-step), moved(step))
