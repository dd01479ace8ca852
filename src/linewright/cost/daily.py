"""What a working day costs at every operation: material, labour worked, machines, and setup with cleaning and start-up.

Prices are those of the plan; what has none counts as nothing and is named. Labour is hours worked x wage: the idle part
of paid time is added by crew, not by operation.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from linewright.base.calendar import HOUR
from linewright.capacity.loads import Loads, care_hours, loads
from linewright.capacity.model import Capacity
from linewright.capacity.segments import Segments, segments
from linewright.cost.energy import energy_day, lost_hours
from linewright.cost.model import StationEnergy
from linewright.flow.model import Flow
from linewright.network.carriers import uses_at
from linewright.network.model import Cleans, Floats, Ints, Links, Network


@dataclass(frozen=True, slots=True)
class Daily:
    """Money for one working day [n_operations], and what it is made of.

    ``again`` is the part of material, labour, machine and energy that is spent on repeated passes. ``crew_hours``
    [n_crews, n_operations] worked. ``supplies`` (operation, item, money) lists every bought supply.
    """

    material: Floats
    labour: Floats
    machine: Floats
    energy: Floats
    setup: Floats
    again: Floats
    crew_hours: Floats
    supplies: tuple[tuple[int, int, float], ...]
    kwh: Floats
    stations: tuple[StationEnergy, ...]

    @property
    def total(self) -> Floats:
        """All of it [n_operations]."""
        return self.material + self.labour + self.machine + self.energy + self.setup


def spread(links: Links) -> tuple[Ints, Ints, Floats]:
    """Row, index and amount of every link."""
    rows = np.repeat(np.arange(len(links.starts) - 1, dtype=np.int64), np.diff(links.starts))
    return rows, links.index, links.amount


def daily_money(network: Network, flow: Flow, capacity: Capacity) -> Daily:
    """The money of one working day at the demand; ``capacity`` says at which stations operations run."""
    parts = segments(network)
    shares = by_station(network, capacity)
    load = loads(network, flow, parts, shares)
    hours, setup_hours = (by_who_does_it(network, h, capacity.lent) for h in _crew_hours(network, load, parts))
    wage = np.nan_to_num(network.crews.wage)
    rate = np.zeros(len(network.operations.ids))
    for station, share in shares.items():
        rate += share * float(np.nan_to_num(network.stations.machine_rate[station]))
    machine = (load.run + load.stand) * rate + wear_of_carriers(network, flow)
    lost = lost_hours(network, load)
    energy = energy_day(network, load, lost, shares, capacity)
    labour = wage @ hours
    material, extra, supplies = _material(network, flow, load)
    again = np.divide(load.again, load.cycles, out=np.zeros(len(rate)), where=load.cycles > 0)
    repeated = again * (labour + machine + energy.worked) + _taken_again(network, flow)
    setup = lost * rate + wage @ setup_hours + extra
    return Daily(
        material, labour, machine, energy.money, setup, repeated, hours + setup_hours, supplies, energy.kwh,
        energy.stations,
    )  # fmt: skip


def by_who_does_it(network: Network, hours: Floats, lent: Floats) -> Floats:
    """Person-hours [n_crews, n_operations] of whose work it is, by who does it: the part ``lent`` [n_lends] moves.

    Who is slower takes longer, at a wage of his own.
    """
    lends, out = network.crews.lends, hours.copy()
    for k in np.flatnonzero(lent).tolist():
        moved = lent[k] * hours[lends.to[k]]
        out[lends.to[k]] -= moved
        out[lends.lender[k]] += moved / lends.pace[k]
    return out


def wear_of_carriers(network: Network, flow: Flow) -> Floats:
    """[n_operations] money a working day for the wear of carriers where pieces get on: uses x price / uses of one."""
    carriers, money = network.carriers, np.zeros(len(network.operations.ids))
    for c in np.flatnonzero(carriers.wear > 0).tolist():
        money += uses_at(network, c, flow.runs, flow.first_runs) / carriers.holds[c] * carriers.wear[c]
    return money


def by_station(network: Network, capacity: Capacity) -> Mapping[int, Floats]:
    """Station -> share [n_operations] of each operation's cycles that it takes."""
    row, station, share = spread(capacity.shares)
    n = len(network.operations.ids)
    return {
        s: np.asarray(np.bincount(row[station == s], share[station == s], minlength=n), dtype=np.float64)
        for s in np.unique(station).tolist()
    }


