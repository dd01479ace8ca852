"""Which column each node stands in, and where the columns wrap into bands.

Columns come from a small linear program: every forward edge goes at least one column to the right and the edges
together are as short as they can be (the layering of Gansner, Koutsofios, North and Vo, 1993). Bands come from a
shortest path over the possible breaks, counting the edges each break would cut.
"""

from __future__ import annotations

from linewright.report.map.graph import Graph
from linewright.report.map.program import Program

_WEIGHT = {"next": 4.0, "feeds": 1.0, "by-product": 1.0, "rework": 0.5}


def layers(graph: Graph) -> list[int]:
    """Column of every node, from 0; each forward edge goes at least one column to the right."""
    n = len(graph.nodes)
    forward = [e for e in graph.edges if not e.loop]
    program = Program([1e-6] * n, [0.0] * n)  # else a part joined to nothing could float anywhere
    for edge in forward:
        weight = _WEIGHT[edge.passing]
        program.cost[edge.target] += weight
        program.cost[edge.source] -= weight
        program.at_most(-1.0, (edge.source, 1.0), (edge.target, -1.0))
    column_of = [round(x) for x in program.solve()]
    if any(column_of[e.target] <= column_of[e.source] for e in forward):
        raise ArithmeticError("the columns of the map came out of order")
    lowest = min(column_of)
    return [c - lowest for c in column_of]


def bands(graph: Graph, column_of: list[int], most: int) -> list[int]:
    """First column of every band, with at most ``most`` columns in one and as few edges cut as can be."""
    count = max(column_of) + 1
    cut = [0.0] * (count + 1)
    for edge in graph.edges:
        low, high = sorted((column_of[edge.source], column_of[edge.target]))
        for at in range(low + 1, high + 1):
            cut[at] += 1.0 if not edge.loop else 2.0
    fewest = -(-count // most)
    best: list[tuple[float, int]] = [(0.0, -1)]
    even = count / fewest
    for end in range(1, count + 1):
        options = []
        for start in range(max(0, end - most), end):
            uneven = 0.15 * abs(end - start - even)
            options.append((best[start][0] + 3.0 + uneven + (cut[start] if start else 0.0), start))
        best.append(min(options))
    starts, at = [], count
    while at > 0:
        at = best[at][1]
        starts.append(at)
    return starts[::-1]
