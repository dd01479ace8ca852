"""The plan simulated for an answer: as it lets work in, and flat out, which is the most that it was seen to make.

By takt the rate can never be greater than the demand, so a rate at the demand does not tell how much is to spare; flat
out does. Both use the shares that the material balance found.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from linewright.base.results import Interval, Shown, Table, plain
from linewright.base.trace import Record, Trace
from linewright.network.model import Network
from linewright.simulate import Simulation
from linewright.simulate.sharing import load_classes, shared_visits

FLAT_OUT = "flat out"


@dataclass(frozen=True, slots=True)
class Day:
    """What happened on one working day of the first replication, from ``begin`` up to ``end`` ns.

    ``under_way`` holds the beginnings of what had begun before and not ended when the day began.
    """

    trace: Trace
    under_way: tuple[Record, ...]
    begin: int
    end: int


@dataclass(frozen=True, slots=True)
class Simulated(Shown):
    """The plan ``as_planned``, and ``flat_out`` where that was played too; ``day`` is one day event by event.

    ``edge`` units of each demanded item may by chance be just in or just out of the simulated weeks: one load of its
    last step. ``days`` are the working days in a week.
    """

    as_planned: Simulation
    flat_out: Simulation | None
    edge: tuple[float, ...]
    days: int
    day: Day | None = None

    @property
    def makes_demand(self) -> bool | None:
        """Whether the demand is made: False where it is clearly missed, None where luck decides.

        What is made flat out is made by takt too, given time: takt lets in as much and lets more pieces be open.
        """
        if self.flat_out is not None and self.made(self.flat_out):
            return True
        return self.made(self.as_planned)

    def made(self, run: Simulation) -> bool | None:
        """Whether one way of letting work in makes the demand of every item, by the ends of the intervals."""
        days = max((run.weeks - run.warm_up_weeks) * self.days, 1)
        every = list(zip(run.rates, run.demand.tolist(), self.edge, strict=True))
        if any(rate.high + edge / days < wanted for rate, wanted, edge in every):
            return False
        return True if all(rate.low + edge / days >= wanted for rate, wanted, edge in every) else None

    def part_made(self, run: Simulation) -> Interval:
        """The part of the demand that is made, of the item that falls furthest short."""
        parts = [
            Interval(rate.mean / wanted, rate.half_width / wanted)
            for rate, wanted in zip(run.rates, run.demand.tolist(), strict=True)
        ]
        return min(parts, key=lambda part: part.mean)

    def to_table(self) -> Table:
        """Rate, open pieces and time in plant, as planned."""
        return self.as_planned.to_table()

    def to_dict(self) -> dict[str, Any]:
        """Both simulations as plain data, without their traces."""
        most = self.flat_out
        return {
            "makes_demand": self.makes_demand,
            "as_planned": untraced(self.as_planned),
            "flat_out": untraced(most) if most is not None else None,
        }


def untraced(run: Simulation) -> dict[str, Any]:
    """A simulation as plain data without its trace, which is a file of its own."""
    data: dict[str, Any] = plain(replace(run, trace=None))
    del data["trace"]
    return data


def edges(network: Network) -> tuple[float, ...]:
    """One load of the last step of each demanded item, or one lot of it; at least one unit where it is counted.

    Variants that fill loads of their own may each have one under way, so theirs add up.
    """
    found: dict[int, float] = {}
    own = own_loads_of(network)
    for item in (network.items.demand > 0).nonzero()[0].tolist():
        makers = network.routes.item == item
        last = network.routes.last[makers]
        loads = network.operations.load_most[last] * network.operations.pieces_out[last]
        loads = np.maximum(loads, network.routes.lot[makers])
        edge = max([1.0, *loads.tolist()]) if network.items.counted[item] else max([0.0, *loads.tolist()])
        written = int(network.origin.item[item]) if network.origin is not None else item
        each = max((own.get(route, 0.0) for route in np.flatnonzero(makers).tolist()), default=0.0)
        found[written] = max(found.get(written, 0.0) + each, edge)
    return tuple(found.values())


def own_loads_of(network: Network) -> dict[int, float]:
    """Route to units in the largest load that only its own variant fills; none where the plan has no variants."""
    if network.origin is None:
        return {}
    p = network.operations
    alone = np.array(load_classes(network, shared_visits(network))) < 0
    found: dict[int, float] = {}
    for route in range(len(network.routes.ids)):
        first, last = int(network.routes.first[route]), int(network.routes.last[route])
        found[route] = max(
            (float(p.load_most[o] * np.prod(p.pieces_out[o : last + 1])) for o in range(first, last + 1)
             if alone[o] and p.load_most[o] > 1),
            default=0.0,
        )  # fmt: skip
    return found
