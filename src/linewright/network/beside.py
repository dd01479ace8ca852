"""Faults that nobody looks for any more: how many finished pieces have them, told without another walk where it can be.

A fault that is not looked for does not change a journey. Its share is that of the pieces which have it where it was
last looked for, or where it came in, as long as nothing that decides the rest of the journey goes with it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from linewright.network.escapes import Distribution, bits_of
from linewright.network.walk import RouteChain, Walked


@dataclass(slots=True)
class Beside:
    """A walked route, asked about one fault after the other that is not remembered to its end.

    ``gathers``: several pieces become one somewhere on the route. ``made`` lists (position, probability) by fault
    bit, ``end`` the last position where each fault is remembered.
    """

    walked: Walked
    relevant: int
    sends_back: bool
    gathers: bool
    made: dict[int, list[tuple[int, float]]] = field(default_factory=dict)
    end: dict[int, int] = field(default_factory=dict)

    def share(self, bit: int, brought: Mapping[int, Distribution]) -> float | None:
        """The share of finished pieces with a fault; None where only a walk of its own can tell.

        ``brought`` has the positions where parts bring the fault.
        """
        if self.walked.unclear & bit or self.gathers:
            return None
        end = self.end.get(bit, -1)  # nobody looks for it behind this
        share = self.walked.dropped[bit][0] if bit in self.walked.dropped else 0.0
        made = [probability for p, probability in self.made.get(bit, ()) if p > end]
        late = [brings for p, brings in brought.items() if p > end]
        if len(made) + len(late) + (share > 0) > 1 and self.sends_back:
            return None  # a redo of one of them clears what another brought
        for probability in made:
            share += (1 - share) * probability
        for brings in late:
            if any(mask & (self.relevant | bit) not in (0, bit) for mask in brings):
                return None
            share += (1 - share) * sum(p for mask, p in brings.items() if mask & bit)
        return share


def beside(chain: RouteChain, walked: Walked, kept: list[int], downstream: int) -> Beside:
    """A route made ready to be asked. ``kept`` are the bits remembered by position, ``downstream`` those to the end."""
    ready = Beside(walked, downstream, chain.sends_back, bool(chain.rows))
    for p, draws in enumerate(chain.draws):
        for bit, probability in draws:
            ready.made.setdefault(bit, []).append((p, probability))
    before = 0
    for p in range(len(kept) - 1, -1, -1):
        if kept[p] != before:
            ready.end |= {1 << fault: p for fault in bits_of(kept[p] & ~before)}
            before = kept[p]
        ready.relevant |= kept[p]
    return ready


def besides_all(finish: Mapping[int, float], bit: int, share: float) -> dict[int, float]:
    """A distribution with one more fault that is independent of it."""
    return {mask | extra: w * p for mask, w in finish.items() for extra, p in ((0, 1 - share), (bit, share))}


def only(finish: Mapping[int, float], bits: int) -> dict[int, float]:
    """A distribution with only some of its faults remembered."""
    out: dict[int, float] = {}
    for mask, weight in finish.items():
        out[mask & bits] = out.get(mask & bits, 0.0) + weight
    return out
