"""Run rules: what on a chart speaks of a cause, each named by what it sees, with its rate of false alarms.

A rule is data: so many of so many points beyond so many standard deviations on one side; a run near or far from the
centre; a steady trend; a zigzag. More rules see more, and cry wolf more often: ``runlength`` says how often together.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import special, stats

from linewright.base.problems import Problems

Kind = Literal["beyond", "near", "far", "trend", "zigzag"]


@dataclass(frozen=True)
class Rule:
    """A run rule. ``beyond``: ``need`` of the last ``window`` points more than ``distance`` standard deviations from
    the centre, all on one side. ``near`` and ``far``: ``window`` points in a row within, or outside, ``distance`` on
    either side. ``trend`` and ``zigzag``: ``window`` points steadily rising or falling, or turning at every point.
    """

    name: str
    sees: str
    kind: Kind
    need: int
    window: int
    distance: float = 0.0

    def __post_init__(self) -> None:
        problems = Problems()
        if not 1 <= self.need <= self.window or self.distance < 0 or not math.isfinite(self.distance):
            problems.error("rule", f'"{self.name}" cannot be', value=f"{self.need} of {self.window}")
        elif self.kind == "beyond" and 2 * self.need <= self.window:
            # both sides could then signal at once, and the stated false alarm would be wrong
            problems.error(
                "rule", f'"{self.name}" needs more than half its window', value=f"{self.need} of {self.window}"
            )
        problems.raise_errors()


BEYOND_LIMITS = Rule("beyond the limits", "one point more than 3 standard deviations out", "beyond", 1, 1, 3.0)
TWO_OF_THREE = Rule("two of three far out", "2 of 3 points beyond 2, on one side", "beyond", 2, 3, 2.0)
FOUR_OF_FIVE = Rule("four of five out", "4 of 5 points beyond 1, on one side", "beyond", 4, 5, 1.0)
ONE_SIDE = Rule("run on one side", "8 points in a row on one side of the centre", "beyond", 8, 8, 0.0)
LONG_ONE_SIDE = Rule("long run on one side", "9 points in a row on one side of the centre", "beyond", 9, 9, 0.0)
TREND = Rule("trend", "6 points in a row rising, or falling", "trend", 6, 6)
ZIGZAG = Rule("zigzag", "14 points in a row turning up and down", "zigzag", 14, 14)
NEAR = Rule("hugging the centre", "15 points in a row within 1 of the centre", "near", 15, 15, 1.0)
FAR = Rule("avoiding the centre", "8 points in a row outside 1 of the centre, either side", "far", 8, 8, 1.0)

ALL_RULES = (BEYOND_LIMITS, TWO_OF_THREE, FOUR_OF_FIVE, ONE_SIDE, TREND, ZIGZAG, NEAR, FAR)
USUAL_RULES = (BEYOND_LIMITS, TWO_OF_THREE, FOUR_OF_FIVE, ONE_SIDE)


def false_alarm(rule: Rule) -> float:
    """Chance that a rule's window signals by chance alone, for one window of a steady normal process.

    Equation: beyond: 2 P(at least k of w), each with p = 1 - Phi(d); near: (1 - 2p)^w; far: (2p)^w;
        trend: 2/w!; zigzag: 2 E_w/w! with E_w the number of alternating permutations.
    Takes:
        rule [a Rule]: which.
    Gives: a probability [1] for one position of the window; windows overlap, so see ``runlength`` for the long run.
    Range: independent normal points with known centre and spread.
    Source: binomial windows; Nelson, J. Quality Technology 16 (1984) 237-239, for the set; Andre (1881) for zigzags.

    >>> [round(false_alarm(r), 6) for r in (BEYOND_LIMITS, TWO_OF_THREE, FOUR_OF_FIVE, ONE_SIDE)]
    [0.0027, 0.003058, 0.005532, 0.007812]
    """
    p, w = float(special.ndtr(-rule.distance)), rule.window
    match rule.kind:
        case "beyond":
            return 2 * float(stats.binom.sf(rule.need - 1, w, p))
        case "near":
            return (1 - 2 * p) ** w
        case "far":
            return (2 * p) ** w
        case "trend":
            return 2 / math.factorial(w)
        case "zigzag":
            return 2 * _alternating(w) / math.factorial(w)


def find_signals(z: NDArray[np.float64], rules: Sequence[Rule]) -> dict[str, NDArray[np.int64]]:
    """Where each rule signals, by its name: the points at which its window is full.

    Equation: as each Rule says.
    Takes:
        z [standard deviations from the centre]: points in order.
        rules [Rules]: which to look for.
    Gives: positions, from 0, for each rule.
    Range: any length; 1,000,000 points take well under a second.
    Source: as false_alarm.

    >>> find_signals(np.array([0.1, 2.1, -0.3, 2.5, 0.0]), [TWO_OF_THREE])["two of three far out"].tolist()
    [3]
    """
    return {rule.name: np.flatnonzero(_signals(z, rule)) for rule in rules}


def _signals(z: NDArray[np.float64], rule: Rule) -> NDArray[np.bool_]:
    d, w = rule.distance, rule.window
    match rule.kind:
        case "beyond":
            return _count_in_window(z > d, rule.need, w) | _count_in_window(z < -d, rule.need, w)
        case "near":
            return _count_in_window(np.abs(z) < d, w, w)
        case "far":
            return _count_in_window(np.abs(z) > d, w, w)
        case "trend":
            step = np.diff(z)
            both = _count_in_window(step > 0, w - 1, w - 1) | _count_in_window(step < 0, w - 1, w - 1)
            return np.concatenate([np.zeros(min(1, z.size), bool), both])
        case "zigzag":
            step = np.diff(z)
            turn = _count_in_window(step[1:] * step[:-1] < 0, w - 2, w - 2)
            return np.concatenate([np.zeros(min(2, z.size), bool), turn])


def _count_in_window(hit: NDArray[np.bool_], need: int, window: int) -> NDArray[np.bool_]:
    """Whether a point is a hit and completes ``need`` hits among the last ``window``."""
    if need == 1:
        return hit
    total = np.cumsum(hit, dtype=np.int64)
    earlier = np.zeros_like(total)
    earlier[window:] = total[:-window]
    return hit & (total - earlier >= need)


def _alternating(n: int) -> int:
    """Alternating permutations of n things that begin with a rise (1, 1, 1, 2, 5, 16, ...), by Seidel's triangle."""
    row = [1]
    for _ in range(n - 1):
        grown = [0]
        for value in reversed(row):
            grown.append(grown[-1] + value)
        row = grown
    return sum(row) if n > 1 else 1
