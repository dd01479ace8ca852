"""What a sampling plan lets through: chance of acceptance, average sample, average outgoing share and inspection.

A plan does not make a lot good. It accepts lots with a chance that falls as the share faulty rises, and the curve of
that chance is the plan.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize, stats

from linewright.base.arrays import numbers
from linewright.base.problems import Problems
from linewright.base.results import Shown, Table

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class SinglePlan:
    """Look at ``n`` units; accept the lot with at most ``c`` faulty."""

    n: int
    c: int

    @property
    def refuse(self) -> int:
        """Faulty units at which the lot is refused."""
        return self.c + 1


@dataclass(frozen=True)
class DoublePlan:
    """Look at ``n1``: accept at ``c1`` or fewer, refuse at ``r1`` or more; else look at ``n2`` more and accept at
    ``c2`` or fewer in both together.
    """

    n1: int
    c1: int
    r1: int
    n2: int
    c2: int


Plan = SinglePlan | DoublePlan


@dataclass(frozen=True)
class Curve(Shown):
    """A plan's curves over the share faulty. ``outgoing`` and ``inspected`` need a lot size; else they are empty.

    ``outgoing``: average share faulty after refused lots are sorted whole and what is found is replaced by good.
    ``inspected``: average units inspected a lot, sorting included. ``sampled``: average sample.
    """

    plan: Plan
    lot: int | None
    faulty: tuple[float, ...]
    accepted: tuple[float, ...]
    sampled: tuple[float, ...]
    outgoing: tuple[float, ...]
    inspected: tuple[float, ...]

    def to_table(self) -> Table:
        """One row a share faulty."""
        blank = [None] * len(self.faulty)
        rows = zip(
            self.faulty, self.accepted, self.sampled, self.outgoing or blank, self.inspected or blank, strict=True
        )
        columns = ("share faulty", "chance of acceptance", "average sample", "average outgoing", "average inspected")
        return Table("Sampling plan", columns, tuple(rows))


def accept(plan: Plan, faulty: ArrayLike, lot: int | None = None) -> Floats:
    """Chance that a lot is accepted.

    Equation: single: P(d <= c); double: P(d1 <= c1) + sum over c1 < d1 < r1 of P(d1) P(d2 <= c2 - d1). Binomial, or
        hypergeometric for a lot of stated size.
    Takes:
        plan [a SinglePlan or DoublePlan]: numbers of units.
        faulty [share]: share faulty, from 0 to 1, one or many; for a stated lot the nearest whole number of units.
        lot [units]: lot size, or None for a long run of production.
    Gives: chances [1], one for each share.
    Range: a random sample, every look right.
    Source: definition; ISO 2859-1, operating characteristic curves.

    >>> [round(float(v), 4) for v in accept(SinglePlan(89, 2), [0.01, 0.05])]
    [0.9397, 0.1721]
    """
    p = _checked(plan, faulty, lot)
    if isinstance(plan, SinglePlan):
        return np.asarray(_count(plan.n, p, lot).cdf(plan.c), dtype=np.float64)
    first = _count(plan.n1, p, lot)
    total = np.asarray(first.cdf(plan.c1), dtype=np.float64)
    for d in range(plan.c1 + 1, plan.r1):
        left = p if lot is None else np.maximum(0.0, np.round(p * lot) - d) / max(1, lot - plan.n1)
        second = _count(plan.n2, left, None if lot is None else lot - plan.n1)
        total = total + first.pmf(d) * second.cdf(plan.c2 - d)
    return total


def average_sample(plan: Plan, faulty: ArrayLike, lot: int | None = None) -> Floats:
    """Average number of units looked at before a decision (no curtailment).

    Equation: single: n; double: n1 + n2 P(c1 < d1 < r1).
    Takes:
        plan [a SinglePlan or DoublePlan]: numbers of units.
        faulty [share]: from 0 to 1, one or many.
        lot [units]: lot size, or None.
    Gives: units, one number for each share.
    Range: as accept.
    Source: definition.

    >>> round(float(average_sample(DoublePlan(50, 1, 4, 100, 3), 0.03)), 1)
    88.2
    """
    p = _checked(plan, faulty, lot)
    if isinstance(plan, SinglePlan):
        return np.full(p.shape, float(plan.n))
    first = _count(plan.n1, p, lot)
    return np.asarray(plan.n1 + plan.n2 * (first.cdf(plan.r1 - 1) - first.cdf(plan.c1)), dtype=np.float64)


def operating_curve(plan: Plan, faulty: ArrayLike | None = None, lot: int | None = None) -> Curve:
    """The plan's curves, for a table or a picture.

    Equation: as accept and average_sample; sorted refused lots: AOQ = Pa p (N - n)/N, ATI = ASN + (1 - Pa)(N - n),
        for double plans with n the sample at which the lot was accepted.
    Takes:
        plan [a SinglePlan or DoublePlan]: numbers of units.
        faulty [share]: shares to show; default 61 from 0 to where hardly a lot is accepted.
        lot [units]: lot size N; with it come outgoing and inspected.
    Gives: a Curve.
    Range: as accept; sorting finds every faulty unit and replaces it by a good one.
    Source: Dodge and Romig, Sampling Inspection Tables, 1959; Montgomery, on rectifying inspection (from memory).

    >>> curve = operating_curve(SinglePlan(89, 2), [0.01], lot=10_000)
    >>> round(curve.outgoing[0], 4), round(curve.inspected[0])
    (0.0093, 687)
    """
    p = np.linspace(0, _nearly_never(plan), 61) if faulty is None else np.atleast_1d(_checked(plan, faulty, lot))
    chance = accept(plan, p)
    sampled = average_sample(plan, p)
    outgoing: Floats = np.empty(0)
    inspected: Floats = np.empty(0)
    if lot is not None:
        _checked(plan, p, lot)
        at_first = _count(plan.n1, p, None).cdf(plan.c1) if isinstance(plan, DoublePlan) else chance
        n_first = plan.n1 if isinstance(plan, DoublePlan) else plan.n
        n_all = plan.n1 + plan.n2 if isinstance(plan, DoublePlan) else plan.n
        passed = at_first * (lot - n_first) + (chance - at_first) * (lot - n_all)  # units never looked at
        outgoing, inspected = p * passed / lot, lot - passed
    rows = (tuple(np.asarray(v, dtype=np.float64).tolist()) for v in (p, chance, sampled, outgoing, inspected))
    return Curve(plan, lot, *rows)


def worst_outgoing(plan: SinglePlan, lot: int) -> tuple[float, float]:
    """The worst average outgoing share (AOQL), and the incoming share at which it comes.

    Equation: the maximum over p of Pa(p) p (N - n)/N.
    Takes:
        plan [a SinglePlan]: numbers of units.
        lot [units]: lot size N, above the sample.
    Gives: worst outgoing share and incoming share [1].
    Range: as operating_curve.
    Source: Dodge and Romig (1959).

    >>> [round(v, 4) for v in worst_outgoing(SinglePlan(89, 2), 10_000)]
    [0.0152, 0.0253]
    """
    _checked(plan, 0.5, lot)

    def minus(p: float) -> float:
        return -float(accept(plan, p)) * p * (lot - plan.n) / lot

    grid = np.linspace(0, 1, 2001)
    best = int(np.argmin([minus(float(p)) for p in grid[:: max(1, 2000 // 400)]])) * max(1, 2000 // 400)
    low, high = grid[max(0, best - 5)], grid[min(2000, best + 5)]
    found = optimize.minimize_scalar(minus, bounds=(float(low), float(high)), method="bounded", options={"xatol": 1e-9})
    return -float(found.fun), float(found.x)


def _count(n: int, p: Floats, lot: int | None) -> Any:
    """The law of faulty units in a sample."""
    if lot is None:
        return stats.binom(n, p)
    return stats.hypergeom(lot, np.round(p * lot).astype(int), n)


def _nearly_never(plan: Plan) -> float:
    return float(optimize.brentq(lambda p: float(accept(plan, p)) - 0.005, 0.0, 1.0))


def _checked(plan: Plan, faulty: ArrayLike, lot: int | None) -> Floats:
    problems = Problems()
    p = numbers(np.ravel(np.asarray(faulty, dtype=np.float64)), "faulty", problems, low=0.0, high=1.0)
    size = plan.n if isinstance(plan, SinglePlan) else plan.n1 + plan.n2
    if isinstance(plan, SinglePlan):
        if plan.n < 1 or not 0 <= plan.c < plan.n:
            problems.error("plan", "no such plan", value=str(plan), expected="n of at least 1, c from 0 below n")
    elif plan.n1 < 1 or plan.n2 < 1 or not 0 <= plan.c1 < plan.r1 - 1 <= plan.c2:
        problems.error("plan", "no such plan", value=str(plan), expected="c1 below r1 - 1, and c2 at least r1 - 1")
    if lot is not None and lot < size:
        problems.error("lot", "the lot is smaller than the sample", value=lot, expected=f"at least {size}")
    problems.raise_errors()
    return p.reshape(np.shape(faulty))
