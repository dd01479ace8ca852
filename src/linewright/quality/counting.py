"""Is a part missing from the kit? Counting by weight: the accept window, what it misses, and which part hides.

The parts of a good kit vary in mass, and the scale has its own error and step; a missing part is seen only where its
mass stands out from all that. Exact by convolution, or in closed form where every mass is normal.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import special, stats

from linewright.base.arrays import number, share
from linewright.base.problems import Problems, did_you_mean
from linewright.base.results import Shown, Table

Floats = NDArray[np.float64]
MassShape = Literal["normal", "uniform", "triangular", "lognormal"]
_SHAPES = ("normal", "uniform", "triangular", "lognormal")
_REACH = 10.0  # standard deviations of the total that the grid covers on either side
_CELLS = 2**15


@dataclass(frozen=True)
class KitPart:
    """One kind of part in a kit: how many, and mean and standard deviation of the mass of one (one unit throughout)."""

    name: str
    count: int
    mean: float
    sd: float
    shape: MassShape = "normal"


@dataclass(frozen=True)
class Scale:
    """A scale: the step it shows, and the standard deviation of repeated weighings (unit of the masses)."""

    step: float
    repeatability: float


@dataclass(frozen=True)
class KitFault:
    """One fault of a kit: a part missing or extra, its chance of passing the window, and the part's own figures.

    ``spread_ratio``: mass of the part over the standard deviation of the reading.
    """

    part: str
    fault: str
    passes: float
    spread_ratio: float


@dataclass(frozen=True)
class KitCheck(Shown):
    """A kit on a scale. The window is in shown readings, both ends accepted; shares of 1; masses in the unit given.

    ``hidden`` are parts of which one missing or extra passes more often than allowed; ``spread_from`` says which part
    the spread comes from (share of the reading's variance). ``normal_error``: greatest error of any figure had every
    mass been taken as normal (0 where every one is).
    """

    mean: float
    sd: float
    low: float
    high: float
    false_rejects: float
    faults: tuple[KitFault, ...]
    hidden: tuple[str, ...]
    allowed: float
    spread_from: tuple[tuple[str, float], ...]
    method: str
    normal_error: float

    @property
    def worst(self) -> float:
        """Greatest chance that a kit with one part missing or extra passes."""
        return max(f.passes for f in self.faults)

    def to_table(self) -> Table:
        """One row a fault, the least visible first."""
        rows = tuple(
            (f.part, f.fault, f.passes, f.spread_ratio, f.part in self.hidden)
            for f in sorted(self.faults, key=lambda f: -f.passes)
        )
        columns = ("part", "fault", "chance that it passes", "mass over spread of the reading", "hidden")
        note = (
            f"accept {self.low:g} to {self.high:g}; a good kit is refused with {self.false_rejects:.2%}; "
            f"{self.method}; most of the spread comes from {self.spread_from[0][0]} ({self.spread_from[0][1]:.0%})"
        )
        return Table("Kit on a scale", columns, rows, note)


@dataclass(frozen=True)
class Apart(Shown):
    """What weighing one part apart would do, best first: the part and the worst chance of passing in both weighings."""

    now: float
    choices: tuple[tuple[str, float], ...]

    def to_table(self) -> Table:
        """One row a part weighed apart."""
        return Table(
            "Which part to weigh apart",
            ("part weighed apart", "worst chance that a fault passes"),
            self.choices,
            f"all together: {self.now:.3g}",
        )


def weigh_kit(
    parts: Sequence[KitPart],
    scale: Scale,
    *,
    false_rejects: float = 0.001,
    allowed: float = 0.01,
    window: tuple[float, float] | None = None,
) -> KitCheck:
    """A kit on a scale: the accept window, and the chance that one part missing or extra passes it.

    Equation: mass = sum of n_i parts of mean m_i and sd s_i; reading = step x round((mass + scale error)/step). Window:
        the narrowest steps with at most half of ``false_rejects`` outside each end. A fault changes the total by one
        part; its chance of passing is that of a reading inside the window.
    Takes:
        parts [mass, one unit]: kinds of part, at least one, counts of at least 1, means above 0, sd 0 or more.
        scale [as the masses]: step above 0, repeatability 0 or more.
        false_rejects [1]: share of good kits that may be refused, between 0 and 1, for setting the window.
        allowed [1]: chance of passing above which a part counts as hidden, between 0 and 1.
        window [as the masses]: least and greatest reading accepted, instead of the one set here.
    Gives: a KitCheck.
    Range: one fault at a time; masses independent (parts of one batch may all run heavy: weigh a batch anew). Exact in
        closed form for normal masses; else by convolution on a grid of 32,768 cells.
    Source: propagation of error; convolution by the fast Fourier transform.

    >>> check = weigh_kit([KitPart("screw", 24, 4.2, 0.05), KitPart("hinge", 4, 61.0, 0.9)], Scale(0.5, 0.2))
    >>> check.hidden, round(check.worst, 2)
    (('screw',), 0.89)
    """
    problems = Problems()
    _check_kit(parts, scale, problems)
    share(false_rejects, "false_rejects", problems)
    share(allowed, "allowed", problems)
    if window is not None and not window[0] < window[1]:
        problems.error("window", "the limits are reversed", value=str(window), expected="least below greatest")
    problems.raise_errors()
    good = _Total(parts, scale)
    low, high = window if window is not None else good.window(false_rejects)
    faults = []
    worst_error = abs(good.inside(low, high) - good.as_normal().inside(low, high))
    for i, part in enumerate(parts):
        for fault, step in (("one missing", -1), ("one extra", 1)):
            changed = [replace(p, count=p.count + step) if j == i else p for j, p in enumerate(parts)]
            total = _Total(changed, scale)
            passes = total.inside(low, high)
            worst_error = max(worst_error, abs(passes - total.as_normal().inside(low, high)))
            faults.append(KitFault(part.name, fault, passes, part.mean / good.sd if good.sd > 0 else math.inf))
    hidden = tuple(dict.fromkeys(f.part for f in faults if f.passes > allowed))
    variance = {p.name: p.count * p.sd**2 for p in parts}
    variance["scale"] = scale.repeatability**2 + scale.step**2 / 12
    total_variance = sum(variance.values())
    spread = tuple(sorted(((k, v / total_variance) for k, v in variance.items()), key=lambda kv: -kv[1]))
    return KitCheck(
        good.mean,
        good.sd,
        low,
        high,
        1 - good.inside(low, high),
        tuple(faults),
        hidden,
        allowed,
        spread,
        "exact for normal masses" if good.normal else "exact by convolution",
        worst_error,
    )


def weigh_apart(
    parts: Sequence[KitPart], scale: Scale, *, apart_scale: Scale | None = None, false_rejects: float = 0.001
) -> Apart:
    """Which kind of part to weigh apart, so that no fault hides in either weighing.

    Equation: for each kind, weigh_kit of the others and of that kind alone; the worst chance of passing in either.
    Takes:
        parts [mass, one unit]: as weigh_kit, at least 2 kinds.
        scale [as the masses]: for the kit.
        apart_scale [as the masses]: for the part weighed apart; default the same scale.
        false_rejects [1]: as weigh_kit, for each weighing.
    Gives: an Apart, best first.
    Range: as weigh_kit.
    Source: as weigh_kit.

    >>> kit = [KitPart("screw", 24, 4.2, 0.05), KitPart("hinge", 4, 61.0, 0.9)]
    >>> weigh_apart(kit, Scale(0.5, 0.2)).choices[0][1] < 1e-3
    True
    """
    problems = Problems()
    _check_kit(parts, scale, problems)
    if len(parts) < 2:
        problems.error("parts", "one kind of part", expected="at least 2 kinds")
    problems.raise_errors()
    found = []
    for i, part in enumerate(parts):
        rest = weigh_kit([p for j, p in enumerate(parts) if j != i], scale, false_rejects=false_rejects)
        alone = weigh_kit([part], apart_scale or scale, false_rejects=false_rejects)
        found.append((part.name, max(rest.worst, alone.worst)))
    now = weigh_kit(parts, scale, false_rejects=false_rejects).worst
    return Apart(now, tuple(sorted(found, key=lambda pair: pair[1])))


class _Total:
    """The law of mass plus scale error of one kit."""

    def __init__(self, parts: Sequence[KitPart], scale: Scale) -> None:
        self.parts = [p for p in parts if p.count > 0]
        self.scale = scale
        self.mean = sum(p.count * p.mean for p in self.parts)
        self.sd = math.sqrt(sum(p.count * p.sd**2 for p in self.parts) + scale.repeatability**2)
        self.normal = all(p.shape == "normal" or p.sd == 0 for p in self.parts)
        self._grid: tuple[Floats, Floats] | None = None

    def as_normal(self) -> _Total:
        """The same kit, every mass taken as normal."""
        return self if self.normal else _Total([replace(p, shape="normal") for p in self.parts], self.scale)

    def below(self, x: float) -> float:
        """P(mass + error < x)."""
        if self.sd == 0:
            return float(self.mean < x)
        if self.normal:
            return float(special.ndtr((x - self.mean) / self.sd))
        if self._grid is None:
            self._grid = self._convolve()
        edges, cumulative = self._grid
        return float(np.interp(x - self.mean, edges, cumulative, left=0.0, right=1.0))

    def inside(self, low: float, high: float) -> float:
        """Chance of a shown reading from low to high, both accepted."""
        step = self.scale.step
        first = math.ceil(low / step - 1e-9) - 0.5
        last = math.floor(high / step + 1e-9) + 0.5
        return max(0.0, self.below(last * step) - self.below(first * step))

    def window(self, outside: float) -> tuple[float, float]:
        """The narrowest window of steps that leaves at most half of ``outside`` beyond each end."""
        step = self.scale.step
        low = math.floor((self.mean - _REACH * self.sd) / step) - 1
        high = math.ceil((self.mean + _REACH * self.sd) / step) + 1
        low = _last_true(low, round(self.mean / step), lambda k: self.below((k - 0.5) * step) <= outside / 2)
        high = -_last_true(-high, -round(self.mean / step), lambda k: 1 - self.below((-k + 0.5) * step) <= outside / 2)
        return low * step, high * step

    def _convolve(self) -> tuple[Floats, Floats]:
        """Edges of cells about the mean, and the distribution function there."""
        width = 2 * _REACH * self.sd / _CELLS
        centre = (np.arange(_CELLS) - _CELLS // 2) * width
        turned = np.ones(_CELLS // 2 + 1, dtype=complex)
        for part in self.parts:
            if part.sd > 0:
                cells = np.diff(_law(part).cdf(part.mean + np.append(centre - width / 2, centre[-1] + width / 2)))
                turned *= np.fft.rfft(np.fft.ifftshift(cells)) ** part.count
        if self.scale.repeatability > 0:
            edges = np.append(centre - width / 2, centre[-1] + width / 2)
            cells = np.diff(special.ndtr(edges / self.scale.repeatability))
            turned *= np.fft.rfft(np.fft.ifftshift(cells))
        total = np.clip(np.fft.fftshift(np.fft.irfft(turned, _CELLS)), 0.0, None)
        cumulative = np.concatenate([[0.0], np.cumsum(total)])
        return np.append(centre - width / 2, centre[-1] + width / 2), cumulative / cumulative[-1]


def _last_true(low: int, high: int, holds: object) -> int:
    """The last whole number from low to high for which ``holds``; it holds at low and fails from some point on."""
    assert callable(holds)
    while high > low:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if holds(middle) else (low, middle - 1)
    return low


def _law(part: KitPart) -> stats.rv_frozen:  # type: ignore[name-defined]
    if part.shape == "uniform":
        half = math.sqrt(3) * part.sd
        return stats.uniform(part.mean - half, 2 * half)
    if part.shape == "triangular":
        half = math.sqrt(6) * part.sd
        return stats.triang(0.5, part.mean - half, 2 * half)
    if part.shape == "lognormal":
        s = math.sqrt(math.log1p((part.sd / part.mean) ** 2))
        return stats.lognorm(s, scale=part.mean * math.exp(-s * s / 2))
    return stats.norm(part.mean, part.sd)


def _check_kit(parts: Sequence[KitPart], scale: Scale, problems: Problems) -> None:
    if not parts:
        problems.error("parts", "the kit is empty")
    names = [p.name for p in parts]
    for name in sorted({n for n in names if names.count(n) > 1}):
        problems.error("parts", "this part is given twice", value=name, hint="add its counts together")
    for p in parts:
        path = f"parts.{p.name}"
        number(p.count, f"{path}.count", problems, low=1, whole=True)
        number(p.mean, f"{path}.mean", problems, above=0.0)
        number(p.sd, f"{path}.sd", problems, low=0.0)
        if p.shape not in _SHAPES:
            problems.error(f"{path}.shape", "unknown shape", value=p.shape, hint=did_you_mean(p.shape, _SHAPES))
        if p.sd > p.mean > 0:
            problems.error(f"{path}.sd", "more than the mean", value=p.sd, hint="is it in another unit than the mean?")
    check_scale(scale, problems)


def check_scale(scale: Scale, problems: Problems) -> None:
    """Check a scale's figures.

    Equation: none.
    Takes:
        scale [mass]: step above 0, repeatability 0 or more.
        problems [a list]: where a problem goes.
    Gives: nothing.
    Range: finite.
    Source: none.

    >>> check_scale(Scale(0.5, 0.2), Problems())
    """
    number(scale.step, "scale.step", problems, above=0.0)
    number(scale.repeatability, "scale.repeatability", problems, low=0.0)
