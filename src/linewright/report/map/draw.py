"""The process map as one SVG picture that needs nothing else: symbols, lines, texts, a key, and words for a reader.

Colours are style variables with the light value written in, so the picture follows the page it stands in and still
looks right alone.
"""

from __future__ import annotations

from collections.abc import Collection
from html import escape
from itertools import pairwise

from linewright.plan.model import Plan
from linewright.report.map.graph import Graph, Node, graph_of, overview_of
from linewright.report.map.layout import Layout, Texts, lay_out
from linewright.report.map.place import LINE, SMALL, SYMBOL
from linewright.report.map.symbols import NAMES, colour, shape
from linewright.report.map.wires import Point
from linewright.report.palette import paint

KEY = 34.0
LONG = 400
"""A plan with more operations than this is drawn by route: nobody reads a map of more symbols."""


def process_map(
    plan: Plan, *, limits: Collection[str] = (), link: str = "", most_columns: int = 9, bare: bool = False
) -> str:
    """The map of a plan as SVG text; above ``LONG`` operations it shows routes instead of operations.

    ``limits`` are ids of operations to be ringed as what limits the rate. With ``link`` (``"#step-"``) every operation
    leads to that address followed by its id. ``bare`` leaves out the style, for a page that brings it from
    ``map_style`` and allows none inside its text.
    """
    count = sum(len(route.operations) for route in plan.routes.values())
    graph = graph_of(plan) if count <= LONG else overview_of(plan)
    return draw(lay_out(graph, most_columns), limits=limits, link=link, bare=bare)


def map_pages(
    plan: Plan,
    tallest: float,
    heading: float = 0.0,
    *,
    limits: Collection[str] = (),
    most_columns: int = 5,
    wide: float = 0.0,
) -> tuple[str, ...]:
    """The map cut between its bands into pictures no taller than ``tallest``, the key below the last one.

    The first leaves room for a ``heading``. A band that is taller by itself stays whole. All pictures are of one
    width, ``wide`` at least.
    """
    count = sum(len(route.operations) for route in plan.routes.values())
    layout = lay_out(graph_of(plan) if count <= LONG else overview_of(plan), most_columns)
    drawing = layout.drawing
    end = drawing.height + KEY
    cuts, last = [0.0], -heading
    for top, after in pairwise([*drawing.tops[1:], end]):
        if after - last > tallest:
            last = top
            cuts.append(top)
    return tuple(
        draw(layout, limits=limits, window=(low, high), wide=wide)
        for low, high in zip(cuts, [*cuts[1:], end], strict=True)
    )


def draw(
    layout: Layout,
    *,
    limits: Collection[str] = (),
    link: str = "",
    bare: bool = False,
    window: tuple[float, float] | None = None,
    wide: float = 760.0,
) -> str:
    """A laid-out map as SVG text; of it only what lies between two heights where there is a ``window``."""
    graph, drawing = layout.graph, layout.drawing
    width = max(drawing.width, wide)
    low, high = window or (0.0, drawing.height + KEY)
    height = high - low
    parts = [
        f'<svg class="lw-map" xmlns="http://www.w3.org/2000/svg" viewBox="0 {low:.0f} {width:.0f} {height:.0f}" '
        f'width="{width:.0f}" height="{height:.0f}" role="img" aria-labelledby="lw-map-title lw-map-desc">',
        f'<title id="lw-map-title">{escape(f"Process map of {graph.title}")}</title>',
        f'<desc id="lw-map-desc">{escape(describe(graph))}</desc>',
        "" if bare else f"<style>{map_style()}</style>",
        _markers(),
    ]
    parts += _visits(layout, low, high)
    wires = [i for i, line in enumerate(drawing.lines) if _passes(line, low, high)]
    parts += [_wire(layout, i) for i in sorted(wires, key=lambda i: not graph.edges[i].loop)]
    parts += [_node(layout, k, limits, link) for k in range(len(graph.nodes)) if low <= drawing.points[k][1] < high]
    if high > drawing.height:
        parts.append(_key(graph, drawing.height + 8.0, marked=bool(limits)))
    parts.append("</svg>")
    return "\n".join(parts)


def _passes(line: tuple[Point, ...], low: float, high: float) -> bool:
    """Whether any of a line lies between two heights."""
    return any(min(a, b) <= high and max(a, b) >= low for (_, a), (_, b) in pairwise(line))


def describe(graph: Graph) -> str:
    """The map in one paragraph, for those who do not see it."""
    counts = {word: sum(1 for n in graph.nodes if n.kind == kind) for kind, word in NAMES}
    told = ", ".join(f"{count} {word}{'s' if count != 1 else ''}" for word, count in counts.items() if count)
    back = [e for e in graph.edges if e.loop]
    loops = "; ".join(
        f"{graph.nodes[e.source].name} goes back to {graph.nodes[e.target].name} ({e.label})" for e in back
    )
    return f"{told}." + (f" Going back: {loops}." if loops else "")


