"""From a graph to positions: columns, bands, order, heights and lines, and the texts broken to the column's width."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass

from linewright.report.map.graph import Graph, Node
from linewright.report.map.layers import bands, layers
from linewright.report.map.order import Ordered, order
from linewright.report.map.place import Box, band_of, box, heights
from linewright.report.map.wires import Drawing, draw_wires

COLUMNS = 9


@dataclass(frozen=True, slots=True)
class Texts:
    """The lines around a symbol: ``starts`` (the route's name) and what goes in ``above`` it, the others below."""

    starts: tuple[str, ...]
    above: tuple[str, ...]
    name: tuple[str, ...]
    details: tuple[str, ...]
    out: tuple[str, ...]

    @property
    def below(self) -> int:
        """Small lines below the name."""
        return len(self.details) + len(self.out)


@dataclass(frozen=True, slots=True)
class Layout:
    """Everything that the drawing needs. ``band`` is that of each node."""

    graph: Graph
    ordered: Ordered
    texts: tuple[Texts, ...]
    boxes: tuple[Box, ...]
    firsts: tuple[int, ...]
    band: tuple[int, ...]
    drawing: Drawing


def lay_out(graph: Graph, most_columns: int = COLUMNS) -> Layout:
    """Lay the graph out in bands of at most ``most_columns`` columns."""
    column_of = layers(graph)
    firsts = bands(graph, column_of, most_columns)
    ordered = order(graph, column_of)
    band = tuple(band_of(column, firsts) for column in column_of)
    shown = _station_shown(graph, band)
    texts = tuple(_texts(node, station=shown[k]) for k, node in enumerate(graph.nodes))
    boxes = [box(len(t.above), len(t.name), t.below, len(t.starts)) for t in texts]
    y, tall = heights(graph, ordered, firsts, boxes)
    drawing = draw_wires(graph, ordered, firsts, y, tall)
    return Layout(graph, ordered, texts, tuple(boxes), tuple(firsts), band, drawing)


def _station_shown(graph: Graph, band: tuple[int, ...]) -> list[bool]:
    """A station is written once for each visit and band: at the first of consecutive operations there."""
    before = {
        e.target: graph.nodes[e.source].station
        for e in graph.edges
        if e.passing == "next" and band[e.source] == band[e.target]
    }
    return [bool(n.station) and before.get(k) != n.station for k, n in enumerate(graph.nodes)]


def _texts(node: Node, *, station: bool) -> Texts:
    details = [line for part in node.details for line in broken(part, 21, 2)]
    if station:
        details += broken(f"at {node.station}", 20, 1)
    starts = tuple(broken(node.starts, 15, 2)) if node.starts else ()
    return Texts(
        starts,
        tuple(few(node.inputs, 3, 18)),
        tuple(broken(node.name, 17, 3)),
        tuple(details),
        tuple(few(node.outputs, 2, 16)),
    )


def broken(text: str, width: int, most: int) -> list[str]:
    """A text in at most ``most`` lines of about ``width`` characters, the last one cut with an ellipsis.

    >>> broken("Run adhesive round both flanges", 18, 1)
    ['Run adhesive roun…']
    """
    lines = textwrap.wrap(text, width, break_long_words=True) or [""]
    if len(lines) > most:
        kept = " ".join(lines[most - 1 :])
        lines = [*lines[: most - 1], kept[: width - 1].rstrip() + "…"]
    return lines


def few(texts: tuple[str, ...], most: int, width: int) -> list[str]:
    """One line a text, at most ``most``, the last saying how many more there are."""
    if len(texts) > most:
        return [cut(text, width) for text in texts[: most - 1]] + [f"and {len(texts) - most + 1} more"]
    return [cut(text, width) for text in texts]


def cut(text: str, width: int) -> str:
    """The text, cut with an ellipsis where it is longer than ``width``."""
    return text if len(text) <= width else text[: width - 1].rstrip() + "…"
