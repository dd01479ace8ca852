"""In which order the nodes of each column stand, so that few edges cross.

Edges longer than one column get a cell in every column they pass. Forward edges are ordered by sweeps of weighted
means with swaps of neighbours, the best kept (Sugiyama, Tagawa and Toda, 1981). A loop gets a lane of its own under
the path it closes, the shorter loop inside the longer.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from itertools import pairwise

from linewright.report.map.graph import Graph

SWEEPS = 12


@dataclass(frozen=True, slots=True)
class Cell:
    """A place in a column: a node, or a passing edge (``node`` is -1; ``lane`` where that edge is a loop)."""

    column: int
    node: int
    edge: int = -1
    lane: bool = False


@dataclass(frozen=True, slots=True)
class Ordered:
    """Cells, the cells in each column from top to bottom, and for each edge the cells it passes, ends included."""

    cells: tuple[Cell, ...]
    columns: tuple[tuple[int, ...], ...]
    chains: tuple[tuple[int, ...], ...]


def order(graph: Graph, column_of: list[int]) -> Ordered:
    """Order all cells; the first cells are the nodes, in order of the graph."""
    cells = [Cell(column_of[v], v) for v in range(len(graph.nodes))]
    chains: list[tuple[int, ...]] = []
    for i, edge in enumerate(graph.edges):
        if edge.loop:
            chains.append(())
            continue
        between = range(column_of[edge.source] + 1, column_of[edge.target])
        chains.append((edge.source, *range(len(cells), len(cells) + len(between)), edge.target))
        cells.extend(Cell(column, -1, i) for column in between)
    columns = _first_order(cells, chains)
    columns = _fewest_crossings(columns, len(cells), chains)
    for i in _longest_first(graph, column_of):
        chains[i] = _add_lane(graph, i, cells, columns, chains)
    return Ordered(tuple(cells), tuple(tuple(column) for column in columns), tuple(chains))


def _neighbours(n: int, chains: list[tuple[int, ...]]) -> tuple[list[list[int]], list[list[int]]]:
    left: list[list[int]] = [[] for _ in range(n)]
    right: list[list[int]] = [[] for _ in range(n)]
    for chain in chains:
        for a, b in pairwise(chain):
            right[a].append(b)
            left[b].append(a)
    return left, right


def _first_order(cells: list[Cell], chains: list[tuple[int, ...]]) -> list[list[int]]:
    """Walk back from the last columns, so that what ends together starts together."""
    left, _ = _neighbours(len(cells), chains)
    columns: list[list[int]] = [[] for _ in range(max(c.column for c in cells) + 1)]
    seen = [False] * len(cells)
    for start in sorted(range(len(cells)), key=lambda c: (-cells[c].column, c)):
        stack = [start]
        while stack:
            cell = stack.pop()
            if seen[cell]:
                continue
            seen[cell] = True
            columns[cells[cell].column].append(cell)
            stack.extend(reversed(left[cell]))
    return columns


def _fewest_crossings(columns: list[list[int]], n: int, chains: list[tuple[int, ...]]) -> list[list[int]]:
    left, right = _neighbours(n, chains)
    best, fewest = [list(c) for c in columns], crossings(columns, right)
    for sweep in range(SWEEPS):
        if fewest == 0:
            break
        leftward = sweep % 2 == 1
        sequence = range(len(columns) - 2, -1, -1) if leftward else range(1, len(columns))
        for k in sequence:
            beside = columns[k + 1] if leftward else columns[k - 1]
            _sort_by_mean(columns[k], beside, right if leftward else left)
        _swap_neighbours(columns, left, right)
        now = crossings(columns, right)
        if now < fewest:
            best, fewest = [list(c) for c in columns], now
    return best


def _sort_by_mean(column: list[int], beside: list[int], joined: list[list[int]]) -> None:
    """Sort by the mean place of the joined cells; a cell joined to nothing keeps its place."""
    place = {cell: k for k, cell in enumerate(beside)}
    mean = {}
    for k, cell in enumerate(column):
        rows = [place[other] for other in joined[cell] if other in place]
        mean[cell] = sum(rows) / len(rows) if rows else float(k)
    column.sort(key=lambda cell: mean[cell])


def _swap_neighbours(columns: list[list[int]], left: list[list[int]], right: list[list[int]]) -> None:
    for _ in range(4):
        improved = False
        for k, column in enumerate(columns):
            before = {c: i for i, c in enumerate(columns[k - 1])} if k else {}
            after = {c: i for i, c in enumerate(columns[k + 1])} if k + 1 < len(columns) else {}
            for i in range(len(column) - 1):
                a, b = column[i], column[i + 1]
                kept = _pair(left[a], left[b], before) + _pair(right[a], right[b], after)
                swapped = _pair(left[b], left[a], before) + _pair(right[b], right[a], after)
                if swapped < kept:
                    column[i], column[i + 1] = b, a
                    improved = True
        if not improved:
            return


def _pair(upper: list[int], lower: list[int], place: dict[int, int]) -> int:
    """Crossings between the edges of two neighbouring cells."""
    return sum(1 for u in upper for v in lower if place[u] > place[v])


def crossings(columns: list[list[int]], right: list[list[int]]) -> int:
    """Pairs of edges between neighbouring columns that cross."""
    total = 0
    for k in range(len(columns) - 1):
        place = {cell: i for i, cell in enumerate(columns[k + 1])}
        ends = [place[to] for cell in columns[k] for to in sorted(right[cell], key=place.__getitem__)]
        total += sum(1 for i, a in enumerate(ends) for b in ends[i + 1 :] if a > b)
    return total


def _longest_first(graph: Graph, column_of: list[int]) -> list[int]:
    loops = [i for i, edge in enumerate(graph.edges) if edge.loop]
    return sorted(loops, key=lambda i: column_of[graph.edges[i].target] - column_of[graph.edges[i].source])


def _add_lane(
    graph: Graph, i: int, cells: list[Cell], columns: list[list[int]], chains: list[tuple[int, ...]]
) -> tuple[int, ...]:
    """Cells for loop ``i`` directly under the path from its target to its source; the chain runs from the source."""
    edge = graph.edges[i]
    path = _path(edge.target, edge.source, len(cells), chains)
    over = {cells[cell].column: cell for cell in path}
    low, high = sorted((cells[edge.target].column, cells[edge.source].column))
    lanes = []
    for column in range(high, low - 1, -1):
        lane = len(cells)
        cells.append(Cell(column, -1, i, lane=True))
        row = columns[column]
        row.insert(row.index(over[column]) + 1 if column in over else len(row), lane)
        lanes.append(lane)
    return (edge.source, *lanes, edge.target)


def _path(start: int, end: int, n: int, chains: list[tuple[int, ...]]) -> list[int]:
    """The fewest cells from ``start`` to ``end`` along forward edges; only the ends where there is no way."""
    _, right = _neighbours(n, [chain for chain in chains if chain])
    came = {start: start}
    pending = deque([start])
    while pending and end not in came:
        cell = pending.popleft()
        for after in right[cell]:
            if after not in came:
                came[after] = cell
                pending.append(after)
    if end not in came:
        return [start, end]
    path = [end]
    while path[-1] != start:
        path.append(came[path[-1]])
    return path
