"""How much energy do the stations draw on a working day, and what does it cost?

A place draws its running power while it works, is set up, cleaned or started, its holding power while it stands with a
piece, and its idle power for the rest of the time that is at hand. While it is stopped it draws idle power too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from linewright.base.calendar import HOUR
from linewright.capacity.loads import Loads
from linewright.capacity.model import Capacity
from linewright.cost.model import StationEnergy
from linewright.network.model import NOWHERE, Floats, Network


@dataclass(frozen=True, slots=True)
class EnergyDay:
    """One working day: ``kwh`` and ``money`` [n_operations], idle power spread by the time that operations take; of
    them ``worked`` money is that of running and holding alone. ``stations`` tells those that draw anything.
    """

    kwh: Floats
    money: Floats
    worked: Floats
    stations: tuple[StationEnergy, ...]


def energy_day(
    network: Network, load: Loads, lost: Floats, shares: Mapping[int, Floats], capacity: Capacity
) -> EnergyDay:
    """The energy of a working day at the demand. ``lost`` [n_operations] hours of setups, cleaning and start-up."""
    n = len(network.operations.ids)
    kwh, money, worked = np.zeros(n), np.zeros(n), np.zeros(n)
    table, found = network.stations, []
    for station, share in shares.items():
        if table.utility[station] == NOWHERE:
            continue
        price = float(np.nan_to_num(network.utilities.price[table.utility[station]]))
        busy, standing = share * (load.run + lost), share * load.stand
        direct = busy * table.running[station] + standing * table.holding[station]
        idle = _idle_hours(capacity, table.ids[station], float((busy + standing).sum())) * float(table.idle[station])
        time = busy + standing
        spread = time / time.sum() if time.sum() > 0 else np.zeros(n)
        kwh += direct + idle * spread
        money += (direct + idle * spread) * price
        worked += direct * price
        found.append(
            StationEnergy(
                station=table.ids[station],
                utility=network.utilities.ids[table.utility[station]],
                running=float(busy.sum() * table.running[station]),
                holding=float(standing.sum() * table.holding[station]),
                idle=idle,
                connected=float(table.places[station] * max(table.running[station], table.holding[station])),
                price=price,
            )
        )
    return EnergyDay(kwh, money, worked, tuple(found))


def lost_hours(network: Network, load: Loads) -> Floats:
    """[n_operations] hours of setups, cleaning and start-up on a working day."""
    operations = network.operations
    lost = load.setups * load.setting_up + load.cleans * operations.clean.mean + load.starts * operations.start.mean
    return np.asarray(lost / HOUR, dtype=np.float64)


def _idle_hours(capacity: Capacity, station: str, busy: float) -> float:
    """Hours at hand that the places neither work nor stand."""
    return max(0.0, capacity.of("station", station).available - busy)
