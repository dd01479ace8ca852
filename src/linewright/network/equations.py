"""The equation matrix: what one piece started on each route makes and uses of every item, once round its journey.

Flow and capacity solve the same rows. Row = item, column = route; what is due per shift or day whatever is made stands
in the constants.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linewright.network.clock import cleans_by_clock
from linewright.network.journeys import Journeys
from linewright.network.model import Floats, Ints, Links, Network, Setups
from linewright.network.rows import owners, summed


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


def equations(network: Network, journeys: Journeys, cleans: Floats | None = None) -> Equations:
    """The rows for the journeys given; ``cleans`` [n_operations] cleanings a working day that follow the clock."""
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
        daily=_daily(network, cleans_by_clock(network) if cleans is None else cleans),
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


def _daily(network: Network, cleans: Floats) -> Floats:
    """Units used on a working day by cleaning that follows the clock."""
    takes = network.operations.clean_takes
    return summed(takes.index, takes.amount * cleans[owners(takes)], len(network.items.ids))
