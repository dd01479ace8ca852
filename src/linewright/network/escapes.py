"""Distributions of faults as bits: what escapes in an item, and what several units together bring along."""

from __future__ import annotations

import math
from collections.abc import Mapping

from linewright.network.model import Network

Distribution = Mapping[int, float]
"""Faults as bits of a whole number, to probability."""

NO_FAULTS: Distribution = {0: 1.0}


def bits_of(mask: int) -> set[int]:
    """The numbers of the faults in a mask.

    >>> sorted(bits_of(0b1010))
    [1, 3]
    """
    found = set()
    while mask:
        lowest = mask & -mask
        found.add(lowest.bit_length() - 1)
        mask ^= lowest
    return found


def several(one: Distribution, units: float, others: Distribution | None) -> Distribution:
    """The faults of ``units`` independent units together, and of ``others`` that come with them.

    A part of a unit brings its faults with that probability: 0.5 a piece is one unit for every second piece.

    >>> several({0: 0.9, 1: 0.1}, 2, None)[0]
    0.81
    """
    whole = math.floor(units + 1e-12)
    found: Distribution = others if others is not None else NO_FAULTS
    power = one
    while whole > 0:  # by squaring, so that a thousand screws cost ten steps
        if whole & 1:
            found = _union(found, power)
        whole >>= 1
        if whole:
            power = _union(power, power)
    part = units - math.floor(units + 1e-12)
    if part > 1e-12:
        found = _union(found, weighted([one, NO_FAULTS], [part, 1 - part]))
    return found


def _union(a: Distribution, b: Distribution) -> Distribution:
    out: dict[int, float] = {}
    for mask, p in a.items():
        for other, q in b.items():
            out[mask | other] = out.get(mask | other, 0.0) + p * q
    return out


def weighted(parts: list[Distribution], weights: list[float]) -> Distribution:
    """One unit drawn from parts with weights, which need not add to 1."""
    total = sum(weights)
    out: dict[int, float] = {}
    for part, weight in zip(parts, weights, strict=True):
        for mask, p in part.items():
            out[mask] = out.get(mask, 0.0) + p * weight / total
    return out


def same(a: Distribution, b: Distribution, tolerance: float) -> bool:
    """Whether two distributions agree within an absolute tolerance."""
    return all(abs(a.get(mask, 0.0) - b.get(mask, 0.0)) <= tolerance for mask in a.keys() | b.keys())


def looked_for(network: Network) -> dict[int, int]:
    """Item to the bits of the faults that any user of it looks for, itself or further on."""
    own = [0] * len(network.routes.ids)
    for check in network.inspections:
        route = int(network.operations.route[check.operation])
        for fault, share in zip(check.faults, check.finds, strict=True):
            own[route] |= 1 << fault if share > 0 else 0
    users = _users(network)
    items: dict[int, int] = {}
    while True:
        changed = False
        for item, routes in users.items():
            bits = 0
            for route in routes:
                bits |= own[route] | items.get(int(network.routes.item[route]), 0)
            if bits != items.get(item, 0):
                items[item], changed = bits, True
        if not changed:
            return items


def _users(network: Network) -> dict[int, set[int]]:
    """Item to the routes that take it."""
    operations = network.operations
    users: dict[int, set[int]] = {}
    for o in range(len(operations.ids)):
        for item in operations.takes.row(o)[0].tolist():
            users.setdefault(item, set()).add(int(operations.route[o]))
    for choice in network.choices:
        for item in choice.items:
            users.setdefault(item, set()).add(int(operations.route[choice.operation]))
    return users
