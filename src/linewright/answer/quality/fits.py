"""The fits of a plan stacked: does it always go together, what share will not, and which dimension is to blame."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from linewright.answer.quality.model import FitResult
from linewright.base.units import Quantity
from linewright.plan.model import Fit, FitDimension, Plan

if TYPE_CHECKING:
    from linewright.quality.stack import Dimension

MM = 1000.0
SDS = 3.0
"""Standard deviations between the middle and a limit where cp is 1."""


def fits(plan: Plan, seed: int = 1) -> tuple[FitResult, ...]:
    """Every fit, in mm."""
    return tuple(_result(fit, seed) for fit in plan.fits.values())


def _result(fit: Fit, seed: int) -> FitResult:
    from linewright.quality.stack import stack

    dimensions = [*_dimensions(fit.opens, 1.0), *_dimensions(fit.closes, -1.0)]
    least, most = _mm(fit.least), _mm(fit.most)
    found = stack(dimensions, lower=least, upper=most, seed=seed)
    return FitResult(fit.id, fit.name, fit.operation or "", least, most, found)


def _mm(length: Quantity | None) -> float | None:
    return None if length is None else round(MM * length.value, 9)


def _dimensions(written: Mapping[str, FitDimension], way: float) -> Iterator[Dimension]:
    """Dimensions of a stack; one that comes several times is as many independent ones."""
    from linewright.quality.stack import Dimension

    for name, d in written.items():
        for k in range(d.times):
            called = name if d.times == 1 else f"{name} ({k + 1} of {d.times})"
            size, plus, minus = (MM * q.value for q in (d.size, d.plus, d.minus))
            yield Dimension(called, size, plus, minus, way, SDS * d.cp, d.shape)
