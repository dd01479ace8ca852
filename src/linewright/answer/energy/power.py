"""How much energy does the plant draw in a day and for one, how much is connected, and what is the peak?

Energy is that of the averages at the demand. The peak is the greatest mean of a quarter of an hour on the one simulated
day that is kept event by event: meters for large users count quarters of an hour in many countries (common practice, no
source).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from linewright.answer.day import attended, loads_of_day
from linewright.answer.simulated import Day
from linewright.base.calendar import HOUR
from linewright.base.results import Table
from linewright.cost.model import Cost, StationEnergy
from linewright.network.lending import able_to
from linewright.network.model import Floats, Network

QUARTER = HOUR // 4


@dataclass(frozen=True, slots=True)
class Power:
    """Energy of a plan whose stations say what they draw.

    ``per_unit`` lists (item, unit, kWh for one); ``connected`` kW were everything to run at once; ``mean`` kW over the
    ``hours`` a day in which anybody works. ``peak`` kW on the simulated day (None: not simulated).
    """

    stations: tuple[StationEnergy, ...]
    per_unit: tuple[tuple[str, str, float], ...]
    hours: float
    peak: float | None = None

    @property
    def total(self) -> float:
        """kWh for each working day."""
        return sum(station.total for station in self.stations)

    @property
    def idle(self) -> float:
        """kWh for each working day that are drawn by what neither works nor stands."""
        return sum(station.idle for station in self.stations)

    @property
    def connected(self) -> float:
        """The most that all stations together can draw, kW."""
        return sum(station.connected for station in self.stations)

    @property
    def mean(self) -> float:
        """kW over the open hours, were all of it drawn in them."""
        return self.total / self.hours

    def to_table(self) -> Table:
        """Energy by station, the greatest first."""
        rows = sorted(self.stations, key=lambda s: -s.total)
        columns = ("station", "running [kWh/day]", "holding [kWh/day]", "idle [kWh/day]", "all [kWh/day]",
                   "connected [kW]")  # fmt: skip
        cells = tuple((s.station, s.running, s.holding, s.idle, s.total, s.connected) for s in rows)
        return Table("Energy by station", columns, cells)


def power_of(cost: Cost, hours: float) -> Power | None:
    """What a plan draws; None where no station says so. ``hours`` are the open hours of a working day."""
    if not cost.energy:
        return None
    return Power(cost.energy, tuple((p.item, p.unit, p.kwh) for p in cost.products), hours)


def peak_of(day: Day, network: Network) -> float:
    """The greatest mean of a quarter of an hour on the day, kW."""
    quarters = np.zeros((day.end - day.begin) // QUARTER)
    edges = day.begin + QUARTER * np.arange(len(quarters) + 1)
    spare = network.stations.places.astype(np.float64)[:, None] * _open(network, edges)
    for station, begin, end, kw in _drawn(day, network):
        inside = np.clip(np.minimum(end, edges[1:]) - np.maximum(begin, edges[:-1]), 0, None) / QUARTER
        quarters += inside * kw
        spare[station] -= inside
    quarters += network.stations.idle @ np.maximum(spare, 0.0)
    return float(quarters.max())


def _drawn(day: Day, network: Network) -> Iterator[tuple[int, int, int, float]]:
    """Station, from, to and kW of everything that runs or stands on the day.

    An operation with a time and a stand runs for its mean time first.
    """
    rows, table = network.operations, network.stations
    stations = {name: k for k, name in enumerate(table.ids)}
    numbers = {name: k for k, name in enumerate(rows.ids)}
    for run in loads_of_day(day, network):
        s, o = stations[run.station], numbers[run.what]
        standing = float(rows.stand.mean[o]) > 0
        works = run.since + int(rows.time.mean[o] + rows.each[o] * rows.load_most[o]) if standing else run.end
        for begin, end in attended(run, network):
            if begin < works:
                yield s, begin, min(end, works), float(table.running[s])
            if end > works:
                yield s, max(begin, works), end, float(table.holding[s])


def _open(network: Network, edges: np.ndarray) -> Floats:
    """[n_stations, n_quarters] 1 where people who work at a station are in, or where it needs nobody and is open."""
    rows, table = network.operations, network.stations
    found = np.zeros((len(table.ids), len(edges) - 1))
    for s in range(len(table.ids)):
        operations = [o for o in range(len(rows.ids)) if s in rows.stations.row(o)[0]]
        crews = {int(c) for o in operations for c in rows.crews.row(o)[0]}
        calendars = [able_to(network, c) for c in sorted(crews)]
        if table.calendar[s] >= 0:
            calendars = [network.calendars[int(table.calendar[s])]]
        for k, at in enumerate(edges[:-1].tolist()):
            found[s, k] = float(not calendars or any(c.at_time(at) > 0 for c in calendars))
    return found
