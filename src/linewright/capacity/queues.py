"""How long do pieces wait before places whose work varies at random? Closed formulas for one station.

Erlang's formulas and the queues named after Kendall's letters: exponential arrivals (M), exponential (M) or general
(G) times, one or c places. All hold for a station at rest in time, open for ever, with pieces taken in order of coming.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from linewright.base.arrays import number
from linewright.base.problems import Problems


@dataclass(frozen=True, slots=True)
class Queue:
    """Means of a station in equilibrium; times in the unit of 1/rate.

    ``use`` share of time a place is busy, ``waiting`` pieces in the queue, ``present`` pieces waiting or worked on,
    ``wait`` time in the queue, ``stay`` time in queue and work, ``idle`` probability that nothing is there (None where
    the formula does not give it).
    """

    use: float
    waiting: float
    present: float
    wait: float
    stay: float
    idle: float | None = None


def erlang_b(places: int, offered: float) -> float:
    """Probability that all places are taken where nobody waits (loss system M/G/c/c).

    B(0) = 1, B(k) = a B(k-1) / (k + a B(k-1)).

    ``places`` c, a count of at least 1; ``offered`` load a = arrival rate x mean time [places], above 0. Returns a
    share. Raises ProblemsError. Source: A. K. Erlang, 1917; recursion in any text on teletraffic.

    >>> round(erlang_b(5, 4.0), 6)
    0.199067
    """
    _check(places=(places, 1.0, True), offered=(offered, None, False))
    blocked = 1.0
    for k in range(1, places + 1):
        blocked = offered * blocked / (k + offered * blocked)
        if blocked == 0.0:  # and stays so
            break
    return blocked


def erlang_c(places: int, offered: float) -> float:
    """Probability that a piece must wait (M/M/c).

    C = B / (1 - (a/c)(1 - B)), with B of ``erlang_b``; 1 where a >= c.

    ``places`` c, a count of at least 1; ``offered`` load a = arrival rate x mean time [places], above 0. Returns a
    share. Raises ProblemsError. Source: A. K. Erlang, 1917.

    >>> round(erlang_c(5, 4.0), 6)
    0.554113
    """
    blocked = erlang_b(places, offered)
    if offered >= places:
        return 1.0
    return blocked / (1 - offered / places * (1 - blocked))


def mm1(arrivals: float, service: float) -> Queue:
    """One place, exponential arrivals and times: waiting = u^2 / (1 - u), u = arrivals / service.

    ``arrivals`` and ``service`` are rates [1/time], above 0, arrivals below service. Raises ProblemsError. Source: any
    text on queues; D. Gross and C. M. Harris, Fundamentals of Queueing Theory.

    >>> round(mm1(4.0, 5.0).present, 9)
    4.0
    """
    return mmc(arrivals, service, 1)


def mmc(arrivals: float, service: float, places: int) -> Queue:
    """c places, exponential arrivals and times: waiting = C(c, a) u / (1 - u), a = arrivals / service, u = a / c.

    ``arrivals`` and ``service`` (of one place) are rates [1/time], above 0; ``places`` is a count; a below c. Raises
    ProblemsError. Source: Erlang 1917; F. S. Hillier and G. J. Lieberman, Introduction to Operations Research.

    >>> round(mmc(2.0, 3.0, 2).waiting, 6)
    0.083333
    """
    _check(arrivals=(arrivals, None, False), service=(service, None, False), places=(places, 1.0, True))
    offered = arrivals / service
    use = offered / places
    _stable(use)
    must_wait = erlang_c(places, offered)
    waiting = must_wait * use / (1 - use)
    # P0 from C: C = a^c / c! / (1 - u) P0, in logarithms so that many places do not overflow
    idle = math.exp(math.log(must_wait) + math.log1p(-use) + math.lgamma(places + 1) - places * math.log(offered))
    wait = waiting / arrivals
    return Queue(use, waiting, waiting + offered, wait, wait + 1 / service, idle)


def mg1(arrivals: float, mean_time: float, scv: float) -> Queue:
    """One place, exponential arrivals, any times: waiting = u^2 (1 + scv) / (2 (1 - u)), u = arrivals x mean_time.

    ``arrivals`` [1/time] and ``mean_time`` [time] above 0, u below 1; ``scv`` the squared coefficient of variation of
    the time, 0 or more. Raises ProblemsError. Source: Pollaczek 1930, Khinchine 1932.

    >>> round(mg1(0.9, 1.0, 0.25).waiting, 4)
    5.0625
    """
    _check(arrivals=(arrivals, None, False), mean_time=(mean_time, None, False), scv=(scv, 0.0, False))
    use = arrivals * mean_time
    _stable(use)
    waiting = use * use * (1 + scv) / (2 * (1 - use))
    wait = waiting / arrivals
    return Queue(use, waiting, waiting + use, wait, wait + mean_time, 1 - use)


@dataclass(frozen=True, slots=True)
class Limited:
    """A station with limited room: ``blocked`` share of arrivals turned away, ``rate`` what goes through."""

    blocked: float
    rate: float
    present: float


def mm1b(arrivals: float, service: float, most: int) -> Limited:
    """One place with room for b pieces in all (the one being worked on counts): arrivals beyond are turned away.

    blocked = (1 - u) u^b / (1 - u^(b+1)), 1 / (b + 1) where u = 1; rate = arrivals (1 - blocked);
    present = u / (1 - u) - (b + 1) u^(b+1) / (1 - u^(b+1)), b / 2 where u = 1.

    ``arrivals``, ``service`` [1/time] above 0, u = arrivals / service may exceed 1; ``most`` b is a count. Raises
    ProblemsError. Source: W. J. Hopp and M. L. Spearman, Factory Physics, ch. 8 (from memory); closed form.

    >>> round(mm1b(0.9, 1.0, 5).blocked, 6)
    0.126023
    """
    _check(arrivals=(arrivals, None, False), service=(service, None, False), most=(most, 1.0, True))
    u = arrivals / service
    # Probabilities summed with the greatest term scaled to 1: exact near u = 1 and free of overflow.
    ratio = min(u, 1 / u)
    weights = [ratio**k for k in range(most + 1)]
    total = math.fsum(weights)
    full = (weights[most] if u <= 1 else weights[0]) / total
    mean = math.fsum((k if u <= 1 else most - k) * w for k, w in enumerate(weights)) / total
    return Limited(full, arrivals * (1 - full), mean)


def _check(**arguments: tuple[float, float | None, bool]) -> None:
    """Each argument is (value, least or None for above 0, whole)."""
    problems = Problems()
    for name, (value, low, whole) in arguments.items():
        if type(value) in (int, float) and (0 < value < math.inf) and value >= (low or 0.0) and value % 1 * whole == 0:
            continue  # the ordinary case, without the cost of looking closer
        number(value, name, problems, low=low, above=0.0 if low is None else None, whole=whole)
    problems.raise_errors()


def _stable(use: float) -> None:
    problems = Problems()
    if use >= 1:
        problems.error("use", "the queue grows without end", value=f"{use:.4g}", expected="a use below 1")
    problems.raise_errors()
