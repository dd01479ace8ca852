"""The process map: nothing overlaps, every edge is drawn between its ends, and only what goes back is drawn back."""

from __future__ import annotations

import itertools
import xml.etree.ElementTree as ET
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.plan.model import Plan
from linewright.report.map import process_map
from linewright.report.map.graph import Edge, Graph, Node, graph_of, overview_of, with_loops
from linewright.report.map.layers import bands, layers
from linewright.report.map.layout import Layout, broken, lay_out
from linewright.report.map.place import COLUMN, SYMBOL

SVG = "{http://www.w3.org/2000/svg}"


def boxes_of(layout: Layout) -> list[tuple[float, float, float, float]]:
    found = []
    for (x, y), box in zip(layout.drawing.points, layout.boxes, strict=False):
        found.append((x - COLUMN / 2, y - box.above, x + COLUMN / 2, y + box.below))
    return found


def check_geometry(layout: Layout) -> None:
    boxes = boxes_of(layout)
    for (i, a), (j, b) in itertools.combinations(enumerate(boxes), 2):
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert apart, (layout.graph.nodes[i].name, layout.graph.nodes[j].name)
    for edge, line in zip(layout.graph.edges, layout.drawing.lines, strict=True):
        (x0, y0), (x1, y1) = line[0], line[-1]
        (sx, sy), (tx, ty) = layout.drawing.points[edge.source], layout.drawing.points[edge.target]
        assert sx < x0 <= sx + SYMBOL + 0.01
        assert abs(y0 - sy) <= SYMBOL
        assert tx - SYMBOL - 0.01 <= x1 < tx
        assert abs(y1 - ty) <= SYMBOL
        for (ax, ay), (bx, by) in itertools.pairwise(line):
            assert abs(ax - bx) < 0.01 or abs(ay - by) < 0.01, "lines run level or upright"
        check_line_clear(layout, edge, line, boxes)
    width, height = layout.drawing.width, layout.drawing.height
    for line in layout.drawing.lines:
        assert all(0 <= x <= width and 0 <= y <= height for x, y in line)


Rectangle = tuple[float, float, float, float]


def check_line_clear(layout: Layout, edge: Edge, line: tuple[tuple[float, float], ...], boxes: list[Rectangle]) -> None:
    """No line passes through the symbol or the texts of a node that is not at its end."""
    for (ax, ay), (bx, by) in itertools.pairwise(line):
        for k, (left, top, right, bottom) in enumerate(boxes):
            if k in (edge.source, edge.target):
                continue
            beside = max(ax, bx) < left + 1 or min(ax, bx) > right - 1
            above_or_below = max(ay, by) < top + 1 or min(ay, by) > bottom - 1
            assert beside or above_or_below, (layout.graph.nodes[k].name, edge)


def forward_has_no_circle(graph: Graph) -> bool:
    column = layers(graph)  # raises where it cannot order them
    return all(column[e.target] > column[e.source] for e in graph.edges if not e.loop)


@pytest.mark.parametrize(("size", "seed"), [(12, 0), (30, 4), (60, 2), (145, 1), (145, 7)])
def test_nothing_overlaps_and_every_edge_is_drawn(numbered: Callable[[int, int], Plan], size: int, seed: int) -> None:
    graph = graph_of(numbered(size, seed))
    assert sum(1 for n in graph.nodes if n.number) == size
    check_geometry(lay_out(graph))


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 60), st.integers(0, 10_000), st.integers(3, 10))
def test_geometry_holds_for_any_plan(numbered: Callable[[int, int], Plan], size: int, seed: int, columns: int) -> None:
    check_geometry(lay_out(graph_of(numbered(size, seed)), columns))


def test_every_kind_of_edge_and_symbol(kit: Plan) -> None:
    graph = graph_of(kit)
    kinds = {n.id: n.kind for n in graph.nodes}
    assert kinds["carry"] == "transport"
    assert kinds["cool"] == "delay"
    assert kinds["look"] == "inspection"
    assert kinds["store:mix"] == "storage"
    assert kinds["product:board"] == "product"
    names = {(graph.nodes[e.source].id, graph.nodes[e.target].id): e for e in graph.edges}
    assert names["look", "glue"].passing == "rework"
    assert names["screen", "mill"].passing == "by-product"
    assert names["screen", "glue"].passing == "feeds"
    assert ("mix", "store:mix") in names
    assert ("store:mix", "cool") in names
    check_geometry(lay_out(graph))


