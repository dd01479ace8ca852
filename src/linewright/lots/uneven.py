"""The lots that cost least where demand is uneven and known: when to set up, and for how many periods to make.

Solved exactly: a lot is made only when nothing is left, so that it covers whole periods, and the best last setup of
every beginning is found in turn.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from linewright.base.problems import Problems


@dataclass(frozen=True, slots=True)
class LotPlan:
    """``lots`` [n_periods] units made in each period (0: none), and what they ``cost``.

    ``least`` [n_periods] is the cost of the best plan for the periods up to each.
    """

    lots: tuple[float, ...]
    cost: float
    least: tuple[float, ...]


def least_cost_lots(
    demand: Sequence[float], setup: float | Sequence[float], holding: float | Sequence[float]
) -> LotPlan:
    """The lots that cost least.

    Equation: F(t) = min over j <= t of F(j - 1) + S_j + sum over k from j to t of d_k (h_j + ... + h_(k-1)), F(0) = 0.
    Takes:
        demand d [units], one a period: 0 or more, known, met in its period.
        setup S [money]: of one setup; one number, or one a period. 0 or more.
        holding h [money/unit]: of keeping one unit from a period to the next; one number, or one a period. 0 or more.
    Gives: a LotPlan; of plans that cost the same the one with the later setup.
    Range: no limit on a lot, nothing at hand at the beginning.
    Source: Wagner and Whitin, Dynamic version of the economic lot size model, Management Science 5 (1958) 89.

    >>> least_cost_lots([20, 50, 10, 50], 30.0, 1.0).lots
    (20.0, 60.0, 0.0, 50.0)
    """
    problems = Problems()
    n = len(demand)
    setups, holdings = _each(setup, n, "setup", problems), _each(holding, n, "holding", problems)
    for k, wanted in enumerate(demand):
        _from_zero(wanted, f"demand[{k}]", problems)
    if n == 0:
        problems.error("demand", "there is no period", expected="one number a period")
    problems.raise_errors()
    least, begins = [0.0], [0]
    for t in range(1, n + 1):
        best, begin = math.inf, t
        kept = 0.0  # of keeping what periods j + 1 to t want, were all made in j
        wanted = 0.0
        for j in range(t, 0, -1):
            kept += holdings[j - 1] * wanted
            wanted += demand[j - 1]
            cost = least[j - 1] + (setups[j - 1] if wanted > 0 else 0.0) + kept
            if cost < best:
                best, begin = cost, j
        least.append(best)
        begins.append(begin)
    return LotPlan(_lots(demand, begins), least[-1], tuple(least[1:]))


def _lots(demand: Sequence[float], begins: Sequence[int]) -> tuple[float, ...]:
    lots = [0.0] * len(demand)
    t = len(demand)
    while t > 0:
        first = begins[t]
        lots[first - 1] = float(sum(demand[first - 1 : t]))
        t = first - 1
    return tuple(lots)


def _each(value: float | Sequence[float], n: int, name: str, problems: Problems) -> Sequence[float]:
    if isinstance(value, (int, float)):
        _from_zero(value, name, problems)
        return [float(value)] * n
    if len(value) != n:
        problems.error(name, f"these are {len(value)} numbers", expected=f"one, or one for each of {n} periods")
    for k, one in enumerate(value):
        _from_zero(one, f"{name}[{k}]", problems)
    return value


def _from_zero(value: float, name: str, problems: Problems) -> None:
    if not (math.isfinite(value) and value >= 0):
        problems.error(name, "a number of 0 or more is needed", value=value)
