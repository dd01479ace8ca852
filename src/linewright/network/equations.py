"""The equation matrix: what one piece started on each route makes and uses of every item, once round its journey.

Flow and capacity solve the same rows. Row = item, column = route; what is due per shift or day whatever is made stands
in the constants.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linewright.base.calendar import Calendar, shifts_begin
from linewright.network.journeys import Journeys
from linewright.network.model import Cleans, Floats, Ints, Links, Network, Setups
from linewright.network.rows import owners


@dataclass(frozen=True, slots=True)
class Uses:
    """Every use or making of an item by an operation: [n] operation, item, units for one piece started on its route."""

    operation: Ints
    item: Ints
    units: Floats


@dataclass(frozen=True, slots=True)
class Equations:
    """The rows of the material balance.

    ``made`` and ``used`` are sparse [n_items, n_routes]; ``main`` (the route's own item), ``beside`` (by-products) and
    ``seconds`` list what is made, ``takes`` what is used, choices left out. ``daily`` [n_items] is used on a working
    day whatever is made. ``feeds`` [n_choices] is how often a piece started fills each choice.
    """

    made: Any
    used: Any
    main: Floats
    beside: Uses
    seconds: Uses
    takes: Uses
    daily: Floats
    feeds: Floats


def equations(network: Network, journeys: Journeys) -> Equations:
    """The rows for the journeys given."""
    from scipy.sparse import coo_array

    operations, n_items, n_routes = network.operations, len(network.items.ids), len(network.routes.ids)
    beside = _rows(operations.gives, journeys.takes)
    seconds = _seconds(network, journeys)
    by_count = operations.setup_when == Setups.EVERY
    takes = _join(
        _rows(operations.takes, journeys.takes),
        _rows(operations.takes_per_load, journeys.takes / operations.load_most),
        _rows(operations.setup_takes, np.where(by_count, journeys.runs / operations.setup_every, 0.0)),
        _rows(operations.clean_takes, journeys.runs / operations.clean_every),  # never by count: every = inf
    )
    route = operations.route
    made_rows = np.concatenate([network.routes.item, beside.item, seconds.item])
    made_columns = np.concatenate([np.arange(n_routes), route[beside.operation], route[seconds.operation]])
    made_units = np.concatenate([journeys.good, beside.units, seconds.units])
    shape = (n_items, n_routes)
    return Equations(
        made=coo_array((made_units, (made_rows, made_columns)), shape=shape).tocsr(),
        used=coo_array((takes.units, (takes.item, route[takes.operation])), shape=shape).tocsr(),
        main=journeys.good,
        beside=beside,
        seconds=seconds,
        takes=takes,
        daily=_daily(network),
        feeds=np.array([journeys.takes[choice.operation] for choice in network.choices], dtype=np.float64),
    )


def _rows(links: Links, passes: Floats) -> Uses:
    """Links of every operation times how often they happen for a piece started."""
    operation = owners(links)
    return Uses(operation, links.index, links.amount * passes[operation])


def _join(*parts: Uses) -> Uses:
    return Uses(
        np.concatenate([p.operation for p in parts]),
        np.concatenate([p.item for p in parts]),
        np.concatenate([p.units for p in parts]),
    )


def _seconds(network: Network, journeys: Journeys) -> Uses:
    """Rejected pieces that become another item: one unit each, or their mass where it is no counted item."""
    operation, item, units = [], [], []
    for (o, i), pieces in journeys.seconds.items():
        operation.append(o)
        item.append(i)
        mass = float(network.operations.piece_mass[o]) / float(network.items.mass[i])
        units.append(pieces if network.items.counted[i] or not np.isfinite(mass) else pieces * mass)
    return Uses(np.array(operation, np.int64), np.array(item, np.int64), np.array(units, np.float64))


def _daily(network: Network) -> Floats:
    """Units used on a working day by cleaning that follows the clock."""
    operations = network.operations
    daily = np.zeros(len(network.items.ids))
    for o in np.flatnonzero((operations.clean_when == Cleans.SHIFT) | (operations.clean_when == Cleans.DAY)).tolist():
        index, units = operations.clean_takes.row(o)
        times = shift_starts(network, o) if operations.clean_when[o] == Cleans.SHIFT else 1.0
        np.add.at(daily, index, units * times * places_of(network, o))
    return daily


def places_of(network: Network, operation: int) -> int:
    """Places of all stations that the operation may use; 1 at a bench."""
    stations = network.operations.stations.row(operation)[0]
    return int(network.stations.places[stations].sum()) if stations.size else 1


def shift_starts(network: Network, operation: int) -> float:
    """Shifts on a working day at an operation: how often somebody comes after nobody was there for over two hours."""
    calendar = _calendar_of(network, operation)
    return float(shifts_begin(calendar.at, calendar.level).sum()) / network.days_week


def open_a_day(network: Network, operation: int) -> float:
    """ns of a working day in which the people of an operation are there, or else its station is open."""
    calendar = _calendar_of(network, operation)
    return float(calendar.lengths[calendar.level > 0].sum()) / network.days_week


def _calendar_of(network: Network, operation: int) -> Calendar:
    """When an operation is worked on: by its first crew, else by its station, else whenever anybody works."""
    crews = network.operations.crews.row(operation)[0]
    stations = network.operations.stations.row(operation)[0]
    if crews.size:
        return network.calendars[int(network.crews.calendar[crews[0]])]
    if stations.size and network.stations.calendar[stations[0]] >= 0:
        return network.calendars[int(network.stations.calendar[stations[0]])]
    return network.open_calendar