def _crew_hours(network: Network, load: Loads, parts: Segments) -> tuple[Floats, Floats]:
    """Person-hours [n_crews, n_operations] of runs, and of setups and cleaning."""
    operations = network.operations
    shape = (len(network.crews.ids), len(operations.ids))
    runs, others = np.zeros(shape), np.zeros(shape)
    row, crew, people = spread(operations.crews)
    hands = load.cycles * (parts.begin + parts.end) / HOUR
    np.add.at(runs, (crew, row), people / np.maximum(operations.tends[row], 1) * hands[row])
    row, crew, people = spread(network.cares.crews)
    np.add.at(runs, (crew, network.cares.operation[row]), people * care_hours(network, load)[row])
    for links, count, time in (
        (operations.setup_crews, load.setups, load.setting_up),
        (operations.clean_crews, load.cleans, operations.clean.mean),
    ):
        row, crew, people = spread(links)
        np.add.at(others, (crew, row), people * (count * time)[row] / HOUR)
    return runs, others


def prices(network: Network, flow: Flow) -> Floats:
    """[n_items] money spent outside for one unit used: the price, by the part of the item that is bought."""
    supply = flow.bought + flow.made
    share = np.divide(flow.bought, supply, out=np.zeros(len(supply)), where=supply > 0)
    return np.nan_to_num(network.items.buy) * share


def _material(network: Network, flow: Flow, load: Loads) -> tuple[Floats, Floats, tuple[tuple[int, int, float], ...]]:
    """Material of runs and of setups and cleaning [n_operations], and every bought supply by operation and item."""
    operations = network.operations
    n = len(operations.ids)
    price = prices(network, flow)
    item, operation, units = spread(flow.item_use)
    money = units * price[item]
    setup = np.zeros(n)
    for links, count in ((operations.setup_takes, load.setups), (operations.clean_takes, load.cleans)):
        row, taken, amount = spread(links)
        setup += np.bincount(row, amount * count[row] * price[taken], minlength=n)
    used = np.bincount(operation, money, minlength=n)
    # What is used by the shift or day is no operation's in the balance: it goes where the cleaning is.
    row, taken, amount = spread(operations.clean_takes)
    by_day = np.isin(operations.clean_when[row], (Cleans.SHIFT, Cleans.DAY))
    daily = amount * load.cleans[row] * price[taken] * by_day
    supplies = [*zip(operation.tolist(), item.tolist(), money.tolist(), strict=True)]
    supplies += [*zip(row[by_day].tolist(), taken[by_day].tolist(), daily[by_day].tolist(), strict=True)]
    total = used + np.bincount(row, daily, minlength=n)
    return np.maximum(total - setup, 0.0), setup, tuple(s for s in supplies if s[2] != 0)


def _taken_again(network: Network, flow: Flow) -> Floats:
    """[n_operations] money of parts that repeated passes take again: what is used beyond the first passes."""
    operations = network.operations
    n = len(operations.ids)
    price = prices(network, flow)
    row, item, units = spread(operations.takes)
    first = units * flow.first_runs[row] * price[item]
    of_item, operation, used = spread(flow.item_use)
    plain = {(int(o), int(i)) for o, i in zip(row.tolist(), item.tolist(), strict=True)}
    counted = np.array([(o, i) in plain for o, i in zip(operation.tolist(), of_item.tolist(), strict=True)], dtype=bool)
    repeated = flow.runs > flow.first_runs * (1 + 1e-12)
    total = np.bincount(operation[counted], (used * price[of_item])[counted], minlength=n)
    more = total - np.bincount(row, first, minlength=n)
    return np.where(repeated & (more > 1e-9 * total), more, 0.0)
