"""Where every cell of the map stands: heights by a linear program for each band, widths from the edges that pass.

In a band the cells of a column keep their order and never overlap, and edges run as straight as can be (the
coordinate program of Gansner, Koutsofios, North and Vo, 1993).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from linewright.report.map.graph import Graph
from linewright.report.map.order import Ordered
from linewright.report.map.program import Program

COLUMN = 106.0
SYMBOL = 15.0
LINE = 12.5
SMALL = 11.5
GAP = 8.0
LANE = 6.0


@dataclass(frozen=True, slots=True)
class Box:
    """Lines of text above and below a symbol, and the room they need."""

    above: float
    below: float


def box(inputs: int, name: int, details: int, starts: int) -> Box:
    """The room of a node with so many lines of inputs, name, details and route name."""
    above = SYMBOL + 4.0 + SMALL * inputs + LINE * starts + (4.0 if starts else 0.0)
    return Box(above, SYMBOL + 5.0 + LINE * name + SMALL * details)


def band_of(column: int, firsts: list[int]) -> int:
    """The band in which ``column`` stands."""
    return sum(1 for first in firsts if first <= column) - 1


def heights(graph: Graph, ordered: Ordered, firsts: list[int], boxes: list[Box]) -> tuple[list[float], list[float]]:
    """Height of every cell from the top of its band, and the height of every band."""
    y = [0.0] * len(ordered.cells)
    tall = []
    for band, first in enumerate(firsts):
        last = firsts[band + 1] if band + 1 < len(firsts) else len(ordered.columns)
        columns = [list(column) for column in ordered.columns[first:last]]
        cells = [cell for column in columns for cell in column]
        room = {cell: _room(ordered, cell, boxes) for cell in cells}
        for cell, height in _solve(graph, ordered, columns, room).items():
            y[cell] = height
        tall.append(max(y[cell] + room[cell].below for cell in cells))
    return y, tall


def _room(ordered: Ordered, cell: int, boxes: list[Box]) -> Box:
    node = ordered.cells[cell].node
    return boxes[node] if node >= 0 else Box(LANE, LANE)


def _solve(graph: Graph, ordered: Ordered, columns: list[list[int]], room: dict[int, Box]) -> dict[int, float]:
    index = {cell: k for k, cell in enumerate(cell for column in columns for cell in column)}
    bends = _bends(graph, ordered, index)
    n = len(index)
    program = Program(
        [0.01] * n + [weight for _, _, weight in bends], [room[cell].above for cell in index] + [0.0] * len(bends)
    )
    for column in columns:
        for upper, lower in pairwise(column):
            apart = room[upper].below + room[lower].above + GAP
            program.at_most(-apart, (index[upper], 1.0), (index[lower], -1.0))
    for k, (a, b, _) in enumerate(bends):
        program.at_most(0.0, (a, 1.0), (b, -1.0), (n + k, -1.0))
        program.at_most(0.0, (a, -1.0), (b, 1.0), (n + k, -1.0))
    found = program.solve()
    return {cell: round(found[k], 2) for cell, k in index.items()}


def _bends(graph: Graph, ordered: Ordered, index: dict[int, int]) -> list[tuple[int, int, float]]:
    """Pairs of variables that should be level, with weights: the trunk of a route most."""
    found = []
    for i, chain in enumerate(ordered.chains):
        edge = graph.edges[i]
        for a, b in pairwise(chain):
            if a not in index or b not in index:
                continue
            nodes = (ordered.cells[a].node >= 0) + (ordered.cells[b].node >= 0)
            if edge.loop:
                weight = (4.0, 0.2, 0.2)[nodes]
            elif edge.passing == "next":
                weight = 8.0
            else:
                weight = (4.0, 2.0, 1.5)[nodes]
            if ordered.cells[a].column != ordered.cells[b].column or edge.loop:
                found.append((index[a], index[b], weight))
    return found
