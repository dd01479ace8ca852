"""What cost answers: what one unit costs, and of what that is made up.

Money is in the plan's currency for one unit of the product, unless a field says for each working day. Parts add up to
the total exactly; they are told in hundredths, and in finer places where one unit is so cheap that it needs them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

from linewright.base.results import Honesty, Provenance, Shown, Table
from linewright.cost.lot import Lot


@dataclass(frozen=True, slots=True)
class Parts:
    """The parts of a cost, money for one unit. Credits are negative.

    ``material`` bought items in a good unit; ``labour`` worked on a good unit; ``machine`` rates of the stations used,
    and wear of carriers; ``energy`` what the stations draw, running, holding and idle; ``setup`` labour, machine and
    material of setups, cleaning and start-up; ``scrap`` everything spent on what is not good (its material, labour,
    machine, energy and setup); ``rework`` labour, machine, energy and material of repeats; ``idle_labour`` paid and not
    worked; ``disposal`` charges for what leaves; ``by_products`` sold (negative); ``overhead``.
    """

    material: float = 0.0
    labour: float = 0.0
    machine: float = 0.0
    energy: float = 0.0
    setup: float = 0.0
    scrap: float = 0.0
    rework: float = 0.0
    idle_labour: float = 0.0
    disposal: float = 0.0
    by_products: float = 0.0
    overhead: float = 0.0

    @property
    def total(self) -> float:
        """The sum of the parts, exact in the places they are told in (rounding here only takes away float noise)."""
        return round(math.fsum(money for _, money in self.items()), 9)

    def items(self) -> tuple[tuple[str, float], ...]:
        """(name, money) of every part, in order."""
        return tuple((f.name, getattr(self, f.name)) for f in fields(self))


@dataclass(frozen=True, slots=True)
class ItemCost:
    """A bought item, by-product or waste: ``amount`` of ``unit`` and ``money`` for one product, ``price`` each.

    ``role`` is bought, sold or disposal. ``lost`` is the part of money that goes with scrap (0 for sold and disposal).
    """

    item: str
    unit: str
    role: str
    amount: float
    price: float
    money: float
    lost: float


@dataclass(frozen=True, slots=True)
class OperationCost:
    """An operation's cost for one product: ``runs`` a product, and money by labour, machine, energy, setup, material.

    Scrapped and reworked runs are included: the total over all operations is the whole cost before idle labour,
    disposal, by-products and overhead.
    """

    operation: str
    runs: float
    material: float
    labour: float
    machine: float
    energy: float
    setup: float

    @property
    def total(self) -> float:
        """All money of the operation for one product."""
        return self.material + self.labour + self.machine + self.energy + self.setup


@dataclass(frozen=True, slots=True)
class CrewCost:
    """A crew for each working day: hours worked and paid, wage, and money of both."""

    crew: str
    hours_worked: float
    hours_paid: float
    wage: float
    worked: float
    paid: float


@dataclass(frozen=True, slots=True)
class StationEnergy:
    """What a station draws from a utility: kWh for each working day ``running``, ``holding`` and ``idle``.

    ``connected`` is the kW that all its places draw at most, ``price`` money for a kWh.
    """

    station: str
    utility: str
    running: float
    holding: float
    idle: float
    connected: float
    price: float

    @property
    def total(self) -> float:
        """kWh for each working day."""
        return self.running + self.holding + self.idle

    @property
    def money(self) -> float:
        """Money for each working day."""
        return self.total * self.price


@dataclass(frozen=True, slots=True)
class ProductCost:
    """What one unit of ``item`` costs.

    ``total`` pays everyone the whole shift; ``total_worked`` counts only hours worked (idle labour left out);
    ``without_scrap`` is the total if every piece were good the first time and spared hours had other work. ``price``
    is the selling price (None: none written), ``margin`` price - total. ``share`` is this product's part of what is
    shared by direct cost. ``kwh`` is the energy that one unit takes.
    """

    item: str
    unit: str
    per_day: float
    parts: Parts
    total: float
    total_worked: float
    without_scrap: float
    price: float | None
    margin: float | None
    share: float
    by_item: tuple[ItemCost, ...]
    by_operation: tuple[OperationCost, ...]
    kwh: float = 0.0


@dataclass(frozen=True, slots=True)
class Cost(Shown):
    """What one of each demanded item costs at the demand. ``products`` are in the order of the plan's demand.

    ``per_day`` is the money of one working day for all products. ``missing`` names what has no price or wage written
    and is counted as nothing.
    """

    money: str
    products: tuple[ProductCost, ...]
    crews: tuple[CrewCost, ...]
    per_day: float
    missing: tuple[str, ...]
    assumptions: tuple[str, ...]
    honesty: Honesty
    provenance: Provenance
    energy: tuple[StationEnergy, ...] = ()
    lots: tuple[Lot, ...] = ()

    def of(self, item: str) -> ProductCost:
        """The cost of one product. Raises KeyError where it is not demanded."""
        for product in self.products:
            if product.item == item:
                return product
        raise KeyError(item)

    def to_table(self) -> Table:
        """The parts of every product's cost."""
        names = [f.name for f in fields(Parts)]
        rows = [(name.replace("_", " "), *(getattr(p.parts, name) for p in self.products)) for name in names]
        rows += [
            ("total", *(p.total for p in self.products)),
            ("of which worked", *(p.total_worked for p in self.products)),
            ("without scrap", *(p.without_scrap for p in self.products)),
        ]
        columns = ("part", *(f"{p.item} [{self.money}/{p.unit}]" for p in self.products))
        return Table("What one costs", columns, tuple(rows))

    def items_table(self, item: str) -> Table:
        """Material of one product by item."""
        rows = tuple((i.item, i.role, i.amount, i.unit, i.price, i.money, i.lost) for i in self.of(item).by_item)
        columns = ("item", "role", "amount", "unit", f"price [{self.money}]", f"money [{self.money}]", "of it lost")
        return Table(f"What goes into one {item}", columns, rows)

    def energy_table(self) -> Table:
        """Energy of every station that draws any."""
        rows = tuple(
            (e.station, e.utility, e.running, e.holding, e.idle, e.total, e.connected, e.money) for e in self.energy
        )
        columns = (
            "station", "utility", "running [kWh/day]", "holding [kWh/day]", "idle [kWh/day]", "total [kWh/day]",
            "connected [kW]", f"money [{self.money}/day]",
        )  # fmt: skip
        return Table("Energy", columns, rows)

    def operations_table(self, item: str) -> Table:
        """Cost of one product by operation."""
        rows = tuple(
            (o.operation, o.runs, o.material, o.labour, o.machine, o.energy, o.setup, o.total)
            for o in self.of(item).by_operation
        )
        unit = self.money
        columns = (
            "operation",
            "runs",
            f"material [{unit}]",
            f"labour [{unit}]",
            f"machine [{unit}]",
            f"energy [{unit}]",
            f"setup [{unit}]",
            f"total [{unit}]",
        )
        return Table(f"Where the cost of one {item} arises", columns, rows)
