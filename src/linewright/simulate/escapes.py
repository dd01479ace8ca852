"""Which faults reach the customer: counted in the pieces that left the plant, each fault with its interval.

Every finished piece is written down with the faults that it carries, those of its parts included.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from linewright.base.calendar import WEEK
from linewright.base.results import Interval
from linewright.network.kinds import kinds_of
from linewright.network.model import Floats, Ints, Network
from linewright.simulate.by_origin import Names
from linewright.simulate.estimates import interval
from linewright.simulate.kernel import rows as r
from linewright.simulate.layout_base import Layout
from linewright.simulate.model import Escaped
from linewright.simulate.replication import Weeks

FINISHED = 6
"""The log's word."""


def escapes(
    network: Network, layout: Layout, names: Names, runs: Sequence[Weeks], demanded: Sequence[int], cut: int
) -> tuple[Escaped, ...]:
    """Of every demanded item (rows as written) each fault that may be in it, and any at all, after the warm-up."""
    found = []
    for item in demanded:
        inside = sorted({f for k in np.flatnonzero(names.item == item) for f in faults_into(network, int(k))})
        if not inside:
            continue
        makers = np.flatnonzero(names.item[network.routes.item] == item)
        last = np.array([layout.operations[int(network.routes.last[k])] for k in makers], dtype=np.int64)
        several = dict(zip(last.tolist(), _pieces_of(network)[makers].tolist(), strict=True))
        carried = [_carried(run.gone, several, cut) for run in runs]
        for fault, bits in [*((network.faults[f], 1 << f) for f in inside), ("", -1)]:
            counts = np.array([np.count_nonzero(faults & bits) for faults in carried], dtype=np.float64)
            pieces = np.array([len(faults) for faults in carried], dtype=np.float64)
            found.append(Escaped(names.items[item], fault, share_of(counts, pieces)))
    return tuple(found)


def escapes_of_kinds(network: Network, layout: Layout, runs: Sequence[Weeks], cut: int) -> tuple[Escaped, ...]:
    """Of each kind of a plan with options those that carry any fault at all, after the warm-up."""
    kinds = [kind for kind in kinds_of(network) if any(faults_into(network, k) for k in kind.rows)]
    if not kinds:
        return ()
    rows = np.array(layout.operations, dtype=np.int64)[network.routes.last]
    several = _pieces_of(network)
    counts = [_left(run.gone, rows, several, cut) for run in runs]
    faulty, pieces = (np.array(part) for part in zip(*counts, strict=True))
    found = []
    for kind in kinds:
        makers = np.isin(network.routes.item, kind.rows)
        share = share_of(faulty[:, makers].sum(axis=1), pieces[:, makers].sum(axis=1))
        found.append(Escaped(kind.item, "", share, kind.values))
    return tuple(found)


def _left(gone: Ints, last: Ints, several: Ints, cut: int) -> tuple[Floats, Floats]:
    """[n_routes] units that left each route with any fault, and all of them."""
    done = gone[gone[:, r.L_EVENT] == FINISHED]
    late = done[done[:, r.L_TIME] >= cut * WEEK]
    order = np.argsort(last)
    n = len(last)
    route = order[np.searchsorted(last[order], late[:, r.L_OPERATION])]
    faulty = np.bincount(route, late[:, r.L_B] != 0, n).astype(np.float64)
    every = np.bincount(route, minlength=n).astype(np.float64)
    for k in np.flatnonzero(several > 1).tolist():
        units = _together(done[done[:, r.L_OPERATION] == last[k]], int(several[k]), cut)
        faulty[k], every[k] = np.count_nonzero(units), len(units)
    return faulty, every


def _pieces_of(network: Network) -> Ints:
    """[n_routes] how many pieces make a unit of what a route gives, where its last operation puts several together."""
    out = network.operations.pieces_out[network.routes.last]
    return np.where(out < 1.0, np.rint(1.0 / np.maximum(out, 1e-9)), 1.0).astype(np.int64)


def _together(done: Ints, pieces: int, cut: int) -> Ints:
    """The faults of units that are made of so many pieces each, as these were finished; those after the warm-up."""
    whole = len(done) // pieces * pieces
    carried = done[:whole, r.L_B].reshape(-1, pieces)
    late = done[pieces - 1 : whole : pieces, r.L_TIME] >= cut * WEEK
    found: Ints = np.bitwise_or.reduce(carried, axis=1)[late]
    return found


def faults_into(network: Network, item: int) -> set[int]:
    """Faults that are made on the routes to an item, or to anything that goes into it."""
    p = network.operations
    seen, waiting, faults = {item}, [item], set[int]()
    while waiting:
        made = waiting.pop()
        for route in np.flatnonzero(network.routes.item == made):
            steps = range(int(network.routes.first[route]), int(network.routes.last[route]) + 1)
            faults |= {int(f) for o in steps for f in p.faults.row(o)[0]}
            parts = {int(i) for o in steps for i in p.takes.row(o)[0]}
            parts |= {i for choice in network.choices if choice.operation in steps for i in choice.items}
            waiting += parts - seen
            seen |= parts
    return faults


def share_of(counts: Floats, pieces: Floats) -> Interval:
    """The share of pieces that carry a fault, with a 95 % interval.

    The half-width is Student's t over replications, and at least what a count so small leaves open even if the faults
    come singly: the exact upper limit of a Poisson count (Garwood, Biometrika 28, 1936), which for no fault at all in n
    pieces is 3.69 / n.

    >>> found = share_of(np.array([0.0, 0.0]), np.array([400.0, 600.0]))
    >>> found.mean, round(found.half_width, 6)
    (0.0, 0.003689)
    """
    total, seen = float(pieces.sum()), float(counts.sum())
    if total == 0:
        return Interval(math.nan, math.inf)
    from scipy.special import gammaincinv

    mean = seen / total
    upper = float(gammaincinv(seen + 1, 0.975)) / total
    each = counts / np.maximum(pieces, 1.0) * (len(pieces) * pieces / total)  # ratio of sums, as a mean over runs
    spread = interval(each - mean * (len(pieces) * pieces / total - 1.0)).half_width
    return Interval(mean, max(spread, upper - mean) if math.isfinite(spread) else math.inf)


def _carried(gone: Ints, several: Mapping[int, int], cut: int) -> Ints:
    """The faults, as bits, of every delivered unit; ``several``: pieces in a unit, by the last operation of a route."""
    done = gone[(gone[:, r.L_EVENT] == FINISHED) & (gone[:, r.L_C] == 1)]
    single = np.isin(done[:, r.L_OPERATION], [o for o, pieces in several.items() if pieces == 1])
    parts = [done[single & (done[:, r.L_TIME] >= cut * WEEK), r.L_B]]
    parts += [_together(done[done[:, r.L_OPERATION] == o], n, cut) for o, n in several.items() if n > 1]
    return np.concatenate(parts)
