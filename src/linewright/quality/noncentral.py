"""The noncentral t law, for plans and fractions that rest on a mean and a sample standard deviation.

SciPy's own fails (not a number) far from the middle, where capability asks; here it is one smooth integral, taken in
whichever of two ways is the smoother.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from scipy import optimize, special

from linewright.base.arrays import number, share
from linewright.base.problems import Problems

_NODE, _WEIGHT = np.polynomial.legendre.leggauss(200)
_FAR = 9.5  # standard normal distance beyond which nothing is left (1e-21)


def noncentral_t_below(t: float, freedom: float, shift: float) -> float:
    """Probability that a noncentral t is t or less.

    Equation: T = (Z + shift)/sqrt(W/v), W chi-square of v: P(T <= t) = E Phi(t sqrt(W/v) - shift), or for t > 0
        Phi(-shift) + integral over z > -shift of phi(z) P(W > v ((z + shift)/t)^2) dz. P(T <= -t; d) is
        1 - P(T <= t; -d).
    Takes:
        t [1]: where.
        freedom [1]: v, degrees of freedom, from 1.
        shift [1]: noncentrality.
    Gives: a probability [1], absolutely right to about 1e-12.
    Range: any finite arguments; meets SciPy wherever SciPy answers.
    Source: Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions, vol. 2, chapter 31 (from memory).

    >>> round(noncentral_t_below(2.0, 10, 1.0), 6)
    0.807612
    """
    problems = Problems()
    number(t, "t", problems)
    number(freedom, "freedom", problems, low=1.0)
    number(shift, "shift", problems)
    problems.raise_errors()
    if t < 0:
        return 1 - _below(-t, freedom, -shift)
    return _below(t, freedom, shift)


def noncentral_t_shift(t: float, freedom: float, below: float) -> float:
    """The noncentrality under which a noncentral t is t or less with a stated probability.

    Equation: noncentral_t_below(t, v, shift) = below, solved for the shift; it falls as the shift grows.
    Takes:
        t [1]: where.
        freedom [1]: v, degrees of freedom, from 1.
        below [1]: probability, between 0 and 1.
    Gives: the shift [1].
    Range: as noncentral_t_below.
    Source: as noncentral_t_below.

    >>> round(noncentral_t_shift(2.0, 10, 0.807612), 4)
    1.0
    """
    problems = Problems()
    number(t, "t", problems)
    number(freedom, "freedom", problems, low=1.0)
    share(below, "below", problems)
    problems.raise_errors()
    return _root(lambda d: below - noncentral_t_below(t, freedom, d), t, 1 + abs(t))


def noncentral_t_quantile(below: float, freedom: float, shift: float) -> float:
    """The value that a noncentral t does not exceed with a stated probability.

    Equation: noncentral_t_below(t, v, shift) = below, solved for t.
    Takes:
        below [1]: probability, between 0 and 1.
        freedom [1]: v, degrees of freedom, from 1.
        shift [1]: noncentrality.
    Gives: t [1].
    Range: as noncentral_t_below.
    Source: as noncentral_t_below.

    >>> round(noncentral_t_quantile(0.807612, 10, 1.0), 4)
    2.0
    """
    problems = Problems()
    share(below, "below", problems)
    number(freedom, "freedom", problems, low=1.0)
    number(shift, "shift", problems)
    problems.raise_errors()
    return _root(lambda t: noncentral_t_below(t, freedom, shift) - below, shift, 1 + abs(shift))


def _below(t: float, v: float, d: float) -> float:
    """For t of 0 or more."""
    if t * t <= 2 * v:  # Phi(t s - d) is then smooth beside the density of s
        return _over_spread(t, v, d)
    low, high = max(-d, -_FAR), _FAR
    if low >= high:
        return float(special.ndtr(-d))
    z = low + (high - low) * (_NODE + 1) / 2
    density = np.exp(-z * z / 2) / math.sqrt(2 * math.pi)
    tail = special.gammaincc(v / 2, v / 2 * ((z + d) / t) ** 2)
    return min(1.0, float(special.ndtr(-d) + (high - low) / 2 * np.sum(_WEIGHT * density * tail)))


def _over_spread(t: float, v: float, d: float) -> float:
    reach = 10 / math.sqrt(2 * v)
    low, high = max(0.0, 1 - reach), 1 + reach
    s = low + (high - low) * (_NODE + 1) / 2
    log_density = v * math.log(v / 2) / 2 + math.log(2) - special.gammaln(v / 2) + (v - 1) * np.log(s) - v * s * s / 2
    weight = _WEIGHT * np.exp(log_density)
    return float(np.sum(weight * special.ndtr(t * s - d)) / np.sum(weight))


def _root(rises: Callable[[float], float], start: float, step: float) -> float:
    """Where a rising function crosses zero: widen from a start, then close in."""
    low = high = start
    reach = step
    while rises(low) > 0:
        low, reach = low - reach, 2 * reach
    reach = step
    while rises(high) < 0:
        high, reach = high + reach, 2 * reach
    if low == high:
        return low
    return float(optimize.brentq(rises, low, high, xtol=1e-12 * (1 + abs(start)), rtol=1e-14))
