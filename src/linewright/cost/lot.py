"""The lot of one route: what it is, what it costs in a year, and what would cost least."""

from __future__ import annotations

from dataclasses import dataclass

from linewright.base.results import Table
from linewright.lots import LotCost


@dataclass(frozen=True, slots=True)
class Lot:
    """Lots of one route. Money is that of the plan, ``demand`` and ``pace`` are units of the item a year.

    ``setup`` is what one changeover of all its stations costs, ``value`` of one unit as made, ``holding`` of keeping it
    a year. ``now`` is the present lot with its cost a year (where none is ``written``, what the mix lets follow each
    other), ``best`` the one that costs least, ``curve`` lots about it.
    """

    route: str
    item: str
    unit: str
    demand: float
    pace: float
    setup: float
    value: float
    holding: float
    now: LotCost
    best: LotCost
    curve: tuple[LotCost, ...]
    written: bool

    @property
    def saves(self) -> float:
        """What the best lot saves against the present one, money a year."""
        return self.now.total - self.best.total


def lots_table(lots: tuple[Lot, ...], money: str) -> Table:
    """One row a route: the present lot and the best, with what they cost a year."""
    rows = tuple((x.route, x.unit, x.setup, x.value, x.now.lot, x.now.total, x.best.lot, x.best.total) for x in lots)
    columns = ("route", "unit", f"a changeover [{money}]", f"value of one [{money}]", "lot now", f"a year [{money}]",
               "least-cost lot", f"a year then [{money}]")  # fmt: skip
    return Table("How many to make at once", columns, rows)
