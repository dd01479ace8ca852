"""Charts that remember: the exponentially weighted mean and the cumulative sum, which see small lasting shifts.

Both judge readings by a known centre and spread; ``runlength`` gives how long they take to see a shift, and designs
them for a stated time between false alarms.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike
from scipy import signal

from linewright.base.arrays import number, numbers
from linewright.base.problems import Problems
from linewright.quality.charts.chart import Chart, Floats, Known, check_known, make_track
from linewright.quality.charts.rules import BEYOND_LIMITS
from linewright.quality.charts.variables import single_readings


def weighted_mean(
    readings: ArrayLike, *, weight: float = 0.2, width: float = 2.962, known: Known | None = None
) -> Chart:
    """Chart of the exponentially weighted moving mean (EWMA).

    Equation: z_i = w x_i + (1 - w) z_{i-1}, z_0 = mean; limits mean -+ L sigma sqrt(w/(2 - w) (1 - (1 - w)^(2i))).
    Takes:
        readings [any one unit]: single readings or subgroup means in time order, at least 3.
        weight [1]: w of the newest reading, above 0 to 1.
        width [1]: L, above 0; with w it fixes the rate of false alarms.
        known [as readings]: centre and spread of one reading; None takes both from these readings (phase I).
    Gives: a Chart of one track.
    Range: independent readings; little sensitive to their shape where w is small.
    Source: Roberts, Technometrics 1 (1959) 239-250; Lucas and Saccucci, Technometrics 32 (1990) 1-12.

    >>> chart = weighted_mean([0.1, -0.2, 0.3, 2.0, 2.1, 1.9, 2.2], known=Known(0.0, 1.0))
    >>> chart.tracks[0].out.tolist()
    [5, 6]
    """
    problems = Problems()
    array, base = _ground(readings, known, problems)
    number(weight, "weight", problems, above=0.0, high=1.0)
    number(width, "width", problems, above=0.0)
    problems.raise_errors()
    start = [(1 - weight) * base.mean]
    value, _ = signal.lfilter([weight], [1.0, weight - 1.0], array, zi=start)
    i = np.arange(1, array.size + 1, dtype=float)
    sd = (
        base.sd * math.sqrt(weight / (2 - weight)) * np.sqrt(-np.expm1(2 * i * math.log1p(-weight)))
        if weight < 1
        else base.sd
    )
    low, high = base.mean - width * sd, base.mean + width * sd
    track = make_track("weighted mean", np.asarray(value), base.mean, sd, [BEYOND_LIMITS], lower=low, upper=high)
    return Chart("weighted mean", (track,), 1 if known is None else 2, base)


def cumulative_sum(
    readings: ArrayLike,
    *,
    slack: float = 0.5,
    decision: float = 4.77,
    known: Known | None = None,
    head_start: float = 0.0,
) -> Chart:
    """Chart of the two one-sided cumulative sums (CUSUM).

    Equation: up_i = max(0, up_{i-1} + z_i - k), down_i = max(0, down_{i-1} - z_i - k), z = (x - mean)/sigma; a signal
        where either exceeds h. Both begin at the head start; after a signal they go on.
    Takes:
        readings [any one unit]: single readings or subgroup means in time order, at least 3.
        slack [standard deviations]: k, half the shift to be seen, 0 or more.
        decision [standard deviations]: h, above 0.
        known [as readings]: centre and spread of one reading; None takes both from these readings (phase I).
        head_start [standard deviations]: where the sums begin, from 0 below h; half of h sees a bad start sooner.
    Gives: a Chart with the tracks up and down, in standard deviations.
    Range: independent readings.
    Source: Page, Biometrika 41 (1954) 100-115; head start: Lucas and Crosier, Technometrics 24 (1982) 199-205.

    >>> chart = cumulative_sum([0.1, -0.2, 1.5, 2.0, 2.1, 1.9], known=Known(0.0, 1.0))
    >>> chart.tracks[0].out.tolist()
    [5]
    """
    problems = Problems()
    array, base = _ground(readings, known, problems)
    number(slack, "slack", problems, low=0.0)
    number(decision, "decision", problems, above=0.0)
    number(head_start, "head_start", problems, low=0.0)
    if head_start >= decision > 0:
        problems.error("head_start", "begins at the decision value", value=head_start, expected=f"below {decision:g}")
    problems.raise_errors()
    z = (array - base.mean) / base.sd
    tracks = tuple(
        make_track(name, _sums(side * z - slack, head_start), 0.0, 1.0, [BEYOND_LIMITS], lower=0.0, upper=decision)
        for name, side in (("up", 1.0), ("down", -1.0))
    )
    return Chart("cumulative sum", tracks, 1 if known is None else 2, base)


def _sums(step: Floats, start: float) -> Floats:
    """max(0, s + step) all along a row: the walk less its lowest point so far (the floor counts as one)."""
    walk = start + np.cumsum(step)
    return np.asarray(walk - np.minimum(np.minimum.accumulate(walk), 0.0))


def _ground(readings: ArrayLike, known: Known | None, problems: Problems) -> tuple[Floats, Known]:
    array = numbers(readings, "readings", problems, at_least=3, vary=known is None)
    check_known(known, problems)
    problems.raise_errors()
    return array, known if known is not None else single_readings(array, rules=()).known
