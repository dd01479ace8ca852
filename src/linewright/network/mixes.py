"""Mixes in fixed shares as what an operation takes: every load takes its share of each feed, together or not at all.

Measured feeds with declared shares are mixed so. A feed that comes of what the operation's own route makes is not there
when the works begin empty, and a load that waits for it would wait for ever: there every lot is of one feed, in the
shares declared. So it is with counted feeds, for a piece cannot be made of six tenths of a part.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from linewright.network.loops import loop_numbers
from linewright.network.model import Choice, Links, Network
from linewright.network.rows import floats, ints


def mixed(network: Network) -> tuple[Network, tuple[str, ...]]:
    """The network with every mix of measured feeds as what is taken, and in words where a lot stays of one feed."""
    declared = {k: c for k, c in enumerate(network.choices) if np.isfinite(c.shares[0]) and not _is_counted(network, c)}
    if not declared:
        return network, ()
    round_again = {k: names for k, c in declared.items() if (names := _going_round(network, c))}
    said = tuple(
        f"{', '.join(names)} goes round: {network.operations.ids[declared[k].operation]} takes every lot of one feed, "
        "in the shares that are written."
        for k, names in round_again.items()
    )
    return with_recipes(network, {k: c.shares for k, c in declared.items() if k not in round_again}), said


def _is_counted(network: Network, choice: Choice) -> bool:
    return bool(network.items.counted[list(choice.items)].any())


def _going_round(network: Network, choice: Choice) -> list[str]:
    """Names of the feeds that come of what the route makes."""
    of_item, of_route = loop_numbers(network)
    loop = of_route[network.operations.route[choice.operation]]
    return [network.items.ids[i] for i in choice.items if of_item[i] >= 0 and of_item[i] == loop]


def with_recipes(network: Network, fixed: Mapping[int, Sequence[float]]) -> Network:
    """The network with some of its choices (by number) as fixed recipes in the shares given."""
    if not fixed:
        return network
    takes = network.operations.takes
    starts, index, amount = [0], [], []
    for o in range(len(network.operations.ids)):
        here: dict[int, float] = dict(zip(*(part.tolist() for part in takes.row(o)), strict=True))
        for k, shares in fixed.items():
            choice = network.choices[k]
            if choice.operation == o:
                for i, units, share in zip(choice.items, choice.units, shares, strict=True):
                    if share > 0:
                        here[i] = here.get(i, 0.0) + units * share
        index += list(here)
        amount += list(here.values())
        starts.append(len(index))
    operations = replace(network.operations, takes=Links(ints(starts), ints(index), floats(amount)))
    choices = tuple(c for k, c in enumerate(network.choices) if k not in fixed)
    return replace(network, operations=operations, choices=choices, notes={})
