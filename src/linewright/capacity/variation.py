"""How stoppages, setups, loads and unsteady arrivals lengthen the time at a station and the wait before it.

First the effective process time: what a piece takes when everything that keeps the place from working is counted in.
Then the wait as variation x use x time, exact for M/M/1 and M/G/1, an estimate everywhere else.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linewright.base.arrays import number
from linewright.base.problems import Problems
from linewright.capacity.queues import erlang_c

Array = NDArray[np.float64] | np.floating[Any]


@dataclass(frozen=True, slots=True)
class Effective:
    """An effective process time: ``mean`` [time] and ``variance`` [time squared] of one piece or load."""

    mean: float
    variance: float

    @property
    def scv(self) -> float:
        """Squared coefficient of variation: variance / mean squared; 0 where the mean is 0."""
        return self.variance / self.mean**2 if self.mean > 0 else 0.0


def with_stoppages(base: Effective, between: float, repair: float, repair_scv: float = 1.0) -> Effective:
    """Count stoppages into a process time (work goes on where it was left).

    A = between / (between + repair); te = t0 / A; ce^2 = c0^2 + (1 + cr^2) A (1 - A) repair / t0.

    ``between`` mean running time between stoppages (exponential) and ``repair`` mean time to repair [time], above 0
    and 0 or more; ``repair_scv`` cr^2 0 or more. Raises ProblemsError. Source: Hopp and Spearman, Factory Physics,
    ch. 8.

    >>> with_stoppages(Effective(15.0, 0.05 * 225), between=3 * 38.0, repair=38.0).mean
    20.0
    """
    _check(between=(between, False), repair=(repair, True), repair_scv=(repair_scv, True))
    if base.mean <= 0 or repair == 0:
        return base
    # The same as the formula above, written as a random sum: stoppages are Poisson in the running time.
    mean = base.mean * (1 + repair / between)
    variance = base.variance * (1 + repair / between) ** 2 + base.mean / between * repair**2 * (1 + repair_scv)
    return Effective(mean, variance)


def with_setups(base: Effective, every: float, setup: float, setup_variance: float = 0.0) -> Effective:
    """Count a setup that is due after about ``every`` pieces into the process time, as if it fell at random.

    te = t0 + ts / N; var = var0 + vars / N + (N - 1) / N^2 ts^2.

    ``every`` N pieces, 1 or more; ``setup`` mean ts [time] and ``setup_variance`` [time squared], 0 or more. Raises
    ProblemsError. Source: Hopp and Spearman, Factory Physics, ch. 8.

    >>> effective = with_setups(Effective(1.0, 0.0625), every=10, setup=2.0, setup_variance=0.25)
    >>> effective.mean, round(effective.variance, 4)
    (1.2, 0.4475)
    """
    _check(every=(every, False), setup=(setup, True), setup_variance=(setup_variance, True))
    if math.isinf(every):
        return base
    n = max(every, 1.0)
    return Effective(base.mean + setup / n, base.variance + setup_variance / n + (n - 1) / n**2 * setup * setup)


def wait_estimate(use: float, mean: float, ca2: float, ce2: float, places: int = 1) -> float:
    """Mean wait before a station: variation x use x time.

    W = (ca^2 + ce^2) / 2 x C(c, a) / (c (1 - u)) x te, with Erlang's C at a = c u. With one place that is
    (ca^2 + ce^2) / 2 x u / (1 - u) x te (Kingman).

    ``use`` u, 0 to below 1; ``mean`` te [time]; ``ca2``, ``ce2`` squared coefficients of variation of arrivals and of
    the effective time; ``places`` c. Returns time. Exact for M/M/c and M/G/1, else an estimate. Raises ProblemsError.
    Source: J. F. C. Kingman 1961; for c places A. O. Allen and J. B. Cunneen (from memory), see W. Whitt 1993.

    >>> round(wait_estimate(0.958333333, 20.0, 1.0, 6.25), 1)
    1667.5
    """
    _check(use=(use, True), mean=(mean, True), ca2=(ca2, True), ce2=(ce2, True), places=(places, False))
    problems = Problems()
    if use >= 1:
        problems.error("use", "the queue grows without end", value=f"{use:.4g}", expected="a use below 1")
        problems.raise_errors()
    if use == 0:
        return 0.0
    return (ca2 + ce2) / 2 * erlang_c(places, use * places) / (places * (1 - use)) * mean


def departures(use: float, ca2: float, ce2: float, places: int = 1) -> float:
    """Squared coefficient of variation of what leaves a station.

    cd^2 = 1 + (1 - u^2)(ca^2 - 1) + u^2 / sqrt(c) (ce^2 - 1).

    ``use`` u from 0 to 1; ``places`` c. An estimate, exact for M/M/c. Raises ProblemsError. Source: Hopp and Spearman,
    Factory Physics, ch. 8, after Whitt, The Queueing Network Analyzer, 1983.

    >>> departures(0.8, 1.0, 1.0, 3)
    1.0
    """
    _check(use=(use, True), ca2=(ca2, True), ce2=(ce2, True), places=(places, False))
    return float(departing(np.float64(use), np.float64(ca2), np.float64(ce2), np.float64(places)))


def departing(use: Array, ca2: Array, ce2: Array, places: Array) -> Array:
    """``departures`` of many stations at once, arguments [n_stations] each, not checked."""
    return np.asarray(np.maximum(0.0, 1 + (1 - use * use) * (ca2 - 1) + use * use / np.sqrt(places) * (ce2 - 1)))


def load_wait(size: float, arrivals: float, ca2: float) -> tuple[float, float]:
    """Mean time to gather a load, and the squared coefficient of variation of full loads: ((k - 1) / (2 ra), ca^2 / k).

    ``size`` k pieces, 1 or more; ``arrivals`` ra pieces a time, above 0. Raises ProblemsError. Source: Hopp and
    Spearman, Factory Physics, ch. 9.

    >>> load_wait(12, 6.0, 1.0)
    (0.9166666666666666, 0.08333333333333333)
    """
    _check(size=(size, False), arrivals=(arrivals, False), ca2=(ca2, True))
    k = max(size, 1.0)
    return (k - 1) / (2 * arrivals), ca2 / k


@dataclass(frozen=True, slots=True)
class Line:
    """A line at a fixed work in process: ``rate`` [1/time] and ``stay`` [time]; rate x stay = work in process."""

    rate: float
    stay: float


def best_case(bottleneck: float, raw_time: float, in_process: float) -> Line:
    """A line without variation: rate = min(w / T0, rb), stay = max(T0, w / rb).

    ``bottleneck`` rb [1/time], ``raw_time`` T0 [time], ``in_process`` w pieces, all above 0. Raises ProblemsError.
    Source: Hopp and Spearman, Factory Physics, ch. 7.

    >>> best_case(0.5, 8.0, 4.0)
    Line(rate=0.5, stay=8.0)
    """
    _check(bottleneck=(bottleneck, False), raw_time=(raw_time, False), in_process=(in_process, False))
    return Line(min(in_process / raw_time, bottleneck), max(raw_time, in_process / bottleneck))


def practical_worst_case(bottleneck: float, raw_time: float, in_process: float) -> Line:
    """A balanced line of single places with exponential times: rate = w rb / (W0 + w - 1), stay = T0 + (w - 1) / rb.

    W0 = rb T0 is the critical work in process. A line that does worse than this deserves a look. ``bottleneck`` rb
    [1/time], ``raw_time`` T0 [time], ``in_process`` w pieces, all above 0. Raises ProblemsError. Source: Hopp and
    Spearman, Factory Physics, ch. 7.

    >>> line = practical_worst_case(0.5, 8.0, 10.0)
    >>> round(line.rate, 6), line.stay
    (0.384615, 26.0)
    """
    _check(bottleneck=(bottleneck, False), raw_time=(raw_time, False), in_process=(in_process, False))
    critical = bottleneck * raw_time
    return Line(in_process / (critical + in_process - 1) * bottleneck, raw_time + (in_process - 1) / bottleneck)


def _check(**arguments: tuple[float, bool]) -> None:
    """Each argument is (value, whether 0 is allowed); an infinite interval between stoppages or setups is none."""
    problems = Problems()
    for name, (value, zero) in arguments.items():
        if type(value) in (int, float) and 0 < value < math.inf:
            continue  # the ordinary case, without the cost of looking closer
        if math.isinf(value) and value > 0 and name in ("between", "every"):
            continue
        number(value, name, problems, low=0.0 if zero else None, above=None if zero else 0.0)
    problems.raise_errors()