def test_only_rework_and_recycle_go_back(kit: Plan) -> None:
    graph = graph_of(kit)
    back = {(graph.nodes[e.source].id, graph.nodes[e.target].id) for e in graph.edges if e.loop}
    assert back == {("look", "glue"), ("screen", "mill")}


def test_recycle_between_routes_goes_back_where_material_enters_first() -> None:
    nodes = tuple(Node(k, "operation", k, route=k[0]) for k in ("a1", "b1", "b2", "c1"))
    edges = (
        Edge(1, 2, "next"), Edge(0, 1, "feeds"), Edge(2, 3, "by-product"), Edge(3, 1, "feeds"),
    )  # fmt: skip
    graph = with_loops(Graph(nodes, edges))
    assert [(e.source, e.target) for e in graph.edges if e.loop] == [(3, 1)]


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 14), st.lists(st.tuples(st.integers(0, 13), st.integers(0, 13)), max_size=40))
def test_any_circles_are_opened(n: int, pairs: list[tuple[int, int]]) -> None:
    nodes = tuple(Node(f"n{k}", "operation", f"n{k}", route=f"r{k}") for k in range(n))
    edges = tuple(Edge(a % n, b % n, "feeds") for a, b in dict.fromkeys(pairs))
    graph = with_loops(Graph(nodes, edges))
    assert forward_has_no_circle(graph)
    check_geometry(lay_out(graph, 4))


def test_bands_hold_no_more_columns_than_asked(numbered: Callable[[int, int], Plan]) -> None:
    graph = graph_of(numbered(145, 3))
    column = layers(graph)
    firsts = bands(graph, column, 7)
    widths = [b - a for a, b in itertools.pairwise([*firsts, max(column) + 1])]
    assert firsts[0] == 0
    assert max(widths) <= 7
    assert min(widths) >= 1


def test_picture_is_well_formed_accessible_and_escaped(kit: Plan) -> None:
    text = process_map(kit, limits=("glue", "mix"), link="#step-")
    root = ET.fromstring(text)
    assert root.find(f"{SVG}title") is not None
    described = root.find(f"{SVG}desc")
    assert described is not None
    assert "goes back to" in (described.text or "")
    assert "&lt;again&gt;" in text
    assert "<again>" not in text
    graph = graph_of(kit)
    drawn = [p.get("data-edge") for p in root.iter(f"{SVG}path") if p.get("data-edge")]
    assert sorted(map(int, drawn)) == list(range(len(graph.edges)))
    shown = [g.get("data-node") for g in root.iter(f"{SVG}g") if g.get("data-node")]
    assert sorted(shown) == sorted(n.id for n in graph.nodes)
    links = [a.get("href") for a in root.iter(f"{SVG}a")]
    assert "#step-mill" in links


def test_a_bare_map_brings_no_style_and_its_wires_name_their_ends(kit: Plan) -> None:
    text = process_map(kit, limits=("glue",), bare=True)
    root = ET.fromstring(text)
    assert not list(root.iter(f"{SVG}style"))
    assert "style=" not in text
    nodes = {g.get("data-node") for g in root.iter(f"{SVG}g") if g.get("class") == "node"}
    wires = [path for path in root.iter(f"{SVG}path") if path.get("data-edge")]
    assert {(w.get("data-from"), w.get("data-to")) for w in wires} >= {("glue", "mix"), ("mill", "carry")}
    assert all({w.get("data-from"), w.get("data-to")} <= nodes for w in wires)


def test_a_long_plan_is_drawn_by_route(numbered: Callable[[int, int], Plan]) -> None:
    plan = numbered(500, 2)
    graph = overview_of(plan)
    assert [n.id for n in graph.nodes if n.kind == "route"] == [n.id for n in graph.nodes][: len(plan.routes)]
    assert sum(int(n.details[0].split()[0]) for n in graph.nodes if n.kind == "route") == 500
    check_geometry(lay_out(graph))
    text = process_map(plan)
    assert f'data-node="{next(iter(plan.routes))}"' in text
    assert 'data-node="op_1"' not in text


def test_the_same_plan_gives_the_same_picture(numbered: Callable[[int, int], Plan]) -> None:
    assert process_map(numbered(40, 5)) == process_map(numbered(40, 5))


def test_long_names_are_cut_with_an_ellipsis() -> None:
    assert broken("a " * 60, 10, 2)[-1].endswith("…")
    assert broken("", 10, 2) == [""]