def map_style() -> str:
    """The style sheet of every map."""
    text = "font-family:system-ui,'Segoe UI',Helvetica,Arial,sans-serif"
    kinds = "".join(
        f".lw-map .{kind}{{fill:{paint(kind + '-fill')};stroke:{paint(kind)}}}"
        for kind in ("operation", "inspection", "transport", "delay", "storage")
    )
    return (
        f".lw-map text{{{text};text-anchor:middle;fill:{paint('ink')};font-size:11.5px}}"
        f".lw-map .s{{font-size:10.5px;fill:{paint('soft')}}}"
        f".lw-map .in{{font-size:10.5px;fill:{paint('accent')}}}"
        f".lw-map .r{{font-size:11.5px;font-weight:650;fill:{paint('accent')};text-anchor:start;letter-spacing:.02em}}"
        f".lw-map .n{{font-size:11px;font-weight:600;fill:{paint('ink')}}}"
        f".lw-map .k{{text-anchor:start}}"
        f".lw-map .sym{{stroke-width:1.7}}{kinds}"
        f".lw-map .w{{fill:none;stroke:{paint('wire')};stroke-width:1.5}}"
        f".lw-map .rework{{stroke:{paint('rework')};stroke-dasharray:5 3.5}}"
        f".lw-map .back{{stroke:{paint('recycle')};stroke-dasharray:9 3}}"
        f".lw-map .by{{stroke-dasharray:2 3}}"
        f".lw-map .visit{{fill:{paint('faint')};stroke:none}}"
        f".lw-map .limit{{fill:{paint('limit-fill')};stroke:{paint('limit')};stroke-width:1.5}}"
        f".lw-map .m{{fill:{paint('wire')}}}.lw-map .mr{{fill:{paint('rework')}}}.lw-map .mb{{fill:{paint('recycle')}}}"
        f".lw-map .tick{{stroke:{paint('accent')};stroke-width:1.2}}"
        f".lw-map a:focus .sym,.lw-map a:hover .sym{{stroke-width:3}}"
    )


def _markers() -> str:
    kinds = (("lw-arrow", "m"), ("lw-arrow-rework", "mr"), ("lw-arrow-back", "mb"))
    return (
        "<defs>"
        + "".join(
            f'<marker id="{name}" viewBox="0 0 8 8" refX="7.4" refY="4" markerWidth="7" markerHeight="7" '
            f'orient="auto" markerUnits="userSpaceOnUse"><path class="{style}" d="M0 .8L8 4L0 7.2Z"/></marker>'
            for name, style in kinds
        )
        + "</defs>"
    )


def _visits(layout: Layout, low: float, high: float) -> list[str]:
    """A band of colour behind consecutive operations at one station: the place is held from first to last."""
    graph, points = layout.graph, layout.drawing.points
    bars = []
    for edge in graph.edges:
        a, b = edge.source, edge.target
        same = graph.nodes[a].station and graph.nodes[a].station == graph.nodes[b].station
        level = layout.band[a] == layout.band[b] and abs(points[a][1] - points[b][1]) < 0.01
        if edge.passing == "next" and same and level and low <= points[a][1] < high:
            x, y, r = points[a][0], points[a][1], SYMBOL + 4.0
            bars.append(
                f'<rect class="visit" x="{x - r:.1f}" y="{y - r:.1f}" rx="{r:g}" '
                f'width="{points[b][0] - x + 2 * r:.1f}" height="{2 * r:g}"/>'
            )
    return bars


def _wire(layout: Layout, i: int) -> str:
    edge, nodes = layout.graph.edges[i], layout.graph.nodes
    style, arrow = "w", "lw-arrow"
    if edge.passing == "rework":
        style, arrow = "w rework", "lw-arrow-rework"
    elif edge.loop:
        style, arrow = "w back", "lw-arrow-back"
    elif edge.passing == "by-product":
        style = "w by"
    words = f"{edge.label + ': ' if edge.label else ''}{nodes[edge.source].name} to {nodes[edge.target].name}"
    ends = f'data-from="{_quoted(nodes[edge.source].id)}" data-to="{_quoted(nodes[edge.target].id)}"'
    return (
        f'<g><title>{escape(words)}</title><path class="{style}" data-edge="{i}" {ends} '
        f'd="{rounded(layout.drawing.lines[i])}" marker-end="url(#{arrow})"/></g>'
    )


def _quoted(text: str) -> str:
    return escape(text, quote=True)


def rounded(points: tuple[Point, ...], radius: float = 6.0) -> str:
    """The path through right-angled ``points`` with rounded corners, as SVG path data."""
    path = [f"M{points[0][0]:.1f} {points[0][1]:.1f}"]
    for before, at, after in zip(points, points[1:], points[2:], strict=False):
        into, out = _toward(at, before, radius), _toward(at, after, radius)
        path.append(f"L{into[0]:.1f} {into[1]:.1f}Q{at[0]:.1f} {at[1]:.1f} {out[0]:.1f} {out[1]:.1f}")
    path.append(f"L{points[-1][0]:.1f} {points[-1][1]:.1f}")
    return "".join(path)


