"""Which variants are told together: all of an item, those of one value of an option, and each variant by itself.

Two sizes by two sides are told as 2 + 2 and not as 4 pages; who looks for the worst variant finds that too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linewright.network.model import Network

Values = tuple[tuple[str, str], ...]
"""(option, value) pairs."""


@dataclass(frozen=True, slots=True)
class Kind:
    """Variants told together: of ``item`` (as written) those with the ``values``; all of it where there are none.

    ``rows`` are their items in the network with a row for each variant.
    """

    item: str
    values: Values
    rows: tuple[int, ...]


def kinds_of(network: Network) -> tuple[Kind, ...]:
    """What is delivered: together, by each value of each option, and by variant where an item has several options.

    Then parts made here by options that nothing delivered has, such as the left and the right boot of a pair. Nothing
    for a plan without options.
    """
    origin = network.origin
    if origin is None:
        return ()
    wanted = [k for k in np.flatnonzero(network.items.demand > 0).tolist() if origin.values[k]]
    found = [kind for item, rows in _by_item(network, wanted).items() for kind in _kinds(network, item, rows)]
    seen = {option for k in wanted for option, _ in origin.values[k]}
    asked = _made_for(network, wanted)
    for item, rows in _by_item(network, sorted(asked)).items():
        own = [option for option, _ in origin.values[rows[0]] if option not in seen]
        found += _by_value(network, item, rows, own)
    return tuple(found)


def _by_item(network: Network, rows: list[int]) -> dict[str, list[int]]:
    origin = network.origin
    assert origin is not None
    found: dict[str, list[int]] = {}
    for k in rows:
        found.setdefault(origin.items[int(origin.item[k])], []).append(k)
    return found


def _kinds(network: Network, item: str, rows: list[int]) -> list[Kind]:
    origin = network.origin
    assert origin is not None
    options = [option for option, _ in origin.values[rows[0]]]
    each = [Kind(item, origin.values[k], (k,)) for k in rows] if len(options) > 1 else []
    return [Kind(item, (), tuple(rows)), *_by_value(network, item, rows, options), *each]


def _by_value(network: Network, item: str, rows: list[int], options: list[str]) -> list[Kind]:
    """The kinds of each option of which there are several values."""
    origin = network.origin
    assert origin is not None
    found = []
    for option in options:
        values: dict[str, list[int]] = {}
        for k in rows:
            values.setdefault(dict(origin.values[k])[option], []).append(k)
        if len(values) > 1:
            found += [Kind(item, ((option, value),), tuple(those)) for value, those in values.items()]
    return found


def _made_for(network: Network, wanted: list[int]) -> set[int]:
    """Variants made here that go into what is wanted."""
    operations, routes = network.operations, network.routes
    seen, waiting, found = set(wanted), list(wanted), set[int]()
    while waiting:
        made = waiting.pop()
        for route in np.flatnonzero(routes.item == made).tolist():
            if made not in wanted:
                found.add(made)
            steps = range(int(routes.first[route]), int(routes.last[route]) + 1)
            parts = {i for o in steps for i in operations.takes.row(o)[0].tolist()}
            parts |= {i for choice in network.choices if choice.operation in steps for i in choice.items}
            waiting += parts - seen
            seen |= parts
    return found
