"""The smallest sampling plan through two points: good lots nearly always accepted, bad lots hardly ever.

The producer names a share that should pass and the risk that it does not; the consumer a share that should not pass and
the risk that it does. The search is exact, so that both risks are kept and not only nearly.
"""

from __future__ import annotations

from functools import lru_cache

from scipy import special

from linewright.base.arrays import share
from linewright.base.problems import Problems
from linewright.quality.sampling.operating import DoublePlan, SinglePlan, accept, average_sample

_LARGEST = 1_000_000


def single_by_two_points(good: float, producer_risk: float, bad: float, consumer_risk: float) -> SinglePlan:
    """The single plan of least sample size that keeps both risks.

    Equation: least n for which some c has P(d <= c | good) >= 1 - producer_risk and P(d <= c | bad) <= consumer_risk.
    Takes:
        good [share]: share faulty that should be accepted, between 0 and 1.
        producer_risk [1]: chance that it is refused, between 0 and 1.
        bad [share]: share faulty that should be refused, above good.
        consumer_risk [1]: chance that it is accepted, between 0 and 1.
    Gives: a SinglePlan.
    Range: samples up to 1,000,000; binomial, so a little more than a small lot needs.
    Source: Guenther, J. Quality Technology 1 (1969), for the search (from memory).

    >>> single_by_two_points(0.01, 0.05, 0.06, 0.10)
    SinglePlan(n=110, c=3)
    """
    check_risks(good, producer_risk, bad, consumer_risk)
    c = 0
    while True:
        n = _least_sample(c, bad, consumer_risk)
        if float(special.bdtr(c, n, good)) >= 1 - producer_risk:
            return SinglePlan(n, c)
        c += 1


def double_by_two_points(
    good: float, producer_risk: float, bad: float, consumer_risk: float, *, ratio: int = 1
) -> DoublePlan:
    """The double plan of least average sample at the good share that keeps both risks.

    Equation: over c1 < c2 with n2 = ratio n1 and r1 = c2 + 1: the least n1 with P(accept | bad) <= consumer_risk;
        kept if P(accept | good) >= 1 - producer_risk; the least average sample at ``good`` wins.
    Takes:
        good [share]: share faulty that should be accepted, between 0 and 1.
        producer_risk [1]: chance that it is refused, between 0 and 1.
        bad [share]: share faulty that should be refused, above good.
        consumer_risk [1]: chance that it is accepted, between 0 and 1.
        ratio [1]: second sample over the first, 1 or 2.
    Gives: a DoublePlan.
    Range: acceptance numbers up to two above the single plan's; first samples up to 1,000,000.
    Source: the usual family of double plans (ISO 2859-1 has n2 = n1); the search is our own.

    >>> double_by_two_points(0.01, 0.05, 0.06, 0.10)
    DoublePlan(n1=67, c1=1, r1=4, n2=67, c2=3)
    """
    check_risks(good, producer_risk, bad, consumer_risk)
    problems = Problems()
    if ratio not in (1, 2):
        problems.error("ratio", "not a usual ratio", value=ratio, expected="1 or 2")
    problems.raise_errors()
    single = single_by_two_points(good, producer_risk, bad, consumer_risk)
    found: list[tuple[float, DoublePlan]] = []
    for c2 in range(1, single.c + 3):
        for c1 in range(c2):
            plan = _least_double(c1, c2, ratio, bad, consumer_risk, single.n)
            if plan is not None and float(accept(plan, good)) >= 1 - producer_risk:
                found.append((float(average_sample(plan, good)), plan))
    if not found:
        problems.error("ratio", "no double plan near the single one keeps both risks", hint=f"use {single}")
        problems.raise_errors()
    return min(found, key=lambda pair: pair[0])[1]


@lru_cache(maxsize=4096)
def _least_sample(c: int, bad: float, risk: float) -> int:
    """The least n with P(d <= c | bad) <= risk: it falls as n grows."""
    low, high = c, c + 1
    while float(special.bdtr(c, high, bad)) > risk:
        low, high = high, 2 * high
        if high > _LARGEST:
            problems = Problems()
            problems.error("bad", f"the sample would exceed {_LARGEST:,}", hint="the two shares are too near")
            problems.raise_errors()
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if float(special.bdtr(c, middle, bad)) <= risk else (middle, high)
    return high


def _least_double(c1: int, c2: int, ratio: int, bad: float, risk: float, most: int) -> DoublePlan | None:
    def plan(n: int) -> DoublePlan:
        return DoublePlan(n, c1, c2 + 1, ratio * n, c2)

    low, high = c2, max(most, c2 + 1)
    if float(accept(plan(high), bad)) > risk:
        return None  # a first sample above the single plan's saves nothing
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if float(accept(plan(middle), bad)) <= risk else (middle, high)
    return plan(high)


def check_risks(good: float, producer_risk: float, bad: float, consumer_risk: float) -> None:
    """Check the two points of a plan: shares and risks in range, good below bad, risks that do not cross.

    Equation: none.
    Takes:
        good [share]: between 0 and 1.
        producer_risk [1]: between 0 and 1.
        bad [share]: above good, below 1.
        consumer_risk [1]: between 0 and 1; the two risks add to less than 1.
    Gives: nothing.
    Range: as said.
    Source: none.

    >>> check_risks(0.01, 0.05, 0.06, 0.1)
    """
    problems = Problems()
    for name, value in (
        ("good", good),
        ("producer_risk", producer_risk),
        ("bad", bad),
        ("consumer_risk", consumer_risk),
    ):
        share(value, name, problems)
    if good >= bad:
        problems.error("bad", "the shares are reversed", value=f"good {good:g}, bad {bad:g}", expected="bad above good")
    if producer_risk + consumer_risk >= 1:
        problems.error("consumer_risk", "the two risks add to 1 or more", value=producer_risk + consumer_risk)
    problems.raise_errors()
