"""What a flow draws where several items can fill a feed: of those on hand the one furthest behind its share.

Those equally far behind are drawn together so that they stay so; what is short and behind is drawn as it comes in, and
the rest makes way for it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from linewright.network import Network
from linewright.simulate.kernel import rows as r
from linewright.simulate.simulate import Prepared

RESTS, COMES, NOT = "rests", "comes", "not"
How = tuple[str, ...]
"""Of each option: the flow rests on it, it is drawn as it comes in, or it is not drawn."""


@dataclass(eq=False, slots=True)
class Feed:
    """Its options and their shares, and what has been drawn of each, in pieces."""

    items: list[int]
    units: list[float]
    shares: list[float]
    drawn: list[float]
    total: float = 0.0

    def behind(self, k: int) -> float:
        """Pieces that an option is behind its share."""
        return self.shares[k] * self.total - self.drawn[k]

    def how(self, there: list[bool], near: float) -> How:
        """How the options are drawn now: ``there`` tells which are on hand, ``near`` how many pieces count as equal."""
        behind = [self.behind(k) for k in range(len(self.items))]
        level = max((b for b, on_hand in zip(behind, there, strict=True) if on_hand), default=-math.inf)
        found = [
            NOT if b < level - near else RESTS if on_hand else COMES for b, on_hand in zip(behind, there, strict=True)
        ]
        if RESTS not in found:  # nothing is on hand: it runs no faster than what is least behind comes in
            found[behind.index(min(behind))] = RESTS
        return tuple(found)

    def parts(self, how: How) -> list[float]:
        """The part of each option in what the flow rests on: its share, and equal parts of what is left."""
        rests = [k for k, one in enumerate(how) if one == RESTS]
        left = (1.0 - sum(self.shares[k] for k in rests)) / len(rests)
        return [self.shares[k] + left if k in rests else 0.0 for k in range(len(how))]

    def until_turn(self, how: How, draws: list[float], rate: float, near: float) -> float:
        """s until an option is as far behind as those that are drawn, or no more."""
        rises = [share * rate - draw for share, draw in zip(self.shares, draws, strict=True)]
        level, rise = max((self.behind(k), rises[k]) for k, one in enumerate(how) if one == RESTS)
        soonest = math.inf
        for k, one in enumerate(how):
            gap, closing = level - self.behind(k), rises[k] - rise
            if one == COMES:
                gap, closing = near - gap, -closing
            if one != RESTS and closing > 0.0 and gap > 0.0:
                soonest = min(soonest, gap / closing + 1e-9)
        return soonest


def feeds_of(network: Network, prepared: Prepared, o: int) -> list[Feed]:
    """The feeds of an operation, with the shares that the simulation was given."""
    m, x = prepared.template.m, prepared.template.x
    rows = int(m[int(m[r.OPERATIONS]) + o * r.O_WIDTH + r.O_CHOICES])
    found: list[Feed] = []
    for c in network.choices:
        if c.operation == o:
            row, n = int(m[rows + 1 + len(found)]), len(c.items)
            shares: list[float] = x[row + 1 + n : row + 1 + 2 * n].tolist()
            found.append(Feed(list(c.items), list(c.units), shares, [0.0] * n))
    return found
