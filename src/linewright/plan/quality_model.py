"""The part of the plan's model that says how it will be good: learning, failure modes, first pieces, scales, fits.

Frozen and as written, like the rest of the model; what follows from it is worked out in the answer.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from linewright.base.units import Quantity


@dataclass(frozen=True, slots=True)
class Learning:
    """How an operation is learned: each doubling of the pieces made multiplies its time by ``rate``.

    ``standard_at``: the piece of one person (of one place, where there is no crew) that first takes the time of the
    plan; None where none is written.
    """

    rate: float
    standard_at: int | None = None


@dataclass(frozen=True, slots=True)
class FailureMode:
    """One way in which an operation can fail, with ranks from 1 (best) to 10 (worst).

    ``occurrence`` and ``detection`` are None where they follow from the share in ``faults`` and from the checks.
    ``costs`` is money for one that reaches the customer.
    """

    mode: str
    severity: int
    effect: str = ""
    cause: str = ""
    occurrence: int | None = None
    detection: int | None = None
    action: str = ""
    costs: Quantity | None = None


@dataclass(frozen=True, slots=True)
class FirstPieces:
    """First pieces after a setup that must pass before the run goes on.

    ``setup_wrong`` is the share of setups that are wrong, ``faulty_when_wrong`` the share of pieces faulty after one.
    """

    pieces: int = 1
    setup_wrong: float | None = None
    faulty_when_wrong: float = 1.0


@dataclass(frozen=True, slots=True)
class CheckScale:
    """A scale that checks a kit by its weight: the step it shows and the standard deviation of its readings, in kg."""

    step: Quantity
    repeatability: Quantity


@dataclass(frozen=True, slots=True)
class FitDimension:
    """A dimension of a fit in m: its limits are ``size + plus`` and ``size - minus``.

    ``cp`` is half the width between the limits over three standard deviations; ``times`` how often it comes.
    """

    size: Quantity
    plus: Quantity
    minus: Quantity
    cp: float = 1.0
    times: int = 1
    shape: Literal["normal", "uniform"] = "normal"


@dataclass(frozen=True, slots=True)
class Fit:
    """A gap between parts: dimensions that open it, dimensions that close it, and the gap's limits in m."""

    id: str
    opens: Mapping[str, FitDimension]
    closes: Mapping[str, FitDimension] = field(default_factory=dict)
    name: str = ""
    least: Quantity | None = None
    most: Quantity | None = None
    operation: str | None = None
    note: str = ""
