"""What is read of a plan for one of its lines: its operations, which of them are tasks, who does them, its times."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from linewright.balance.line_times import Floats, Times, pieces_of, times_of
from linewright.network.model import Network
from linewright.plan.model import Line as Written
from linewright.plan.model import Operation


@dataclass(frozen=True, slots=True)
class Source:
    """A line of a plan before it becomes a problem of balancing.

    ``own`` are all operations of its ``routes`` (numbers in the network), ``tasks`` those with a crew, ``names`` their
    ids. ``crew`` is who does a task, ``people`` how many it takes at once, all crews together.
    """

    network: Network
    written: Written
    routes: tuple[int, ...]
    own: tuple[int, ...]
    tasks: tuple[int, ...]
    names: tuple[str, ...]
    asked: dict[str, Operation]
    crew: dict[str, str]
    people: dict[str, int]
    pieces: dict[int, float]
    times: Times
    runs: Floats | None

    @property
    def total(self) -> float:
        """Pieces that leave the line in a working day."""
        return sum(self.pieces.values())

    def moves(self, task: str) -> bool:
        """Whether a task is a transport."""
        return self.asked[task].move is not None


def source_of(network: Network, written: Written, runs: Floats | None) -> Source:
    """Read a line of a plan."""
    operations = network.operations
    routes = tuple(sorted({network.routes.ids.index(route) for route in written.routes}))
    own = tuple(i for i in range(len(operations.ids)) if int(operations.route[i]) in routes)
    tasks = tuple(i for i in own if len(operations.crews.row(i)[0]))
    pieces = pieces_of(network, routes, runs)
    crews = {operations.ids[i]: _crews(network, i) for i in tasks}
    return Source(
        network=network,
        written=written,
        routes=routes,
        own=own,
        tasks=tasks,
        names=tuple(crews),
        asked={o.id: o for route in network.plan.routes.values() for o in route.operations},
        crew={name: found[0][0] for name, found in crews.items()},
        people={name: sum(math.ceil(n) for _, n in found) for name, found in crews.items()},
        pieces=pieces,
        times=times_of(network, tasks, sum(pieces.values()), runs),
        runs=None if runs is None else np.asarray(runs, dtype=np.float64),
    )


def _crews(network: Network, operation: int) -> list[tuple[str, float]]:
    """Crews of an operation with their people, as the plan lists them."""
    index, people = network.operations.crews.row(operation)
    return [(network.crews.ids[int(k)], float(n)) for k, n in zip(index, people, strict=True)]
