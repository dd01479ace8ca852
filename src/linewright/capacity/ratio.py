"""What is the slowest ring of events? The greatest cycle ratio of a graph: time round a ring over tokens in it.

An event graph says x_head(k) >= x_tail(k - tokens) + weight. However long it runs, no event can happen faster than one
per greatest cycle ratio (Baccelli, Cohen, Olsder and Quadrat, Synchronization and Linearity, 1992, ch. 2). Found by
policy iteration (Howard's; Cochet-Terrasson, Cohen, Gaubert, McGettrick and Quadrat 1998). Should that ever stop early,
the ring found is a ring all the same, and its ratio bounds the rate.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

_ROUNDS = 1000
_CLOSE = 1e-11  # gains below this share of the values are rounding


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
    ends = (np.asarray(tails, dtype=np.int64), np.asarray(heads, dtype=np.int64))
    _, group = connected_components(coo_array((np.ones(len(tails)), ends), shape=(n, n)), connection="strong")
    inside = np.flatnonzero(group[ends[0]] == group[ends[1]])
    if not inside.size:
        return None
    nodes, number = np.unique(ends[0][inside], return_inverse=True)  # each of them has an edge within its component
    graph = _Graph(
        len(nodes),
        number,
        np.searchsorted(nodes, ends[1][inside]),
        np.asarray(weights, dtype=np.float64)[inside],
        np.asarray(tokens, dtype=np.int64)[inside],
    )
    ring = _iterate(graph)
    return Ring(ring.ratio, ring.weight, ring.tokens, tuple(int(nodes[v]) for v in ring.nodes))


@dataclass(frozen=True, slots=True)
class _Graph:
    """Edges as arrays, nodes numbered from 0, every node with an edge out."""

    n: int
    tails: Ints
    heads: Ints
    weights: Floats
    tokens: Ints


def _iterate(graph: _Graph) -> Ring:
    """Policy iteration: every node follows one edge; edges towards a slower ring, then dearer ones, replace it."""
    follow = _best_of_each(graph, graph.weights, np.arange(len(graph.tails)))
    best = Ring(-1.0, 0.0, 0, ())
    for _ in range(_ROUNDS):
        rings, of_node, value = _evaluate(graph, follow)
        slowest = max(rings.values(), key=lambda ring: ring.ratio)
        best = slowest if slowest.ratio > best.ratio else best
        if math.isinf(best.ratio):
            return best
        tails, heads = graph.tails, graph.heads
        better = np.flatnonzero(of_node[heads] > of_node[tails] * (1 + _CLOSE))
        worth = of_node[heads]
        if not better.size:
            worth = graph.weights - of_node[tails] * graph.tokens + value[heads]
            size = np.maximum(np.abs(value[tails]), of_node[tails])
            better = np.flatnonzero(worth > value[tails] + _CLOSE * np.maximum(size, 1.0))
        if not better.size:
            return best
        changed = tails[better]
        follow[changed] = _best_of_each(graph, worth, better)[changed]
    return best


def _best_of_each(graph: _Graph, worth: Floats, edges: Ints) -> Ints:
    """[n] the edge of greatest worth out of each node among ``edges`` (0 where it has none of them)."""
    order = edges[np.lexsort((worth[edges], graph.tails[edges]))]
    out = np.zeros(graph.n, dtype=np.int64)
    out[graph.tails[order]] = order  # the last written of each node is its greatest
    return out


def _evaluate(graph: _Graph, follow: Ints) -> tuple[dict[int, Ring], Floats, Floats]:
    """Rings that the followed edges make, the ratio of the ring each node runs into, and what it gains on the way.

    By doubling: after k rounds every node knows where 2^k steps lead, and what they add up to.
    """
    step = graph.heads[follow]
    rounds = max(1, math.ceil(math.log2(graph.n))) + 1
    far, least = step.copy(), np.minimum(np.arange(graph.n), step)
    for _ in range(rounds):
        least = np.minimum(least, least[far])
        far = far[far]
    root = least[far]  # the least node of the ring that each node runs into: ``far`` is on it
    at_root = root == np.arange(graph.n)
    rings = {r: _ring(graph, follow, r) for r in np.flatnonzero(at_root).tolist()}
    ratio = np.zeros(graph.n)
    ratio[list(rings)] = [ring.ratio for ring in rings.values()]
    ratio = ratio[root]
    if not np.isfinite(ratio).all():
        return rings, ratio, np.zeros(graph.n)
    value = np.where(at_root, 0.0, graph.weights[follow] - ratio * graph.tokens[follow])
    step = np.where(at_root, np.arange(graph.n), step)
    for _ in range(rounds):
        value = value + value[step]
        step = step[step]
    return rings, ratio, value


def _ring(graph: _Graph, follow: Ints, root: int) -> Ring:
    """The ring through ``root``."""
    nodes = [root]
    while (onward := int(graph.heads[follow[nodes[-1]]])) != root:
        nodes.append(onward)
    edges = follow[nodes]
    weight, tokens = math.fsum(graph.weights[edges]), int(graph.tokens[edges].sum())
    ratio = weight / tokens if tokens else (math.inf if weight > 0 else 0.0)
    return Ring(ratio, weight, tokens, tuple(nodes))
