"""What does the whole season cost? The cost of one times the units, by part, and the money of every month.

By part it is the cost of one over all units that are aimed at. By month people are paid on the days on which they come,
the harvest when it is delivered, all of it, and everything else goes with what is finished. So the months add up to the
parts and what is delivered and not used.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import date, timedelta

import numpy as np

from linewright.base.results import Shown, Table
from linewright.cost.model import Cost, Parts
from linewright.flow.model import Flow
from linewright.network.model import Network
from linewright.season import Season


@dataclass(frozen=True, slots=True)
class Month:
    """One month of a season: working days, money for people, for the harvest delivered, for the rest; units made."""

    month: str
    working_days: int
    people: float
    harvest: float
    rest: float
    finished: tuple[float, ...]

    @property
    def total(self) -> float:
        """All money of the month."""
        return self.people + self.harvest + self.rest


@dataclass(frozen=True, slots=True)
class SeasonCost(Shown):
    """The money of a horizon, for all that is aimed at.

    ``units`` [n_products] are over the horizon, ``of_one`` the cost of one of each. ``parts`` pairs each part of the
    cost with its money in all; they add up to ``total``, which is the sum of units x the cost of one. ``unused`` is
    what the harvest cost that is delivered and not used; ``spent`` is both, and the sum of the ``months``.
    """

    money: str
    products: tuple[str, ...]
    unit: tuple[str, ...]
    units: tuple[float, ...]
    of_one: tuple[float, ...]
    parts: tuple[tuple[str, float], ...]
    unused: float
    months: tuple[Month, ...]

    @property
    def total(self) -> float:
        """Units times the cost of one, over all products."""
        return sum(n * each for n, each in zip(self.units, self.of_one, strict=True))

    @property
    def spent(self) -> float:
        """All of the money, the harvest that is not used as well."""
        return self.total + self.unused

    def to_table(self) -> Table:
        """The parts of the season's money, in all and for one unit sold."""
        sold = sum(self.units)
        one = f"for one {self.unit[0]} [{self.money}]" if len(set(self.unit)) == 1 else f"for one unit [{self.money}]"
        rows: list[tuple[object, ...]] = [
            (name, round(money), round(money / sold, 4) if sold > 0 else None)
            for name, money in self.parts
            if abs(money) >= 0.5
        ]
        rows.append(("all that is finished", round(self.total), round(self.total / sold, 4) if sold > 0 else None))
        if self.unused >= 0.5:
            rows.append(("harvest delivered and not used", round(self.unused), None))
            rows.append(("spent in all", round(self.spent), round(self.spent / sold, 4) if sold > 0 else None))
        note = "For all that is aimed at. People are paid on every working day of the horizon, idle weeks too."
        return Table("What the season costs", ("part", f"in all [{self.money}]", one), tuple(rows), note)

    def month_table(self) -> Table:
        """The money of every month."""
        rows = tuple(
            (m.month, m.working_days, round(m.people), round(m.harvest), round(m.rest), round(m.total),
             *(round(units) for units in m.finished))
            for m in self.months
        )  # fmt: skip
        columns = ("month", "working days", "people", "harvest", "the rest", f"in all [{self.money}]",
                   *(f"{name} finished" for name in self.products))  # fmt: skip
        note = "People by the days they come, the harvest as it is delivered, the rest by what the balance finishes."
        return Table("The season's money by month", columns, rows, note)


def season_cost(network: Network, flow: Flow, cost: Cost, season: Season) -> SeasonCost:
    """The money of a season. ``network`` and ``flow`` are of an average day of its horizon."""
    horizon = network.season
    assert horizon is not None
    units = tuple(p.per_day * horizon.working_days for p in cost.products)
    names = [f.name for f in fields(Parts)]
    parts = tuple(
        (name.replace("_", " "), sum(getattr(p.parts, name) * n for p, n in zip(cost.products, units, strict=True)))
        for name in names
    )
    total = sum(p.total * n for p, n in zip(cost.products, units, strict=True))
    n_items = len(network.items.ids)
    price = np.nan_to_num(network.items.buy)
    came = horizon.arrivals(n_items)
    used = np.minimum(flow.used * horizon.working_days, came.sum(axis=0))
    unused = float(((came.sum(axis=0) - used) * price).sum())
    people_a_day = sum(c.paid for c in cost.crews)
    people = people_a_day * horizon.working_days
    rest = total - people - float((used * price).sum())
    days = [horizon.day(d) for d in range(horizon.days)]
    month_of = np.array([d.year * 12 + d.month - 1 for d in days])
    finished = _by_month(season, len(cost.products))
    worth = np.array([p.total for p in cost.products])  # so that kegs and cases can be added
    made = sum(float(v @ worth) for v in finished.values())
    found = []
    for number in dict.fromkeys(month_of.tolist()):
        here = month_of == number
        working = int(horizon.works[here].sum())
        units_here = finished.get(number, np.zeros(len(cost.products)))
        share = float(units_here @ worth) / made if made > 0 else working / horizon.working_days
        found.append(
            Month(
                f"{number // 12}-{number % 12 + 1:02}", working, people_a_day * working,
                float((came[here].sum(axis=0) * price).sum()), rest * share, tuple(float(v) for v in units_here),
            )
        )  # fmt: skip
    return SeasonCost(
        money=cost.money,
        products=tuple(p.item for p in cost.products),
        unit=tuple(p.unit for p in cost.products),
        units=units,
        of_one=tuple(p.total for p in cost.products),
        parts=parts,
        unused=unused,
        months=tuple(found),
    )


def _by_month(season: Season, n: int) -> dict[int, np.ndarray]:
    """Units finished by month, each week in the month of its last day within the horizon, for work ends a week."""
    found: dict[int, np.ndarray] = {}
    last = date.fromisoformat(season.ends)
    for monday, units in zip(season.balance.mondays, season.balance.finished, strict=True):
        day = min(date.fromisoformat(monday) + timedelta(days=6), last)
        found.setdefault(day.year * 12 + day.month - 1, np.zeros(n))
        found[day.year * 12 + day.month - 1] += units
    return found
