"""What a model answers: the time, the curve that leads there, what else came out, and how far to trust it.

The curve is plain data (times and named series with units), so a report can draw it and a test can check it. Cautions
come with the result wherever the process can hurt someone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from linewright import __version__
from linewright.base.cautions import Caution
from linewright.base.results import Honesty, Provenance, Shown, Table


@dataclass(frozen=True, slots=True)
class Series:
    """One line of a curve: its name, unit and values, one for each time."""

    name: str
    unit: str
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Curve:
    """Series over ``times`` in seconds. ``target`` is the value at which the first series ends, None where none is."""

    title: str
    times: tuple[float, ...]
    series: tuple[Series, ...]
    target: float | None = None

    def values(self, name: str) -> tuple[float, ...]:
        """The values of a series by name; KeyError where there is none."""
        for line in self.series:
            if line.name == name:
                return line.values
        raise KeyError(name)


@dataclass(frozen=True, slots=True)
class Outcome:
    """One number beside the time, in its unit.

    ``amount_of`` is what it is an amount for, where it is an amount of matter: ``dry matter``, ``litre`` or ``feed``.
    """

    name: str
    value: float
    unit: str
    amount_of: str = ""


@dataclass(frozen=True)
class Timed(Shown):
    """The answer of a model: ``seconds`` (infinite where the end is never reached), its curve, further outcomes.

    ``inputs`` are the conditions as numbers, with their unit in ``units``; ``notes`` say what was assumed.
    """

    model: str
    seconds: float
    curve: Curve
    outcomes: tuple[Outcome, ...] = ()
    inputs: Mapping[str, float] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()
    honesty: Honesty = field(default_factory=lambda: Honesty("estimate"))
    provenance: Provenance = field(default_factory=lambda: Provenance("physics", __version__))

    def outcome(self, name: str) -> float:
        """An outcome by name, in its unit; KeyError where there is none."""
        for found in self.outcomes:
            if found.name == name:
                return found.value
        raise KeyError(name)

    def to_table(self) -> Table:
        """The time and the outcomes."""
        rows = (("time", self.seconds / 3600, "h"), *((o.name, o.value, o.unit) for o in self.outcomes))
        return Table(self.model, ("what", "value", "unit"), rows, " ".join(self.notes))


def curve(title: str, times: ArrayLike, target: float | None = None, /, **series: tuple[str, ArrayLike]) -> Curve:
    """A Curve from arrays.

    Equation: none.
    Takes:
        title [text]: what the curve shows.
        times [s]: one row.
        target [unit of the first series]: where the first series ends, or None.
        series [as each says]: by name (underscores for spaces), each (unit, values).
    Gives: the Curve.
    Range: any.
    Source: none.

    >>> curve("Cooling", [0.0, 60.0], None, core=("degC", [90.0, 80.0])).values("core")
    (90.0, 80.0)
    """
    lines = tuple(
        Series(name.replace("_", " "), unit, tuple(float(v) for v in np.asarray(values, dtype=np.float64)))
        for name, (unit, values) in series.items()
    )
    return Curve(title, tuple(float(t) for t in np.asarray(times, dtype=np.float64)), lines, target)