def _toward(start: Point, end: Point, length: float) -> Point:
    dx, dy = end[0] - start[0], end[1] - start[1]
    whole = max(abs(dx) + abs(dy), 1e-9)
    part = min(length, whole / 2) / whole
    return start[0] + dx * part, start[1] + dy * part


def _node(layout: Layout, k: int, limits: Collection[str], link: str) -> str:
    node, texts = layout.graph.nodes[k], layout.texts[k]
    x, y = layout.drawing.points[k]
    inside = []
    if node.number and node.id in limits:
        r = SYMBOL + 5.0
        inside.append(
            f'<rect class="limit" x="{x - r:.1f}" y="{y - r:.1f}" width="{2 * r:g}" height="{2 * r:g}" rx="{r:g}"/>'
        )
    inside.append(f'<g class="sym {colour(node.kind)}">{shape(node.kind, round(x, 1), round(y, 1))}</g>')
    if node.number:
        dx = {"transport": -2.0, "delay": -1.5}.get(node.kind, 0.0)
        inside.append(f'<text class="n" x="{x + dx:.1f}" y="{y + 4:.1f}">{node.number}</text>')
    inside += _texts(node, texts, x, y)
    body = f"<title>{escape(told(node))}</title>{''.join(inside)}"
    if link and node.number:
        body = f'<a href="{_quoted(link + node.id)}">{body}</a>'
    return f'<g class="node" data-node="{_quoted(node.id)}">{body}</g>'


def told(node: Node) -> str:
    """All that is known of a node in one line, shown by the pointer and read aloud."""
    parts = [f"{node.number}. {node.name}" if node.number else node.name]
    parts += node.details
    if node.station:
        parts.append(f"at {node.station}")
    if node.inputs:
        parts.append("takes " + ", ".join(node.inputs))
    if node.outputs:
        parts.append("gives off " + ", ".join(node.outputs))
    return "; ".join(parts)


def _texts(node: Node, texts: Texts, x: float, y: float) -> list[str]:
    out = []
    top = y - SYMBOL - 6.0
    if texts.above:
        out.append(f'<path class="tick" d="M{x:.1f} {top + 1:.1f}v4.5"/>')
    for row, text in enumerate(reversed(texts.above)):
        out.append(_text("in", x, top - 2.0 - SMALL * row, text))
    if node.starts:
        height = top - 2.0 - SMALL * len(texts.above) - (3.0 if texts.above else 0.0)
        for row, text in enumerate(reversed(texts.starts)):
            out.append(_text("r", x - 46.0, height - LINE * row, text))
    at = y + SYMBOL + LINE + 1.0
    for text in texts.name:
        out.append(_text("", x, at, text))
        at += LINE
    for text in texts.details:
        out.append(_text("s", x, at, text))
        at += SMALL
    for text in texts.out:
        out.append(_text("s", x, at, "→ " + text))
        at += SMALL
    return out


def _text(style: str, x: float, y: float, text: str) -> str:
    chosen = f' class="{style}"' if style else ""
    return f'<text{chosen} x="{x:.1f}" y="{y:.1f}">{escape(text)}</text>'


def _key(graph: Graph, y: float, *, marked: bool) -> str:
    """The key: only what the map shows."""
    x, parts = 26.0, ['<g class="key" aria-hidden="true">']
    for kind, word in NAMES:
        if not any(n.kind == kind or (n.kind, kind) == ("product", "storage") for n in graph.nodes):
            continue
        parts.append(f'<g class="sym {colour(kind)}">{shape(kind, x, y + 8, 8.0)}</g>')
        parts.append(_text("s k", x + 13, y + 11.5, word))
        x += 30 + 6.2 * len(word)
    lines = {
        "goes back (recycle)": ("w back", any(e.loop and e.passing != "rework" for e in graph.edges)),
        "rework": ("w rework", any(e.passing == "rework" for e in graph.edges)),
        "by-product": ("w by", any(e.passing == "by-product" and not e.loop for e in graph.edges)),
    }
    for word, (style, shown) in lines.items():
        if shown:
            parts.append(f'<path class="{style}" d="M{x - 6:.1f} {y + 8:.1f}h26"/>')
            parts.append(_text("s k", x + 25, y + 11.5, word))
            x += 44 + 6.0 * len(word)
    if marked:
        parts.append(f'<rect class="limit" x="{x - 4:.1f}" y="{y:.1f}" width="16" height="16" rx="8"/>')
        parts.append(_text("s k", x + 17, y + 11.5, "limits the rate"))
    parts.append("</g>")
    return "".join(parts)
