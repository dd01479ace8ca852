"""Will it go together? Tolerances stacked: worst case, root-sum-square, and by drawing parts at random.

Worst case promises that everything fits and asks for costly parts; root-sum-square tells what nearly all will do, if
parts are centred and independent; drawing says what share will not assemble.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import special, stats

from linewright.base.arrays import limits, number
from linewright.base.problems import Problems
from linewright.base.results import Honesty, Shown, Table

Floats = NDArray[np.float64]
_MOST_CORNERS = 16  # dimensions whose every corner is tried for a function


@dataclass(frozen=True)
class Dimension:
    """One dimension of a stack (one unit throughout). ``way``: +1 where it opens the gap, -1 where it closes it, or any
    factor. Limits are ``nominal + plus`` and ``nominal - minus``; ``fits``: how many standard deviations lie between
    the middle and a limit (3 is Cp = 1). ``shape``: normal, or uniform between the limits.
    """

    name: str
    nominal: float
    plus: float
    minus: float
    way: float = 1.0
    fits: float = 3.0
    shape: Literal["normal", "uniform"] = "normal"

    @property
    def middle(self) -> float:
        """Middle between the limits."""
        return self.nominal + (self.plus - self.minus) / 2

    @property
    def half(self) -> float:
        """Half the width between the limits."""
        return (self.plus + self.minus) / 2

    @property
    def sd(self) -> float:
        """Standard deviation."""
        return self.half / (math.sqrt(3) if self.shape == "uniform" else self.fits)


@dataclass(frozen=True)
class StackPart:
    """One dimension's part: its slope, its worst-case part of the gap, and its share of the gap's variance."""

    name: str
    slope: float
    worst: float
    share: float


@dataclass(frozen=True)
class Stack(Shown):
    """A stack of tolerances. Gap in the dimensions' unit; ``outside`` shares of 1 with a 95 % Wilson interval.

    ``worst``: least and greatest gap with every dimension at a limit. ``rss``: middle -+ root of the sum of squared
    tolerances. ``normal_outside``: from the gap's mean and standard deviation (None without limits).
    """

    nominal: float
    middle: float
    sd: float
    worst: tuple[float, float]
    rss: tuple[float, float]
    parts: tuple[StackPart, ...]
    outside: tuple[float, float, float] | None
    normal_outside: float | None
    always_fits: bool | None
    honesty: Honesty

    def to_table(self) -> Table:
        """One row a dimension, the widest spread first."""
        rows = tuple((p.name, p.slope, p.worst, p.share) for p in sorted(self.parts, key=lambda p: -p.share))
        note = (
            f"gap {self.middle:.6g}; worst case {self.worst[0]:.6g} to {self.worst[1]:.6g}; root-sum-square "
            f"{self.rss[0]:.6g} to {self.rss[1]:.6g}"
        )
        if self.outside is not None:
            o = self.outside
            note += f"; will not assemble {o[0]:.3%} ({o[1]:.3%} to {o[2]:.3%})"
        return Table("Tolerance stack", ("dimension", "slope", "worst-case part", "share of variance"), rows, note)


def stack(
    dimensions: Sequence[Dimension],
    *,
    lower: float | None = None,
    upper: float | None = None,
    function: Callable[[Floats], Floats] | None = None,
    draws: int = 200_000,
    seed: int = 1,
) -> Stack:
    """A stack of tolerances: the gap's range and the share that will not assemble.

    Equation: gap = sum way_i x_i, or a function of the dimensions. Worst case: middle -+ sum |slope_i| t_i (for a
        function, over all corners). Root-sum-square: middle -+ sqrt(sum (slope_i t_i)^2). Standard deviation
        sqrt(sum (slope_i sd_i)^2). Share outside: by draws, with Wilson's interval.
    Takes:
        dimensions [one unit]: at least one; tolerances 0 or more, not all 0.
        lower [as the gap]: least gap that assembles, or None.
        upper [as the gap]: greatest gap that assembles, or None.
        function [as the gap]: of an array, one row a draw and one column a dimension; default the sum by ``way``.
        draws [1]: 1,000 to 10,000,000.
        seed [1]: of the draws.
    Gives: a Stack; its honesty names the draws.
    Range: independent dimensions. Slopes of a function are taken at the middle; with more than 16 dimensions its
        worst case is taken from the slopes. A normal dimension is not cut at its limits.
    Source: definition; ASME Y14.5 for the limits themselves. Propagation of distributions: JCGM 101.

    >>> found = stack([Dimension(n, 10.0, t, t) for n, t in zip("abcd", [0.10, 0.05, 0.05, 0.02])], draws=1000)
    >>> [round(found.worst[1] - found.middle, 4), round(found.rss[1] - found.middle, 6)]
    [0.22, 0.124097]
    """
    problems = Problems()
    _check(dimensions, problems)
    if lower is not None or upper is not None:
        limits(lower, upper, "gap", problems)
    number(draws, "draws", problems, low=1000, high=10_000_000, whole=True)
    problems.raise_errors()
    way = np.array([d.way for d in dimensions])
    gap = function if function is not None else lambda x: x @ way
    middle = np.array([d.middle for d in dimensions])
    half = np.array([d.half for d in dimensions])
    sd = np.array([d.sd for d in dimensions])
    centre = float(gap(middle[None, :])[0])
    nominal = float(gap(np.array([[d.nominal for d in dimensions]]))[0])
    slopes = way if function is None else _slopes(gap, middle, half)
    if not math.isfinite(centre) or not np.isfinite(slopes).all():
        problems.error("function", "it gives no finite gap at the middle of the dimensions", value=centre)
        problems.raise_errors()
    worst = _worst(gap, middle, half, slopes, centre, linear=function is None)
    reach = math.sqrt(float(np.sum((slopes * half) ** 2)))
    spread = math.sqrt(float(np.sum((slopes * sd) ** 2)))
    parts = tuple(
        StackPart(d.name, float(s), abs(float(s)) * d.half, (float(s) * d.sd / spread) ** 2 if spread > 0 else 0.0)
        for d, s in zip(dimensions, slopes, strict=True)
    )
    outside = normal_outside = always = None
    if lower is not None or upper is not None:
        low, high = (-math.inf if lower is None else lower), (math.inf if upper is None else upper)
        outside = _draw(gap, dimensions, low, high, draws, seed)
        if spread > 0:
            normal_outside = float(special.ndtr((low - centre) / spread) + special.ndtr((centre - high) / spread))
        always = worst[0] >= low and worst[1] <= high
    return Stack(
        nominal,
        centre,
        spread,
        worst,
        (centre - reach, centre + reach),
        parts,
        outside,
        normal_outside,
        always,
        Honesty("sampled", replications=draws, notes=(f"seed {seed}",)),
    )


def _slopes(gap: Callable[[Floats], Floats], middle: Floats, half: Floats) -> Floats:
    """Central differences over a tenth of each tolerance."""
    step = np.where(half > 0, half / 10, np.maximum(1e-6, np.abs(middle) * 1e-6))
    shift = np.diag(step)
    return np.asarray((gap(middle + shift) - gap(middle - shift)) / (2 * step))


def _worst(
    gap: Callable[[Floats], Floats], middle: Floats, half: Floats, slopes: Floats, centre: float, *, linear: bool
) -> tuple[float, float]:
    if linear or middle.size > _MOST_CORNERS:
        reach = float(np.sum(np.abs(slopes) * half))
        return centre - reach, centre + reach
    signs = np.indices((2,) * middle.size).reshape(middle.size, -1).T * 2 - 1
    corners = gap(middle + signs * half)
    return float(corners.min()), float(corners.max())


def _draw(
    gap: Callable[[Floats], Floats], dimensions: Sequence[Dimension], low: float, high: float, draws: int, seed: int
) -> tuple[float, float, float]:
    random = np.random.default_rng(seed)
    out = left = draws
    out = 0
    while left > 0:  # in blocks, so that memory stays small
        n = min(left, 100_000)
        columns = [
            random.uniform(d.middle - d.half, d.middle + d.half, n)
            if d.shape == "uniform"
            else random.normal(d.middle, d.sd, n)
            for d in dimensions
        ]
        y = gap(np.column_stack(columns))
        out += int(np.count_nonzero(~((y >= low) & (y <= high))))
        left -= n
    ends = stats.binomtest(out, draws).proportion_ci(0.95, method="wilson")
    return out / draws, float(ends.low), float(ends.high)


def _check(dimensions: Sequence[Dimension], problems: Problems) -> None:
    if not dimensions:
        problems.error("dimensions", "the stack is empty")
    for d in dimensions:
        path = f"dimensions.{d.name}"
        number(d.nominal, f"{path}.nominal", problems)
        number(d.way, f"{path}.way", problems)
        number(d.fits, f"{path}.fits", problems, above=0.0)
        if d.plus + d.minus < 0:
            text = f"+{d.plus:g} -{d.minus:g}"
            problems.error(path, "the limits are reversed", value=text, hint="minus 0.1 is written minus = 0.1")
        number(d.plus, f"{path}.plus", problems)
        number(d.minus, f"{path}.minus", problems)
        if d.shape not in ("normal", "uniform"):
            problems.error(f"{path}.shape", "unknown shape", value=d.shape, expected="normal or uniform")
    names = [d.name for d in dimensions]
    for name in sorted({n for n in names if names.count(n) > 1}):
        problems.error("dimensions", "this dimension is given twice", value=name)
    if dimensions and all(d.plus + d.minus == 0 for d in dimensions):
        problems.error("dimensions", "no dimension has a tolerance")
