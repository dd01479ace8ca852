"""The lot that costs least where demand is even: setups against stock, with or without a pace of making.

Money and time are in any units, the same throughout: demand and pace in units a year go with stock that costs so much a
unit and year.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from linewright.base.problems import Problems


@dataclass(frozen=True, slots=True)
class LotCost:
    """What a lot costs over a year (or whatever the unit of time is): ``setups`` and ``stock``, in money."""

    lot: float
    setups: float
    stock: float

    @property
    def total(self) -> float:
        """Both."""
        return self.setups + self.stock


def economic_lot(demand: float, setup: float, holding: float, pace: float = math.inf) -> float:
    """The lot that costs least.

    Equation: Q = sqrt(2 D S / (h (1 - D / P))).
    Takes:
        demand D [units/time]: above 0.
        setup S [money]: of one setup, 0 or more.
        holding h [money/(unit and time)]: of keeping one unit, above 0.
        pace P [units/time]: at which a lot is made while demand goes on; inf where the lot comes at once. Above D.
    Gives: units, not rounded.
    Range: even demand, no shortage, one item. The cost is flat about the lot: half or twice of it costs a quarter more.
    Source: Harris, How many parts to make at once, Factory 10 (1913) 135; the pace: Taft, Iron Age 101 (1918) 1410.

    >>> round(economic_lot(1000, 2.0, 0.10 * 0.10 / 12))
    2191
    """
    problems = Problems()
    _positive(problems, demand=demand, holding=holding)
    if not (math.isfinite(setup) and setup >= 0):
        problems.error("setup", "a cost of 0 or more is needed", value=setup)
    if not pace > demand:
        problems.error("pace", "what is made more slowly than it is used up never makes a stock", value=pace,
                       expected=f"above the demand of {demand:g}")  # fmt: skip
    problems.raise_errors()
    return math.sqrt(2 * demand * setup / (holding * (1 - demand / pace)))


def lot_cost(lot: float, demand: float, setup: float, holding: float, pace: float = math.inf) -> LotCost:
    """What a lot of any size costs: the curve whose lowest point is ``economic_lot``.

    Equation: D S / Q, and h Q (1 - D / P) / 2.
    Takes:
        lot Q [units]: above 0.
        demand, setup, holding, pace: as for ``economic_lot``.
    Gives: a LotCost, money for each unit of time.
    Range: as ``economic_lot``.
    Source: Harris (1913), Taft (1918).

    >>> lot_cost(500, 10_000, 25.0, 2.0)
    LotCost(lot=500, setups=500.0, stock=500.0)
    """
    problems = Problems()
    _positive(problems, lot=lot)
    problems.raise_errors()
    economic_lot(demand, setup, holding, pace)  # names what is wrong with the rest
    return LotCost(lot, demand * setup / lot, holding * lot * (1 - demand / pace) / 2)


def _positive(problems: Problems, **values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            problems.error(name, "a number above 0 is needed", value=value)
