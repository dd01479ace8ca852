"""How often to check a process that now and then goes wrong, at least cost.

Checks cost money; so do the faulty pieces made between going wrong and being found. A renewal argument gives the
cost a piece for every interval, exactly, and the least of them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from linewright.base.arrays import number, share
from linewright.base.problems import Problems
from linewright.base.results import Shown, Table

_MOST = 1_000_000


@dataclass(frozen=True)
class Drift:
    """A process that goes wrong. Costs in any one money; shares of 1.

    ``wrong_after``: mean pieces until it goes wrong. ``faulty_when_wrong``: share faulty from then on. ``finds``: the
    chance that one check sees that it is wrong. ``check_cost``: of one check. ``faulty_cost``: of one faulty piece that
    gets away. ``repair_cost``: of setting it right.
    """

    wrong_after: float
    faulty_when_wrong: float
    finds: float
    check_cost: float
    faulty_cost: float
    repair_cost: float = 0.0


@dataclass(frozen=True)
class CheckInterval(Shown):
    """The best interval in pieces, its cost a piece and the parts of it; ``near`` are other intervals with their cost.

    ``faulty``: share of all pieces that is faulty at the best interval.
    """

    every: int
    cost: float
    check_part: float
    faulty_part: float
    repair_part: float
    faulty: float
    near: tuple[tuple[int, float], ...]

    def to_table(self) -> Table:
        """Intervals around the best and their cost."""
        note = f"least at every {self.every} pieces; {self.faulty * 1e6:.0f} ppm faulty"
        return Table("How often to check", ("every [pieces]", "cost a piece"), self.near, note)


def cost_of_checking(drift: Drift, every: int) -> tuple[float, float, float, float]:
    """Cost a piece of checking every so many pieces.

    Equation: a cycle runs from right to right again. It goes wrong with chance q = 1/wrong_after before each
        piece. With a check after every n pieces, checks a cycle = 1/(1 - (1-q)^n) + (1/finds - 1), pieces = n x checks,
        pieces made wrong = pieces - (pieces made right = (1-q)/q). Cost a piece =
        (check x checks + faulty cost x share x wrong + repair)/pieces.
    Takes:
        drift [a Drift]: the process and its costs.
        every [pieces]: n, at least 1.
    Gives: cost a piece from checks, from faulty pieces, from repairs [money], and the share faulty [1].
    Range: going wrong has no memory; checks err independently; a repair makes it right at once.
    Source: renewal-reward theorem; the setting is Taguchi's on-line quality control and Duncan, JASA 51 (1956).

    >>> [round(v, 4) for v in cost_of_checking(Drift(1000.0, 0.2, 1.0, 2.0, 5.0, 20.0), 50)]
    [0.04, 0.0251, 0.0195, 0.005]
    """
    problems = Problems()
    _check(drift, problems)
    number(every, "every", problems, low=1, whole=True)
    problems.raise_errors()
    q = 1 / drift.wrong_after
    checks = 1 / -math.expm1(every * math.log1p(-q)) if q < 1 else 1.0
    checks += 1 / drift.finds - 1
    pieces = every * checks
    wrong = (pieces - (1 - q) / q) * drift.faulty_when_wrong
    return (
        drift.check_cost * checks / pieces,
        drift.faulty_cost * wrong / pieces,
        drift.repair_cost / pieces,
        wrong / pieces,
    )


def best_interval(drift: Drift) -> CheckInterval:
    """The interval between checks of least cost.

    Equation: the least n of cost_of_checking; near sqrt(2 x check cost x wrong_after / (faulty cost x share)).
    Takes:
        drift [a Drift]: the process and its costs.
    Gives: a CheckInterval.
    Range: intervals up to 1,000,000 pieces; where checking never pays, the longest is given and a problem is raised.
    Source: as cost_of_checking.

    >>> best_interval(Drift(1000.0, 0.2, 1.0, 2.0, 5.0, 20.0)).every
    65
    """
    problems = Problems()
    _check(drift, problems)
    problems.raise_errors()

    def cost(n: int) -> float:
        return sum(cost_of_checking(drift, n)[:3])

    # The cost falls, then rises; a coarse scan finds the valley and a fine one its floor
    grid = np.unique(np.round(np.geomspace(1, _MOST, 400)).astype(int))
    place = int(np.argmin([cost(int(n)) for n in grid]))
    if place == grid.size - 1:
        problems.error("drift", "checking never pays at these costs", hint="is the cost of a faulty piece complete?")
        problems.raise_errors()
    low, high = int(grid[max(0, place - 1)]), int(grid[min(grid.size - 1, place + 1)])
    while high - low > 2:
        third = (high - low) // 3
        if cost(low + third) <= cost(high - third):
            high -= third
        else:
            low += third
    best = min(range(low, high + 1), key=cost)
    check_part, faulty_part, repair_part, faulty = cost_of_checking(drift, best)
    around = sorted({max(1, round(best * f)) for f in (0.25, 0.5, 0.75, 1, 1.5, 2, 4)})
    near = tuple((n, cost(n)) for n in around)
    return CheckInterval(best, cost(best), check_part, faulty_part, repair_part, faulty, near)


def _check(drift: Drift, problems: Problems) -> None:
    number(drift.wrong_after, "drift.wrong_after", problems, low=1.0)
    share(drift.faulty_when_wrong, "drift.faulty_when_wrong", problems, ends=True)
    number(drift.finds, "drift.finds", problems, above=0.0, high=1.0)
    for name in ("check_cost", "faulty_cost", "repair_cost"):
        number(getattr(drift, name), f"drift.{name}", problems, low=0.0)
