"""The lines of the map: horizontal through the columns, vertical in the gutters between them, never over a node.

Each gutter has tracks; lines that meet at one symbol share a track, and the order of the tracks is the one with the
fewest crossings. An edge from one band to the next runs out at the right, through the channel between the bands, and
in again at the left.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field
from itertools import pairwise, permutations

from linewright.report.map.graph import Graph
from linewright.report.map.order import Ordered
from linewright.report.map.place import COLUMN, SYMBOL, band_of

TRACK = 8.0
NARROW = 20.0
ARROW = 9.0
MARGIN = 10.0
CHANNEL = 9.0
PORT = 7.0
"""A loop leaves and enters a symbol so far below its middle, apart from what goes on."""

Point = tuple[float, float]


@dataclass(slots=True)
class Piece:
    """A vertical in a gutter from ``y1`` to ``y2``; ``left1``, ``left2``: at that end the line goes on to the left."""

    gutter: tuple[int, int]
    y1: float
    y2: float
    left1: bool
    left2: bool
    key: Hashable
    track: int = 0

    @property
    def low(self) -> float:
        """The smaller height."""
        return min(self.y1, self.y2)

    @property
    def high(self) -> float:
        """The greater height."""
        return max(self.y1, self.y2)

    @property
    def straight(self) -> bool:
        """The line passes the gutter without a bend."""
        return abs(self.y1 - self.y2) < 0.01 and self.left1 != self.left2


@dataclass(frozen=True, slots=True)
class Drawing:
    """Points of every cell and of every edge's line, the left and right end of each column, and the whole size."""

    points: tuple[Point, ...]
    lines: tuple[tuple[Point, ...], ...]
    spans: tuple[Point, ...]
    tops: tuple[float, ...]
    width: float
    height: float


@dataclass(slots=True)
class _Wiring:
    graph: Graph
    ordered: Ordered
    firsts: list[int]
    y: list[float]
    channels: dict[tuple[int, int], float] = field(default_factory=dict)

    def band(self, cell: int) -> int:
        return band_of(self.ordered.cells[cell].column, self.firsts)

    def gutter(self, cell: int, *, right: bool) -> tuple[int, int]:
        band = self.band(cell)
        return band, self.ordered.cells[cell].column - self.firsts[band] + (1 if right else 0)


def draw_wires(graph: Graph, ordered: Ordered, firsts: list[int], y: list[float], tall: list[float]) -> Drawing:
    """All positions, from heights inside the bands to points on the page."""
    wiring = _Wiring(graph, ordered, firsts, list(y))
    crossing = _band_crossings(wiring)
    tops, height = _stack(tall, crossing)
    for cell in range(len(ordered.cells)):
        wiring.y[cell] += tops[wiring.band(cell)]
    for gap, users in crossing.items():
        users.sort(key=lambda user: -wiring.y[user[1]])
        floor = tops[gap + 1] - CHANNEL * (len(users) + 1)
        wiring.channels.update({(gap, edge): floor + CHANNEL * (k + 1) for k, (edge, _) in enumerate(users)})
    pieces = [_pieces(wiring, i) for i in range(len(graph.edges))]
    gutters: dict[tuple[int, int], list[Piece]] = {}
    for piece in (p for row in pieces for p in row):
        gutters.setdefault(piece.gutter, []).append(piece)
    widths = {gutter: NARROW + TRACK * max(0, _assign(found) - 1) for gutter, found in gutters.items()}
    spans, starts, width = _columns(wiring, widths)
    points = tuple(((spans[c.column][0] + spans[c.column][1]) / 2, wiring.y[k]) for k, c in enumerate(ordered.cells))
    lines = tuple(
        _line(edge_pieces, points[e.source], points[e.target], starts, PORT if e.loop else 0.0)
        for edge_pieces, e in zip(pieces, graph.edges, strict=True)
    )
    return Drawing(points, lines, tuple(spans), tuple(tops), width, height)


def _band_crossings(wiring: _Wiring) -> dict[int, list[tuple[int, int]]]:
    """For each gap between bands the edges that pass it, with the cell where each leaves or enters the upper band."""
    found: dict[int, list[tuple[int, int]]] = {}
    for i, chain in enumerate(wiring.ordered.chains):
        for a, b in pairwise(chain):
            upper, lower = sorted((a, b), key=wiring.band)
            if wiring.band(upper) != wiring.band(lower):
                found.setdefault(wiring.band(upper), []).append((i, upper))
    return found


def _stack(tall: list[float], crossing: dict[int, list[tuple[int, int]]]) -> tuple[list[float], float]:
    tops, at = [], MARGIN
    for band, height in enumerate(tall):
        tops.append(at)
        at += height + 26.0 + CHANNEL * (len(crossing.get(band, ())) + 1 if band + 1 < len(tall) else 0)
    return tops, at - 26.0 + MARGIN


