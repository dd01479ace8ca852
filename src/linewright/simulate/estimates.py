"""From the accounts of independent replications to means with intervals; where the warm-up ends.

Intervals are Student's t over replication means. The warm-up is cut in whole weeks by the marginal standard error rule
(White, "An effective truncation heuristic for bias reduction in simulation output", Simulation 69, 1997): of all cuts
in the first half, the one after which the weekly series has the smallest standard error of its mean.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from linewright.base.results import Interval
from linewright.network.model import Floats
from linewright.simulate.model import Estimates
from linewright.simulate.replication import Weeks

LEVEL = 0.95


def t_value(n: int, level: float = LEVEL) -> float:
    """Two-sided Student's t for ``n`` replications; infinite for one."""
    if n < 2:
        return np.inf
    from scipy.stats import t

    return float(t.ppf(0.5 + level / 2, n - 1))


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


def marginal_error_cut(series: Floats) -> int:
    """Where to cut a series: the cut in its first half with the least variance of the rest over its squared length."""
    n = len(series)
    best, cut = np.inf, 0
    for k in range(n // 2 + 1):
        rest = series[k:]
        if len(rest) < 2:
            break
        error = float(rest.var()) / len(rest)
        if error < best * (1 - 1e-12):
            best, cut = error, k
    return cut


def warm_up(runs: Sequence[Weeks], demanded: list[int], weeks: int) -> tuple[int, str]:
    """Weeks to cut, and what there is to say about it.

    The cut is the later of those for weekly output and for open pieces; open pieces that only grow have no steady state
    and are left out. At least one week is cut where there are three.
    """
    output = np.mean([np.diff(w.finished[:, demanded].sum(axis=1)) for w in runs], axis=0)
    open_pieces = np.mean([w.open_now[1:].sum(axis=1) for w in runs], axis=0)
    cut = max(marginal_error_cut(output), 1 if weeks >= 3 else 0)
    note = ""
    if _grows(open_pieces):
        note = "open pieces grow from week to week: more is let in than gets through"
    else:
        cut = max(cut, marginal_error_cut(open_pieces))
    if cut >= weeks / 2:
        short = f"the {weeks} simulated weeks are too short to tell where the warm-up ends: ask for more days"
        note = f"{note}; {short}" if note else short
    return min(cut, max(weeks - 1, 0)), note


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


def window(array: Floats, cut: int) -> Floats:
    """What came on an account after the warm-up."""
    return np.asarray(array[-1] - array[cut], dtype=np.float64)
