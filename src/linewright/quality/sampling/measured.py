"""Sampling by measurement: accept a lot when its mean lies far enough inside the limit, in standard deviations.

A measured value tells more than good or bad, so the sample is smaller; the price is that the law must be normal.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from linewright.base.arrays import limits, number, numbers
from linewright.base.problems import Problems
from linewright.base.results import Shown, Table
from linewright.quality.noncentral import noncentral_t_below, noncentral_t_quantile
from linewright.quality.sampling.two_points import check_risks


@dataclass(frozen=True)
class MeasuredPlan:
    """Measure ``n`` units; accept where the mean is at least ``k`` standard deviations inside the limit.

    ``known_sd``: whether the process standard deviation is known; else the sample's own is taken.
    """

    n: int
    k: float
    known_sd: bool


@dataclass(frozen=True)
class Judgement(Shown):
    """A lot judged by measurement: distance of the mean from each limit in standard deviations, and the verdict.

    ``sure`` is False where two limits are so near together that each side alone does not settle the whole.
    """

    accepted: bool
    below: float | None
    above: float | None
    k: float
    sure: bool

    def to_table(self) -> Table:
        """One row."""
        columns = ("accepted", "distance to lower limit", "distance to upper limit", "k")
        note = "" if self.sure else "both limits are near: use a plan for combined limits"
        return Table("Lot judged by measurement", columns, ((self.accepted, self.below, self.above, self.k),), note)


def measured_plan(
    good: float, producer_risk: float, bad: float, consumer_risk: float, *, known_sd: bool = False
) -> MeasuredPlan:
    """The plan by measurement of least sample size that keeps both risks, for one limit.

    Equation: known: n = ((z_a + z_b)/(z_good - z_bad))^2 rounded up, k from the producer's point. Unknown: the least n
        whose k = t'(producer_risk; n-1, sqrt(n) z_good)/sqrt(n), t' the noncentral t quantile, keeps
        P(accept | bad) <= consumer_risk.
    Takes:
        good [share]: share faulty that should be accepted, between 0 and 1.
        producer_risk [1]: chance that it is refused, between 0 and 1.
        bad [share]: share faulty that should be refused, above good.
        consumer_risk [1]: chance that it is accepted, between 0 and 1.
        known_sd [yes or no]: whether the process standard deviation is known and steady.
    Gives: a MeasuredPlan.
    Range: normal readings, one limit; samples up to 5,000.
    Source: the k method of ISO 3951-1 (form 1); Owen, Technometrics 9 (1967), for the noncentral t (from memory).

    >>> plan = measured_plan(0.01, 0.05, 0.06, 0.10)
    >>> plan.n, round(plan.k, 3)
    (42, 1.905)
    """
    check_risks(good, producer_risk, bad, consumer_risk)
    z_good, z_bad = -float(special.ndtri(good)), -float(special.ndtri(bad))
    if known_sd:
        z_a, z_b = -float(special.ndtri(producer_risk)), -float(special.ndtri(consumer_risk))
        n = max(1, math.ceil(((z_a + z_b) / (z_good - z_bad)) ** 2 - 1e-9))
        return MeasuredPlan(n, z_good - z_a / math.sqrt(n), True)

    def k_of(n: int) -> float:
        return noncentral_t_quantile(producer_risk, n - 1, math.sqrt(n) * z_good) / math.sqrt(n)

    def keeps(n: int) -> bool:
        return float(accept_measured(MeasuredPlan(n, k_of(n), False), bad)) <= consumer_risk

    low, high = 1, 2
    while not keeps(high):
        low, high = high, 2 * high
        if high > 5000:
            problems = Problems()
            problems.error("bad", "the sample would exceed 5,000", hint="the two shares are too near")
            problems.raise_errors()
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if keeps(middle) else (middle, high)
    return MeasuredPlan(high, k_of(high), False)


def accept_measured(plan: MeasuredPlan, faulty: ArrayLike) -> NDArray[np.float64]:
    """Chance that a lot is accepted by a plan by measurement, one limit.

    Equation: known: Phi(sqrt(n) (z_p - k)); unknown: P(t'(n-1, sqrt(n) z_p) >= sqrt(n) k); z_p = -Phi^-1(p).
    Takes:
        plan [a MeasuredPlan]: n units and k standard deviations.
        faulty [share]: between 0 and 1, one or many.
    Gives: chances [1].
    Range: normal readings.
    Source: as measured_plan.

    >>> round(float(accept_measured(MeasuredPlan(42, 1.905, False), 0.01)), 2)
    0.95
    """
    problems = Problems()
    p = numbers(np.ravel(np.asarray(faulty, dtype=np.float64)), "faulty", problems, low=1e-12, high=1 - 1e-12)
    number(plan.n, "plan.n", problems, low=1 if plan.known_sd else 2, whole=True)
    number(plan.k, "plan.k", problems)
    problems.raise_errors()
    z, root = -special.ndtri(p), math.sqrt(plan.n)
    if plan.known_sd:
        chance = special.ndtr(root * (z - plan.k))
    else:
        chance = np.array([1 - noncentral_t_below(root * plan.k, plan.n - 1, root * v) for v in z.tolist()])
    return np.asarray(chance, dtype=np.float64).reshape(np.shape(faulty))


def judge_measured(
    readings: ArrayLike,
    plan: MeasuredPlan,
    *,
    lower: float | None = None,
    upper: float | None = None,
    sd: float | None = None,
) -> Judgement:
    """Judge a lot by its measured sample.

    Equation: accepted where (mean - L)/s >= k and (U - mean)/s >= k, for the limits given.
    Takes:
        readings [any one unit]: the sample, as many as the plan says.
        plan [a MeasuredPlan]: n units and k standard deviations.
        lower [as readings]: lower limit, or None.
        upper [as readings]: upper limit, or None; at least one.
        sd [as readings]: the known process standard deviation, where the plan has one.
    Gives: a Judgement.
    Range: normal readings. For two limits each side is judged by itself; ``sure`` is False where the limits are less
        than 2 k + 1 standard deviations apart (our rule), since both tails then matter together.
    Source: ISO 3951-1, form 1 (k method).

    >>> judge_measured([9.8, 10.1, 10.0, 9.9], MeasuredPlan(4, 1.5, False), upper=10.5).accepted
    True
    """
    problems = Problems()
    x = numbers(readings, "readings", problems, at_least=1, vary=not plan.known_sd)
    limits(lower, upper, "limits", problems)
    if x.size != plan.n:
        problems.error("readings", f"{x.size} readings", expected=f"{plan.n}, as the plan says")
    if plan.known_sd != (sd is not None):
        problems.error("sd", "the plan and the standard deviation do not agree", hint="a known-sd plan needs it")
    elif sd is not None:
        number(sd, "sd", problems, above=0.0)
    problems.raise_errors()
    spread = sd if sd is not None else float(x.std(ddof=1))
    mean = float(x.mean())
    below = None if lower is None else (mean - lower) / spread
    above = None if upper is None else (upper - mean) / spread
    accepted = all(d >= plan.k for d in (below, above) if d is not None)
    sure = below is None or above is None or below + above >= 2 * plan.k + 1 or not accepted
    return Judgement(accepted, below, above, plan.k, sure)
