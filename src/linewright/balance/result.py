"""What a balance says: who does what, how good it is by the textbook measures, and how far it is proved."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from linewright.base.results import Honesty, Provenance, Shown, Table, plain

PROVED, STOPPED, IMPOSSIBLE, UNKNOWN = "proved", "stopped", "impossible", "unknown"


@dataclass(frozen=True, slots=True)
class Station:
    """One station: its tasks in the order in which they can be done, and its load per copy in the unit of the line."""

    number: int
    tasks: tuple[str, ...]
    load: float
    copies: int = 1
    crew: str = ""
    people: int = 1


@dataclass(frozen=True, slots=True)
class Placed:
    """Where several people work at one station: who of them does a task, and when it starts after the takt's begin."""

    task: str
    person: int
    start: float


@dataclass(frozen=True)
class Balance(Shown):
    """A line shared over stations.

    ``goal`` says what was asked ("fewest", "fastest", "smoothest", "cheapest"); ``takt`` is the time that a station
    has, in ``unit``. ``honesty.bound`` is the bound of what the goal counts: stations, takt, sum of squared loads, or
    cost per hour; ``honesty.gap`` is (found - bound) / bound. With status "impossible" it is proved that there is no
    balance; with "unknown" none was found in time. In both cases ``stations`` is empty and the measures are None.
    """

    goal: str
    takt: float | None
    unit: str
    stations: tuple[Station, ...]
    honesty: Honesty
    provenance: Provenance
    moved: tuple[str, ...] = ()
    cost: float | None = None
    schedule: tuple[Placed, ...] = ()

    @property
    def count(self) -> int:
        """Stations of the line, copies counted."""
        return sum(s.copies for s in self.stations)

    @property
    def work(self) -> float:
        """All work on one piece, in ``unit``."""
        return math.fsum(s.load * s.copies for s in self.stations)

    @property
    def efficiency(self) -> float | None:
        """Work over the time that the line offers: sum of times / (stations x people x takt)."""
        offered = sum(s.copies * s.people for s in self.stations) * (self.takt or 0.0)
        return self.work / offered if offered > 0 else None

    @property
    def balance_delay(self) -> float | None:
        """The share of the time offered that is idle: 1 - efficiency (Kilbridge and Wester 1961)."""
        return None if self.efficiency is None else max(0.0, 1.0 - self.efficiency)

    @property
    def smoothness_index(self) -> float | None:
        """Root of the sum of squared shortfalls from the greatest load, in ``unit`` (Moodie and Young 1965)."""
        if not self.stations:
            return None
        loads = [s.load for s in self.stations for _ in range(s.copies)]
        return math.sqrt(math.fsum((max(loads) - load) ** 2 for load in loads))

    @property
    def longest(self) -> float | None:
        """The greatest load of a station: the takt that this sharing could really keep, without variation."""
        return max((s.load for s in self.stations), default=None)

    @property
    def station_of(self) -> dict[str, int]:
        """Task name to station number."""
        return {task: s.number for s in self.stations for task in s.tasks}

    def table(self) -> Table:
        """One row a station: tasks, load, idle time, share of the takt."""
        unit = f" ({self.unit})" if self.unit else ""
        takt = self.takt or 0.0
        rows = tuple(
            (s.number, ", ".join(s.tasks), s.load, takt - s.load, 100 * s.load / takt if takt else None, s.copies)
            for s in self.stations
        )
        columns = ("station", "tasks", f"load{unit}", f"idle{unit}", "of takt (%)", "copies")
        return Table("Who does what", columns, rows, self.sentence)

    @property
    def sentence(self) -> str:
        """The answer in one line."""
        unit = f" {self.unit}" if self.unit else ""
        if not self.stations:
            return {
                IMPOSSIBLE: "There is no such balance: this is proved.",
            }.get(self.honesty.status, "No balance was found in the time given; that proves nothing.")
        said = f"{self.count} stations at a takt of {self.takt:g}{unit}"
        if self.honesty.status == PROVED:
            return f"{said}, proved best."
        if self.honesty.bound is None:
            return f"{said}, the best found; no bound is known."
        return f"{said}, the best found; the bound is {self.honesty.bound:g}."

    def to_dict(self) -> dict[str, Any]:
        """All fields and measures, ready for JSON."""
        measures = {
            name: getattr(self, name)
            for name in ("count", "work", "efficiency", "balance_delay", "smoothness_index", "longest")
        }
        return {**plain(self), **plain(measures)}

    def to_table(self) -> Table:
        """The same as ``table``."""
        return self.table()


@dataclass(frozen=True)
class Curve(Shown):
    """The trade-off between stations and takt: the fastest balance for each number of stations."""

    balances: tuple[Balance, ...]

    def table(self) -> Table:
        """One row per number of stations."""
        rows = tuple(
            (
                b.count,
                b.takt,
                b.honesty.bound,
                None if b.efficiency is None else 100 * b.efficiency,
                b.honesty.status,
            )
            for b in self.balances
        )
        return Table("Stations against takt", ("stations", "takt", "bound", "efficiency (%)", "status"), rows)

    def to_dict(self) -> dict[str, Any]:
        """All balances, ready for JSON."""
        return {"balances": [b.to_dict() for b in self.balances]}

    def to_table(self) -> Table:
        """The same as ``table``."""
        return self.table()
