"""The material balance of a plan: what goes in, what comes out, and how often each operation runs.

All amounts are for one working day in which the demand is met exactly, in the units of ``network.items`` (kg, L, m, m2
or the item's count noun). Arrays follow the order of the network's tables; ``per_unit`` gives one demanded unit's part.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from linewright.base.problems import Problem
from linewright.base.results import Honesty, Provenance, Shown, Table
from linewright.network.model import Floats, Links


@dataclass(frozen=True, slots=True)
class Scrap:
    """Pieces scrapped at an operation for one reason (a fault's name, "yield", "ullage", "start-up", "false alarm") a
    day.

    ``operation`` is an index; ``kg`` is their mass, nan where it is unknown.
    """

    operation: int
    reason: str
    pieces: float
    kg: float


@dataclass(frozen=True, slots=True)
class Escape:
    """The share of units of ``item`` (index) that reach their user or customer with ``fault`` (index) in them."""

    item: int
    fault: int
    share: float


@dataclass(frozen=True, slots=True)
class Flow(Shown):
    """Amounts for one working day at the demand.

    Operations [n_operations]: ``runs`` pieces worked on, passes by rework included (a load of 12 is 12);
    ``first_runs`` without repeated passes; ``cycles`` runs divided by the full load; ``mass_in`` and ``mass_out`` kg
    (nan where a mass is unknown). Routes [n_routes]: ``started`` pieces; ``finished`` units of the route's item;
    ``mix`` the route's share of its item; ``rolled_yield`` the probability that a piece goes through right first time.
    Items [n_items]: ``delivered`` (the demand), ``bought``, ``made``, ``used``, ``sold`` (surplus with a price),
    ``disposed`` (surplus with a charge), ``left_over`` (surplus with neither), ``seconds`` (part of made),
    ``going_round`` (part of used: what returns to the loop it came from); delivered + used + sold + disposed +
    left_over = bought + made. ``item_use`` [n_items rows] lists (operation, units) of every use, choices included.
    ``lost`` [n_losses] kg. ``choice_mix[k]`` is the mix of ``network.choices[k]``, shares that add to 1;
    ``filled`` [n_choices] how often it is filled.
    """

    operations: tuple[str, ...]
    routes: tuple[str, ...]
    items: tuple[str, ...]
    units: tuple[str, ...]
    losses: tuple[str, ...]
    faults: tuple[str, ...]
    runs: Floats
    first_runs: Floats
    cycles: Floats
    mass_in: Floats
    mass_out: Floats
    started: Floats
    finished: Floats
    mix: Floats
    rolled_yield: Floats
    delivered: Floats
    bought: Floats
    made: Floats
    used: Floats
    sold: Floats
    disposed: Floats
    left_over: Floats
    seconds: Floats
    going_round: Floats
    item_use: Links
    lost: Floats
    scrap: tuple[Scrap, ...]
    escapes: tuple[Escape, ...]
    choice_mix: tuple[tuple[float, ...], ...]
    filled: Floats
    provenance: Provenance
    honesty: Honesty
    problems: tuple[Problem, ...] = ()
    notes: tuple[str, ...] = field(default=())

    @property
    def demand(self) -> float:
        """Units demanded a working day, all demanded items together."""
        return float(self.delivered.sum())

    def per_unit(self, amounts: Floats) -> Floats:
        """Amounts for one demanded unit: ``per_unit(flow.runs)`` is runs of every operation for one finished product.

        Where several items are demanded the unit is one of them in the proportions of the demand.
        """
        return np.asarray(amounts / self.demand, dtype=np.float64)

    def scrapped(self) -> Floats:
        """Pieces scrapped at every operation [n_operations], all reasons together."""
        out = np.zeros(len(self.operations))
        for scrap in self.scrap:
            out[scrap.operation] += scrap.pieces
        return out

    def to_table(self) -> Table:
        """One row an item: what goes in and out in a working day."""
        columns = (
            "item", "unit", "bought", "made", "used", "delivered", "sold", "disposed", "left over", "going round",
        )  # fmt: skip
        parts = (
            self.bought, self.made, self.used, self.delivered, self.sold, self.disposed, self.left_over,
            self.going_round,
        )  # fmt: skip
        rows = tuple(
            (name, unit, *(float(part[i]) for part in parts))
            for i, (name, unit) in enumerate(zip(self.items, self.units, strict=True))
        )
        return Table("What goes in and out, for one working day", columns, rows)
