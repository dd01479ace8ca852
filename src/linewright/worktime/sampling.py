"""How much of the day goes where, from looking at random moments: how many looks, and how sure the share is.

Work sampling counts what is seen at random moments. The shares are binomial, so their size and interval need no
stopwatch.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy import special, stats

from linewright.base.arrays import number, share
from linewright.base.problems import Problems
from linewright.base.results import Shown, Table


@dataclass(frozen=True)
class SampledShare(Shown):
    """A share of the looks and its interval at ``level``; all as shares of 1."""

    seen: int
    looks: int
    share: float
    low: float
    high: float
    level: float

    def to_table(self) -> Table:
        """One row."""
        return Table(
            "Work sampling",
            ("seen", "looks", "share", "low", "high"),
            ((self.seen, self.looks, self.share, self.low, self.high),),
            f"{self.level:.0%} interval",
        )


def looks_needed(expected: float, half_width: float, confidence: float = 0.95) -> float:
    """How many looks give a share to a stated half-width.

    Equation: n = z^2 p (1 - p) / e^2, with z the normal quantile of 1 - (1 - C)/2.
    Takes:
        expected [1]: p, the share as guessed beforehand, between 0 and 1; 0.5 is the worst case.
        half_width [1]: e, wanted half-width as an absolute share (0.05: from 20 % to 30 %), 1e-6 to 1.
        confidence [1]: C, between 0 and 1.
    Gives: n, not rounded; round up.
    Range: good where n p and n (1 - p) are above about 5; looks at random moments, not at fixed ones.
    Source: ILO, Introduction to Work Study, on activity sampling (from memory); normal approximation of the binomial.

    >>> round(looks_needed(0.25, 0.10), 2)
    72.03
    """
    problems = Problems()
    share(expected, "expected", problems)
    number(half_width, "half_width", problems, low=1e-6, high=1.0)
    share(confidence, "confidence", problems)
    problems.raise_errors()
    z = float(special.ndtri(0.5 + confidence / 2))
    return z * z * expected * (1 - expected) / (half_width * half_width)


def sampled_share(seen: int, looks: int, level: float = 0.95) -> SampledShare:
    """The share seen, with its interval.

    Equation: Wilson's score interval: (p + z^2/2n -+ z sqrt(p(1-p)/n + z^2/4n^2)) / (1 + z^2/n).
    Takes:
        seen [1]: looks that found it, 0 to looks.
        looks [1]: looks in all, at least 1.
        level [1]: confidence, between 0 and 1.
    Gives: a SampledShare.
    Range: any counts, none and all included.
    Source: Wilson, J. Amer. Statist. Assoc. 22 (1927) 209-212; computed by SciPy.

    >>> found = sampled_share(30, 120)
    >>> round(found.low, 4), round(found.high, 4)
    (0.1811, 0.3344)
    """
    problems = Problems()
    number(looks, "looks", problems, low=1, whole=True)
    number(seen, "seen", problems, low=0, high=max(looks, 0) if math.isfinite(looks) else 0, whole=True)
    share(level, "level", problems)
    problems.raise_errors()
    ends = stats.binomtest(int(seen), int(looks)).proportion_ci(level, method="wilson")
    return SampledShare(int(seen), int(looks), seen / looks, float(ends.low), float(ends.high), level)
