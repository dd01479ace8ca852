"""From the accounts of independent replications to means with intervals; where the warm-up ends.

Intervals are Student's t over replication means. The warm-up is cut in whole weeks: it ends with the first week after
which the rest of the first half looks like the second half, in output and in open pieces.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from linewright.base.results import Interval
from linewright.network.model import Floats, Ints
from linewright.simulate.model import Estimates
from linewright.simulate.replication import Weeks

LEVEL = 0.95


def t_value(n: int, level: float = LEVEL) -> float:
    """Two-sided Student's t for ``n`` replications; infinite for one."""
    if n < 2:
        return np.inf
    from scipy.special import stdtrit  # scipy.stats would take half a second and thirty megabytes

    return float(stdtrit(n - 1, 0.5 + level / 2))


def estimate(samples: Floats) -> Estimates:
    """Mean and half-width over the first axis; the half-width of a single replication is infinite."""
    n = len(samples)
    mean = samples.mean(axis=0)
    if n < 2:
        return Estimates(mean, np.full_like(mean, np.inf))
    return Estimates(mean, t_value(n) * samples.std(axis=0, ddof=1) / np.sqrt(n))


def interval(samples: Sequence[float] | Floats) -> Interval:
    """Mean and half-width of one number."""
    found = estimate(np.asarray(samples, dtype=np.float64))
    return Interval(float(found.mean), float(found.half_width), LEVEL)


def settled_from(series: Floats, share: float) -> int | None:
    """The first week after which the rest of the first half looks like the second half; None where none does.

    ``series`` [n_replications, n_weeks]. Alike: the means differ by at most three standard errors of their difference
    over replications, or by ``share`` of the later mean.
    """
    n = series.shape[1]
    half = n // 2
    later = series[:, half:].mean(axis=1)
    for cut in range(half):
        early = series[:, cut:half].mean(axis=1)
        gap = early - later
        error = float(gap.std(ddof=1)) / np.sqrt(len(gap)) if len(gap) > 1 else 0.0
        if abs(float(gap.mean())) <= max(3 * error, share * abs(float(later.mean()))):
            return cut
    return None


@dataclass(frozen=True, slots=True)
class WarmUp:
    """Weeks to cut; whether the plant has settled by then; whether open pieces only grow; the cycle of output."""

    weeks: int
    settled: bool
    grows: bool
    cycle: int = 1


def warm_up(runs: Sequence[Weeks], demanded: list[int], weeks: int) -> WarmUp:
    """The cut is the latest for weekly output (to 0.3 %), stocks (1 %) and open pieces (5 %), one week at least.

    Where output has a rhythm of several weeks, means over one rhythm are looked at, and whole rhythms are left.
    Open pieces that only grow have no steady state and are left out. A single week cannot be cut.
    """
    if weeks < 2:
        return WarmUp(0, False, False)
    output = np.array([np.diff(w.finished[:, demanded].sum(axis=1)) for w in runs])
    open_pieces = np.array([w.open_now[1:].sum(axis=1) for w in runs], dtype=np.float64)
    rhythm = cycle_of(output[:, weeks // 2 :].mean(axis=0))
    cuts = [settled_from(moving_mean(output, rhythm), 0.003)]
    grows = _grows(open_pieces.mean(axis=0))
    cuts.append(settled_from(moving_mean(on_hand(runs), rhythm), 0.01))
    if not grows:
        cuts.append(settled_from(moving_mean(open_pieces, rhythm), 0.05))
    if None in cuts:
        cut, cycle = whole_cycles(output, weeks // 2)
        return WarmUp(cut, False, grows, cycle)
    cut, cycle = whole_cycles(output, max(1, *(cut for cut in cuts if cut is not None)))
    return WarmUp(cut, True, grows, cycle)


def _grows(series: Floats) -> bool:
    """Whether a series rises throughout: its later half lies above its earlier half by more than its wobble."""
    n = len(series)
    if n < 4:
        return False
    weeks = np.arange(n)
    half = slice(n // 2, n)
    slope, level = np.polyfit(weeks[half], series[half], 1)
    wobble = float(np.std(series[half] - (slope * weeks[half] + level)))
    rise = float(slope) * (n - n // 2)
    return rise > 4 * wobble and rise > 0.05 * float(series[half].mean())


LONGEST_CYCLE = 8
"""Weeks of the longest rhythm that is looked for: what is filled, stands and is emptied in turn."""


def cycle_of(series: Floats) -> int:
    """Weeks after which a weekly series repeats itself best; 1 where no rhythm stands out.

    ``series`` [n_weeks] is the mean over replications. For each length the wobble of moving averages over it is
    compared with what averaging alone would do; a longer one is taken only where a quarter of that is left, and only
    where the series holds three of it.
    """
    n = len(series)
    best, wobble = 1, float(np.std(series))
    for length in range(2, min(LONGEST_CYCLE, n // 3) + 1):
        moving = np.convolve(series, np.full(length, 1.0 / length), mode="valid")
        if float(np.std(moving)) * np.sqrt(length) < 0.25 * wobble:
            best, wobble = length, float(np.std(moving)) * np.sqrt(length)
    return best


def on_hand(runs: Sequence[Weeks]) -> Floats:
    """What lies on hand of parts made ahead in each week [n_replications, n_weeks], each in units of its own mean."""
    stocks = np.array([np.diff(w.stocks[:, w.parts], axis=0) for w in runs])
    mean = stocks.mean(axis=(0, 1))
    kept = mean > 0
    if not kept.any():
        return np.zeros(stocks.shape[:2])
    return np.asarray((stocks[:, :, kept] / mean[kept]).mean(axis=2))


def moving_mean(series: Floats, length: int) -> Floats:
    """Means over so many weeks from each week on [n_replications, n_weeks - length + 1]."""
    return np.asarray(np.lib.stride_tricks.sliding_window_view(series, length, axis=1).mean(axis=-1))


def whole_cycles(output: Floats, cut: int) -> tuple[int, int]:
    """The warm-up made longer, so that what is left is a whole number of cycles; and the cycle, in weeks.

    ``output`` [n_replications, n_weeks] is what was finished in each week.
    """
    cycle = cycle_of(output[:, cut:].mean(axis=0))
    return cut + (output.shape[1] - cut) % cycle, cycle


def edge_of(output: Floats, cut: int, cycle: int) -> float:
    """How much the rate a week depends on where the window begins and ends, beyond what luck explains.

    The window less one cycle is moved by 0 up to ``cycle`` weeks. Luck explains a difference of up to three standard
    errors over replications; in a plan without luck every difference counts.
    """
    n = output.shape[1]
    whole = output[:, cut:].mean(axis=1)
    most = 0.0
    for shift in range(cycle + 1):
        begin, end = cut + shift, n - (cycle - shift)
        if end - begin < 1:
            break
        gap = output[:, begin:end].mean(axis=1) - whole
        error = float(gap.std(ddof=1)) / np.sqrt(len(gap)) if len(gap) > 1 else 0.0
        if abs(float(gap.mean())) > 3 * error:
            most = max(most, abs(float(gap.mean())))
    return most


def widened(found: Interval, by: float) -> Interval:
    """An interval made wider at both ends."""
    return Interval(found.mean, found.half_width + by, found.level)


def window(array: Floats | Ints, cut: int) -> Floats:
    """What came on an account after the warm-up."""
    return np.asarray(array[-1] - array[cut], dtype=np.float64)
