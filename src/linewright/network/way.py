"""The way of every fault: what share of the pieces carries it as they leave each operation, up to the customer.

The journeys say only what escapes in the end. Here the same chains are watched at every step. Where a plan has few
faults they are followed together, which also tells the share with any fault; where it has many, one after the other.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linewright.network.chains import Escapes, worth_keeping
from linewright.network.escapes import bits_of
from linewright.network.journeys import settled_escapes
from linewright.network.model import Floats, Network
from linewright.network.order import routes_in_order
from linewright.network.walk import TooManyStatesError, Walked, walk

TOGETHER = 10
"""Faults that are followed together; 2^10 sets of them."""
_ROUNDS = 200


@dataclass(frozen=True, slots=True)
class Way:
    """``carried`` [n_operations, n_faults]: the share of pieces leaving an operation, all passes together, that carry a
    fault; nothing is counted that the operation's own check rejects. ``any_fault`` [n_operations]: the share that carry
    one or more; nan where the plan has too many faults to follow them together.
    """

    carried: Floats
    any_fault: Floats


def way_of_faults(
    network: Network, mix: Floats, choice_mix: tuple[tuple[float, ...], ...], keeps: Floats | None = None
) -> Way:
    """Follow every fault with the mix of makers that the balance found; ``keeps`` as for journeys.

    At the last operation of a route ``carried`` is the escape of the journeys. Raises ProblemsError as they do.
    """
    n, faults = len(network.operations.ids), len(network.faults)
    kept = keeps if keeps is not None else np.ones(n)
    carried, any_fault = np.zeros((n, faults)), np.zeros(n)
    if not faults:
        return Way(carried, any_fault)
    if faults <= TOGETHER:
        try:
            _together(network, Escapes(network, mix, choice_mix), kept, carried, any_fault)
            return Way(carried, any_fault)
        except TooManyStatesError:
            carried[:], any_fault[:] = 0.0, 0.0
    any_fault[:] = np.nan
    _one_by_one(network, mix, choice_mix, kept, carried)
    return Way(carried, any_fault)


def _together(network: Network, escapes: Escapes, keeps: Floats, carried: Floats, any_fault: Floats) -> None:
    """All faults at once, every one of them remembered to the end; again where routes feed each other round."""
    number = {name: k for k, name in enumerate(network.routes.ids)}
    order = [number[route.id] for route in routes_in_order(network.plan)]
    every = (1 << len(network.faults)) - 1
    for _ in range(_ROUNDS):
        before = dict(escapes.of_item)
        for route in order:
            if not escapes.possible(route):
                continue
            chain = escapes.chain(route, -1, keeps)
            walked = walk(chain, [every] * len(chain.survives), watch=True)
            escapes.learn(route, -1, walked.finish)
            _note(network, route, walked, carried, any_fault)
        if escapes.settled(before):
            return


def _one_by_one(
    network: Network, mix: Floats, choice_mix: tuple[tuple[float, ...], ...], keeps: Floats, carried: Floats
) -> None:
    """Each fault on a walk of its own beside those that are looked for, as the journeys see it."""
    escapes, observed = settled_escapes(network, mix, choice_mix, keeps)
    for route in range(len(network.routes.ids)):
        downstream = observed.get(int(network.routes.item[route]), 0)
        for fault in escapes.possible(route):
            chain, bit = escapes.chain(route, fault, keeps), 1 << fault
            remembered = [bits | bit for bits in worth_keeping(chain, downstream)]
            _note(network, route, walk(chain, remembered, watch=True), carried, None, fault)


def _note(
    network: Network, route: int, walked: Walked, carried: Floats, any_fault: Floats | None, only: int | None = None
) -> None:
    assert walked.leaving is not None
    first = int(network.routes.first[route])
    for position, masks in enumerate(walked.leaving):
        total = sum(masks.values())
        shares = np.zeros(carried.shape[1])
        for mask, weight in masks.items():
            for fault in bits_of(mask):
                shares[fault] += weight / total
        o = first + position
        if only is not None:
            carried[o, only] = shares[only]
            continue
        carried[o] = shares
        if any_fault is not None and total > 0:
            any_fault[o] = 1.0 - masks.get(0, 0.0) / total
