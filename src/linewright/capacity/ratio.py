"""What is the slowest ring of events? The greatest cycle ratio of a graph: time round a ring over tokens in it.

An event graph says x_head(k) >= x_tail(k - tokens) + weight. However long it runs, no event can happen faster than one
per greatest cycle ratio (Baccelli, Cohen, Olsder and Quadrat, Synchronization and Linearity, 1992, ch. 2). Found by
policy iteration (Howard's; Cochet-Terrasson, Cohen, Gaubert, McGettrick and Quadrat 1998), one strong component after
another.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

_ROUNDS = 1000


@dataclass(frozen=True, slots=True)
class Ring:
    """The slowest ring: ``ratio`` = weight / tokens (inf: it holds no token, so nothing can happen), and its nodes."""

    ratio: float
    weight: float
    tokens: int
    nodes: tuple[int, ...]


def slowest_ring(
    n: int, tails: Sequence[int], heads: Sequence[int], weights: Sequence[float], tokens: Sequence[int]
) -> Ring | None:
    """The ring of the greatest cycle ratio; None where the graph has no ring.

    ``n`` nodes; edges from ``tails`` to ``heads`` with ``weights`` (time, 0 or more) and ``tokens`` (counts).

    >>> slowest_ring(2, [0, 1, 1], [1, 0, 1], [3.0, 5.0, 7.0], [0, 2, 1]).ratio
    7.0
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    if not len(tails):
        return None
    ends = (np.asarray(tails), np.asarray(heads))
    count, group = connected_components(coo_array((np.ones(len(tails)), ends), shape=(n, n)), connection="strong")
    inside = group[ends[0]] == group[ends[1]]
    members: dict[int, list[int]] = {}
    for e in np.flatnonzero(inside).tolist():
        members.setdefault(int(group[ends[0][e]]), []).append(e)
    found = [_of_component(edges, tails, heads, weights, tokens) for edges in members.values()]
    return max(found, key=lambda ring: ring.ratio, default=None) if count else None


def _of_component(
    edges: Sequence[int], tails: Sequence[int], heads: Sequence[int], weights: Sequence[float], tokens: Sequence[int]
) -> Ring:
    """Policy iteration on one strong component: every node follows one edge; better edges replace it until none is."""
    follow: dict[int, int] = {}
    for e in edges:
        tail = int(tails[e])
        if tail not in follow or weights[e] > weights[follow[tail]]:
            follow[tail] = e
    best: Ring | None = None
    for _ in range(_ROUNDS):
        ring = _slowest_followed(follow, heads, weights, tokens)
        if best is None or ring.ratio > best.ratio:
            best = ring
        if math.isinf(best.ratio):
            return best
        value = _values(best, edges, follow, tails, heads, weights, tokens)
        changed = False
        for e in edges:
            tail = int(tails[e])
            gain = weights[e] - best.ratio * tokens[e] + value[int(heads[e])] - value[tail]
            if gain > 1e-9 * max(1.0, abs(value[tail]), best.ratio):
                now = follow[tail]
                worth = weights[now] - best.ratio * tokens[now] + value[int(heads[now])]
                if weights[e] - best.ratio * tokens[e] + value[int(heads[e])] > worth:
                    follow[tail], changed = e, True
        if not changed:
            return best
    return best if best is not None else Ring(0.0, 0.0, 0, ())


def _slowest_followed(
    follow: dict[int, int], heads: Sequence[int], weights: Sequence[float], tokens: Sequence[int]
) -> Ring:
    """The slowest ring among those that the followed edges make (every walk ends in one)."""
    seen: dict[int, int] = {}
    best: Ring | None = None
    for mark, start in enumerate(follow):
        node, path = start, []
        while node not in seen:
            seen[node] = mark
            path.append(node)
            node = int(heads[follow[node]])
        if seen[node] == mark:
            nodes = path[path.index(node) :]
            weight = math.fsum(weights[follow[v]] for v in nodes)
            held = sum(int(tokens[follow[v]]) for v in nodes)
            ratio = weight / held if held else (math.inf if weight > 0 else 0.0)
            if best is None or ratio > best.ratio:
                best = Ring(ratio, weight, held, tuple(nodes))
    assert best is not None
    return best


def _values(
    ring: Ring,
    edges: Sequence[int],
    follow: dict[int, int],
    tails: Sequence[int],
    heads: Sequence[int],
    weights: Sequence[float],
    tokens: Sequence[int],
) -> dict[int, float]:
    """Value of every node against the ring's first: what the followed edges gain over the ratio on the way there.

    Nodes whose walk does not reach the ring are led to it by any edge (the component is strong).
    """
    root = ring.nodes[0]
    coming: dict[int, list[int]] = {}
    for e in edges:
        coming.setdefault(int(heads[e]), []).append(e)
    value = {root: 0.0}
    for only_followed in (True, False):
        front = list(value)
        while front:
            node = front.pop()
            for e in coming.get(node, ()):
                tail = int(tails[e])
                if tail in value or (only_followed and follow[tail] != e):
                    continue
                follow[tail] = e
                value[tail] = weights[e] - ring.ratio * tokens[e] + value[node]
                front.append(tail)
    return value
