"""Work during stands, as it was played: how often it was done, ended late, or was missed."""

from __future__ import annotations

import numpy as np

from linewright.base.calendar import HOUR
from linewright.network.model import Floats, Ints, Network
from linewright.simulate.by_origin import Names
from linewright.simulate.estimates import interval
from linewright.simulate.model import Cared

COUNTS = 4
"""What is kept of each: how often done, of it late, missed, and ns by which it was late."""


def cares_of(network: Network, names: Names, counts: Floats, spans: float = 1.0) -> tuple[Cared, ...]:
    """``counts`` [n_replications, n_cares, COUNTS] put together as the plan was written, for each of ``spans``.

    Variants of an operation have their work during the stand together.
    """
    groups: dict[tuple[int, str], list[int]] = {}
    for k, (name, o) in enumerate(zip(network.cares.names, network.cares.operation.tolist(), strict=True)):
        groups.setdefault((int(names.operation[o]), name), []).append(k)
    found = []
    for (o, name), rows in groups.items():
        each = counts[:, rows].sum(axis=1)
        late = float(each[:, 1].sum())
        done, tardy, missed = (interval([float(v) / spans for v in each[:, c]]) for c in range(3))
        delay = float(each[:, 3].sum()) / late / HOUR if late else 0.0
        found.append(Cared(names.operations[o], name, done, tardy, missed, delay))
    return tuple(found)


def gathered(cares: Ints, counts: Floats, n: int) -> Floats:
    """[n, COUNTS] the counts of single places added up by what they care for: ``cares`` [n_rows], counts a row."""
    out = np.zeros((n, COUNTS))
    np.add.at(out, cares, counts)
    return out
