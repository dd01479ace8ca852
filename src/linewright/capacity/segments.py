"""What one cycle of an operation is made of: stretches with a crew, and stretches in which nobody need be by.

A bound on random times needs their means cut off at some value; the cut is a multiple of the mean, ``cut``, and any
multiple gives a valid bound, so the best of a few is taken. Fixed times are never cut.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from linewright.base.distributions import Distribution, Shape
from linewright.network.model import Bools, Durations, Floats, Network, Stops

CUTS: tuple[float, ...] = (1.2, 1.5, 2.0, 3.0, 5.0, math.inf)


@dataclass(frozen=True, slots=True)
class Segments:
    """All [n_operations], ns for one full cycle (a full load).

    ``run`` is the whole working time; ``begin`` and ``end`` its crewed ends (``begin`` is all of it where the crew
    stays, then ``alone`` and ``end`` are 0), ``alone`` the machine by itself between, ``stand`` the standing after, and
    in the same place until the window of the next operation opens.
    ``crewed`` tells whether any crew is needed. With a finite cut the random times are those cut off at it;
    ``longest_alone``, ``longest_stand`` and ``longest_run`` are the longest that each can then last (inf: no limit).
    """

    run: Floats
    begin: Floats
    alone: Floats
    end: Floats
    stand: Floats
    longest_run: Floats
    longest_alone: Floats
    longest_stand: Floats
    crewed: Bools


def segments(network: Network, cut: float = math.inf) -> Segments:
    """The segments of every operation of a network with random times cut off at ``cut`` times their mean."""
    operations = network.operations
    loads = np.where(np.isfinite(operations.load_most), operations.load_most, 1.0)
    each = operations.each * loads
    time, longest_time = cut_means(operations.time, cut)
    stand, longest_stand = cut_means(operations.stand, cut)
    waits = np.where(waits_in_place(network), flash_off(network), 0.0)
    stand, longest_stand = stand + waits, longest_stand + waits
    crewed = np.diff(operations.crews.starts) > 0
    attended = crewed & operations.hands_all
    run = time + each
    hands = np.where(crewed & ~attended, operations.hands_start + operations.hands_end, 0.0)
    alone = np.where(attended, 0.0, np.maximum(run - hands, 0.0))
    begin = np.where(attended, run, np.where(crewed, operations.hands_start, 0.0))
    end = np.where(crewed & ~attended, operations.hands_end, 0.0)
    longest_run = longest_time + each
    longest_alone = np.where(attended, 0.0, np.maximum(longest_run - hands, 0.0))
    return Segments(run, begin, alone, end, stand, longest_run, longest_alone, longest_stand, crewed)


def flash_off(network: Network) -> Floats:
    """[n_operations] ns after an operation before which the next may not begin, where nothing is lost between."""
    operations, windows = network.operations, network.windows
    checked = {inspection.operation for inspection in network.inspections}
    waits = np.zeros(len(operations.ids))
    for after, o, least in zip(windows.after.tolist(), windows.operation.tolist(), windows.least.tolist(), strict=True):
        same = operations.load_most[after] == operations.load_most[o] and operations.pieces_out[after] == 1
        kept = operations.survives[after] == 1 and operations.start_scrap[after] == 0 and after not in checked
        if after == o - 1 and same and kept:
            waits[after] = least
    return waits


def waits_in_place(network: Network) -> Bools:
    """[n_operations] whether the next operation is in the same visit, so that a piece keeps its place until then."""
    visit = network.operations.visit
    return np.append(visit[:-1] == visit[1:], False)


def needs_cut(network: Network) -> Bools:
    """[n_operations]: whether a time without a limit goes on past the end of a shift, so that a cut can help."""
    operations = network.operations
    endless = [
        ~np.isin(d.shape, (Shape.FIXED, Shape.TRIANGULAR, Shape.UNIFORM)) for d in (operations.time, operations.stand)
    ]
    crewed = np.diff(operations.crews.starts) > 0
    alone = ~(crewed & operations.hands_all) | (operations.stop != Stops.ANYWHERE)
    return np.asarray(endless[1] | (endless[0] & alone))


def cut_means(durations: Durations, cut: float) -> tuple[Floats, Floats]:
    """E[min(X, cut x mean)] or less, and the longest such time, of every row; fixed and bounded rows are left whole."""
    means = durations.mean.astype(np.float64)
    longest = means.copy()
    shapes = durations.shape
    a, b, c = durations.parameters.T
    longest = np.where(shapes == Shape.TRIANGULAR, c, np.where(shapes == Shape.UNIFORM, b, longest))
    endless = ~np.isin(shapes, (Shape.FIXED, Shape.TRIANGULAR, Shape.UNIFORM))
    if not endless.any():
        return means, longest
    if math.isinf(cut):
        return means, np.where(endless, np.inf, longest)
    limit = cut * means
    out = means.copy()
    for row in np.flatnonzero(endless):
        shape = Shape(int(shapes[row]))
        out[row] = _cut_mean(shape, float(a[row]), float(b[row]), float(limit[row]), float(means[row]))
    return out, np.where(endless, limit, longest)


def _cut_mean(shape: Shape, a: float, b: float, limit: float, mean: float) -> float:
    """E[min(X, limit)]: closed for exponential and lognormal, else a sum over quantiles from below: never too large."""
    match shape:
        case Shape.EXPONENTIAL:
            return -mean * math.expm1(-limit / mean)
        case Shape.LOGNORMAL:
            z = (math.log(limit) - a) / b
            return mean * _normal(z - b) + limit * _normal(-z)
        case _:
            steps = np.arange(512) / 512
            return float(np.minimum(Distribution(shape, a, b).quantile(steps), limit).mean())


def _normal(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2))
