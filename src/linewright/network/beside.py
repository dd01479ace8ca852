"""Faults that nobody looks for any more: how many finished pieces have them, told without another walk where it can be.

A fault that is not looked for does not change a journey. Its share is that of the pieces which have it where it was
last looked for, or where it came in, as long as nothing that decides the rest of the journey goes with it.
"""

from __future__ import annotations

from collections.abc import Mapping

from linewright.network.escapes import Distribution
from linewright.network.walk import RouteChain, Walked


def share_beside(
    chain: RouteChain, walked: Walked, kept: list[int], downstream: int, bit: int, brought: Mapping[int, Distribution]
) -> float | None:
    """The share of finished pieces with a fault that is not remembered to the end; None where only a walk can tell.

    ``brought`` has the positions where parts bring the fault.
    """
    if walked.unclear & bit:
        return None
    end = max((p for p, bits in enumerate(kept) if bits & bit), default=-1)  # nobody looks for it behind this
    share = walked.dropped[bit][0] if bit in walked.dropped else 0.0
    made = [p for p, draws in enumerate(chain.draws) if p > end and any(b == bit for b, _ in draws)]
    late = {p: brings for p, brings in brought.items() if p > end}
    if len(made) + len(late) + (share > 0) > 1 and chain.sends_back:
        return None  # a redo of one of them clears what another brought
    relevant = downstream | bit
    for bits in kept:
        relevant |= bits
    without = 1 - share
    for p in made:
        for b, probability in chain.draws[p]:
            without *= 1 - probability if b == bit else 1.0
    for brings in late.values():
        if any(mask & relevant not in (0, bit) for mask in brings):
            return None
        without *= sum(p for mask, p in brings.items() if not mask & bit)
    return 1 - without


def besides_all(finish: Mapping[int, float], bit: int, share: float) -> dict[int, float]:
    """A distribution with one more fault that is independent of it."""
    return {mask | extra: w * p for mask, w in finish.items() for extra, p in ((0, 1 - share), (bit, share))}


def only(finish: Mapping[int, float], bits: int) -> dict[int, float]:
    """A distribution with only some of its faults remembered."""
    out: dict[int, float] = {}
    for mask, weight in finish.items():
        out[mask & bits] = out.get(mask & bits, 0.0) + weight
    return out
