"""Mass in and out of every operation, from the masses of pieces and items: what goes in must come out."""

from __future__ import annotations

import numpy as np

from linewright.network.model import Floats, Links, Network
from linewright.network.rows import owners, summed


def _kg(network: Network, links: Links) -> Floats:
    """kg of the items in each row of links, for one piece."""
    return summed(owners(links), links.amount * network.items.mass[links.index], len(links.starts) - 1)


def _taken_kg(network: Network) -> Floats:
    operations = network.operations
    return _kg(network, operations.takes) + _kg(network, operations.takes_per_load) / operations.load_most


def _left_kg(network: Network) -> Floats:
    """kg of by-products and losses for one piece."""
    loses = network.operations.loses
    return _kg(network, network.operations.gives) + summed(owners(loses), loses.amount, len(loses.starts) - 1)


def mass_after(network: Network) -> Floats:
    """[n_operations] kg of one piece when its work is done, before it becomes several; nan where unknown."""
    return np.asarray(network.operations.piece_mass - _left_kg(network))


def _mass_leaving(network: Network, taken: Floats) -> Floats:
    """[n_operations] kg that leave for one piece, as the next operation or the finished item weighs it."""
    operations, routes = network.operations, network.routes
    before = operations.piece_mass - taken
    leaving = np.roll(before, -1)
    leaving[routes.last] = network.items.mass[routes.item]
    return np.asarray(leaving * operations.pieces_out)


def masses(
    network: Network, runs: Floats, first: Floats, takes: Floats, choice_mix: tuple[tuple[float, ...], ...]
) -> tuple[Floats, Floats]:
    """kg into and out of every operation on a working day; nan where a mass is unknown.

    A piece on a repeated pass that takes nothing again goes through as it is. What it takes again replaces parts that
    leave with the scrap.
    """
    taken, left, after = _taken_kg(network), _left_kg(network), mass_after(network)
    for choice, mix in zip(network.choices, choice_mix, strict=True):
        parts = np.array(mix) * np.array(choice.units) * network.items.mass[list(choice.items)]
        taken[choice.operation] += parts.sum()
    leaving = _mass_leaving(network, taken)
    again = takes - first
    mass_in = network.operations.piece_mass * first + after * (runs - first) + taken * again
    mass_out = leaving * runs + left * first + taken * again
    return np.asarray(mass_in), np.asarray(mass_out)