def _pieces(wiring: _Wiring, i: int) -> list[Piece]:
    """The verticals of edge ``i`` from its source to its target."""
    edge, chain, y = wiring.graph.edges[i], wiring.ordered.chains[i], wiring.y
    out: Hashable = ("from", edge.source, edge.loop)
    into: Hashable = ("to", edge.target, edge.loop, edge.passing == "rework")
    found: list[Piece] = []
    for step, (a, b) in enumerate(pairwise(chain)):
        key = into if step == len(chain) - 2 else out if step == 0 else ("edge", i)
        if edge.loop and step == 0:
            found.append(Piece(wiring.gutter(a, right=True), y[a] + PORT, y[b], True, True, key))
        elif edge.loop and step == len(chain) - 2:
            found.append(Piece(wiring.gutter(b, right=False), y[a], y[b] + PORT, False, False, key))
        elif wiring.band(a) == wiring.band(b):
            gutter = wiring.gutter(a, right=not edge.loop)
            found.append(Piece(gutter, y[a], y[b], not edge.loop, edge.loop, key))
        else:
            gap = min(wiring.band(a), wiring.band(b))
            through = wiring.channels[gap, i]
            leave, enter = wiring.gutter(a, right=not edge.loop), wiring.gutter(b, right=edge.loop)
            found.append(Piece(leave, y[a], through, not edge.loop, not edge.loop, ("edge", i)))
            found.append(Piece(enter, through, y[b], edge.loop, edge.loop, key))
    return found


def _assign(pieces: list[Piece]) -> int:
    """Give every vertical of one gutter a track; returns how many tracks there are."""
    groups: dict[Hashable, list[Piece]] = {}
    for k, piece in enumerate(pieces):
        if not piece.straight:
            shared = piece.key[0] != "edge" if isinstance(piece.key, tuple) else False
            groups.setdefault(piece.key if shared else (piece.key, k), []).append(piece)
    rows = _best_order(list(groups.values()))
    placed: list[tuple[int, float, float]] = []
    for row in rows:
        low, high = min(p.low for p in row), max(p.high for p in row)
        track = max((t + 1 for t, a, b in placed if a < high + 4 and low < b + 4), default=0)
        placed.append((track, low, high))
        for piece in row:
            piece.track = track
    return max((track for track, _, _ in placed), default=0) + 1


def _best_order(rows: list[list[Piece]]) -> list[list[Piece]]:
    if len(rows) <= 1:
        return rows
    rows = sorted(rows, key=lambda row: min(p.low for p in row))
    if len(rows) <= 5:
        return list(min(permutations(rows), key=lambda tried: _count(list(tried))))
    fewest = _count(rows)
    for _ in range(len(rows)):
        before = fewest
        for k in range(len(rows) - 1):
            rows[k], rows[k + 1] = rows[k + 1], rows[k]
            now = _count(rows)
            if now < fewest:
                fewest = now
            else:
                rows[k], rows[k + 1] = rows[k + 1], rows[k]
        if fewest == before:
            break
    return rows


def _count(rows: list[list[Piece]]) -> int:
    """Crossings between the verticals and the horizontals that lead to them, tracks in this order."""
    total = 0
    for x, row in enumerate(rows):
        for other, others in enumerate(rows):
            if other == x:
                continue
            for piece in row:
                for crossed in others:
                    total += _hits(piece.y1, piece.left1, x, crossed, other)
                    total += _hits(piece.y2, piece.left2, x, crossed, other)
    return total


def _hits(y: float, left: bool, x: int, crossed: Piece, other: int) -> bool:
    between = other < x if left else other > x
    return between and crossed.low < y < crossed.high


def _columns(
    wiring: _Wiring, widths: dict[tuple[int, int], float]
) -> tuple[list[Point], dict[tuple[int, int], float], float]:
    """Left and right end of every column, the left end of every gutter, and the width of the map."""
    spans: list[Point] = []
    starts: dict[tuple[int, int], float] = {}
    width = 0.0
    count = len(wiring.ordered.columns)
    for band, first in enumerate(wiring.firsts):
        last = wiring.firsts[band + 1] if band + 1 < len(wiring.firsts) else count
        x = MARGIN
        for k in range(last - first + 1):
            starts[band, k] = x
            edge_of_band = k in (0, last - first)
            x += widths.get((band, k), 0.0 if edge_of_band else NARROW)
            if k < last - first:
                spans.append((x, x + COLUMN))
                x += COLUMN
        width = max(width, x)
    return spans, starts, width + MARGIN


def _line(
    pieces: list[Piece],
    source: Point,
    target: Point,
    starts: dict[tuple[int, int], float],
    port: float,
) -> tuple[Point, ...]:
    reach = SYMBOL if port == 0.0 else (SYMBOL**2 - port**2) ** 0.5
    points: list[Point] = [(source[0] + reach, source[1] + port)]
    for piece in pieces:
        if piece.straight:
            continue
        x = starts[piece.gutter] + (NARROW - ARROW) / 2 + TRACK * piece.track
        points += [(x, piece.y1), (x, piece.y2)]
    points.append((target[0] - reach, target[1] + port))
    return _tidy(points)


def _tidy(points: list[Point]) -> tuple[Point, ...]:
    """Without points that repeat or lie on a straight line between their neighbours."""
    kept = [points[0]]
    for k, point in enumerate(points[1:], start=1):
        if abs(point[0] - kept[-1][0]) < 0.01 and abs(point[1] - kept[-1][1]) < 0.01:
            continue
        if k + 1 < len(points):
            after = points[k + 1]
            level = abs(kept[-1][1] - point[1]) < 0.01 and abs(point[1] - after[1]) < 0.01
            upright = abs(kept[-1][0] - point[0]) < 0.01 and abs(point[0] - after[0]) < 0.01
            if level or upright:
                continue
        kept.append(point)
    return tuple(kept)
