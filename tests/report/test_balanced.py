"""A balanced line in pictures: the drawing is sound SVG, the charts say what the balance says, the page holds them."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from functools import cache
from pathlib import Path

import pytest

from linewright.answer import Answer, answer
from linewright.answer.ask_balance import Asked, ask_lines, share_out
from linewright.answer.balanced import Balanced
from linewright.balance import balance, make_line
from linewright.plan import Plan, read_plan
from linewright.report.balanced import charts, tables
from linewright.report.balanced.picture import precedence, reduced
from linewright.report.balanced.view import view_of_graph, view_of_line
from linewright.report.sections import people

EXAMPLES = Path(__file__).parents[2] / "examples"
SVG = "{http://www.w3.org/2000/svg}"


@cache
def trailer() -> tuple[Plan, Balanced]:
    plan = read_plan(EXAMPLES / "trailer.toml")
    return plan, ask_lines(plan, Asked(curve=True, seconds=8), play=False)


@cache
def answered() -> Answer:
    return share_out(answer(read_plan(EXAMPLES / "trailer.toml")), seconds=5, play=False)


def test_the_drawing_has_a_box_for_every_operation_and_a_band_for_every_station() -> None:
    plan, found = trailer()
    view = view_of_line(found.lines[0], plan)
    root = ET.fromstring(precedence(view))
    texts = [text.text or "" for text in root.iter(f"{SVG}text")]
    assert sum(text.startswith("Station ") for text in texts) == len(view.stations)
    titles = [title.text or "" for title in root.iter(f"{SVG}title")]
    for station in view.stations:
        for task in station.tasks:
            assert any(title.startswith(task.name) for title in titles)
    wires = [path for path in root.iter(f"{SVG}path") if path.get("marker-end")]
    assert len(wires) == len(reduced(view.order))


def test_wires_that_follow_from_others_are_left_out() -> None:
    order = tuple((f"{a}", f"{b}") for a in range(7) for b in range(a + 1, 7))
    assert reduced(order) == [(f"{a}", f"{a + 1}") for a in range(6)]


def test_names_are_escaped() -> None:
    line = make_line({"<b>&": 2, 'say "x"': 3}, {'say "x"': ["<b>&"]})
    view = view_of_graph(balance(line, takt=3), line, '<title "&>')
    assert ET.fromstring(precedence(view)).tag == f"{SVG}svg"


def test_the_bars_add_up_to_the_loads() -> None:
    plan, found = trailer()
    view = view_of_line(found.lines[0], plan)
    values = charts.loads(view).spec["data"]["values"]
    for station in view.stations:
        bars = [row["time"] for row in values if row["station"] == station.label]
        assert sum(bars) == pytest.approx(station.load, abs=0.01)
    assert view.unit == "min"
    assert view.takt == pytest.approx(775 / 60)


def test_the_curve_falls_and_says_what_is_proved() -> None:
    plan, found = trailer()
    chart = charts.trade_off(found.lines[0].curve, view_of_line(found.lines[0], plan))  # type: ignore[arg-type]
    assert chart is not None
    takts = [row["takt"] for row in chart.spec["data"]["values"]]
    assert takts == sorted(takts, reverse=True)
    assert all(row["bound"] <= row["takt"] for row in chart.spec["data"]["values"])


def test_the_page_tells_who_does_what() -> None:
    made = answered()
    body = people(made).html({"loads-build": "<figure>loads</figure>"})
    for said in ("The lines shared out", "Hang the rear door", "<figure>loads</figure>", "Who is needed", "<svg"):
        assert said.lower() in body.lower()
    assert "go through it with those who do the work" in body


def test_a_plan_without_lines_says_nothing() -> None:
    made = answer(read_plan(EXAMPLES / "cider.toml"))
    assert made.balanced is None
    assert "shared out" not in people(made).html({})
    assert charts.charts(made.balanced, made.plan) == []
    assert tables.lines(None).rows == ()


def test_sentences_claim_no_more_than_is_proved() -> None:
    line = make_line({"a": 6, "b": 6, "c": 6})
    view = view_of_graph(found := balance(line, takt=12), line, "abc")
    assert tables.sentence(found, view) == "2 stations at a takt of 12; fewer is proved impossible."
    quick = balance(line, stations=2)
    assert tables.sentence(quick, view_of_graph(quick, line, "abc")).endswith("no sharing has a smaller takt, proved.")
    none = balance(line, stations=1, takt=12)
    assert "there is no such sharing" in tables.sentence(none, view_of_graph(none, line, "abc"))
