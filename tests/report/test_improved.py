"""How what would help most is shown: gains with their intervals, what cannot be told from nothing, and the edits."""

from __future__ import annotations

import io
import json
from dataclasses import replace

import pytest
from rich.console import Console

from linewright.answer import Answer, improve_plan
from linewright.plan import PlanBuilder
from linewright.report import charts, drawing
from linewright.report.html import to_html
from linewright.report.improved import tables
from linewright.report.improved.page import print_improvement
from linewright.report.terminal import print_answer


@pytest.fixture(scope="module")
def found() -> Answer:
    """One slow saw before a quick table: nothing helps as much as a second saw (arithmetic: 24 a day become 40)."""
    build = PlanBuilder("Bench", money="EUR", makes="bench", demand="20 each/day")
    build.item("bench", unit="each", name="garden bench")
    build.shift("day", hours="06:00-14:00").crew("hand", people=4, shift="day", wage="25 EUR/h")
    build.station("saw", places=1, name="Saw").station("table", places=1)
    route = build.route("bench", gives="bench")
    route.operation("cut", station="saw", crew={"hand": 1}, time={"mean": "20 min", "cv": 0.1})
    route.operation("join", station="table", crew={"hand": 1}, time={"mean": "12 min", "cv": 0.1})
    return improve_plan(build.build(), budget_seconds=8.0)


def test_the_best_is_said_with_gain_and_start(found: Answer) -> None:
    assert found.improvement is not None
    said = tables.in_one_sentence(found, found.improvement)
    assert said.startswith("one more place at ")
    assert "garden benches a day, from " in said
    assert found.improvement.best is not None
    assert found.improvement.best.candidate.edits[0].path == "stations.saw.places"


def test_every_gain_has_an_interval_and_a_verdict(found: Answer) -> None:
    assert found.improvement is not None
    table = tables.confirmed(found, found.improvement)
    assert table.columns[0] == "change"
    assert table.rows
    for row in table.rows:
        assert "±" in str(row[1]) or row[1] == "0"
        assert row[-1] in tables.SAID.values()
    assert "Bonferroni" in table.note


def test_a_change_of_several_fields_is_named_once(found: Answer) -> None:
    assert found.improvement is not None
    names = [row[0] for row in tables.edits(found.improvement).rows if row[0]]
    assert len(names) == len(set(names)) == len(found.improvement.confirmed)


def test_the_chart_shows_each_change_once(found: Answer) -> None:
    chart = charts.charts(found)["gains"]
    assert json.loads(json.dumps(chart.spec, allow_nan=False)) == chart.spec
    changes = [row["change"] for row in chart.spec["data"]["values"]]
    assert len(changes) == len(set(changes)) > 0
    assert all(row["low"] <= row["gain"] <= row["high"] for row in chart.spec["data"]["values"])
    if drawing.can_draw():
        assert "more garden benches a day" in drawing.to_svg(chart.spec)


def test_page_and_terminal_hold_it(found: Answer) -> None:
    page = to_html(found, live=False)
    helps = page[page.index('<section id="helps"') : page.index('<section id="hurts"')]
    assert "How each is written in the plan" in helps
    assert "stations.saw.places" in helps
    for show in (print_improvement, lambda answer, console: print_answer(answer, None, console)):
        out = io.StringIO()
        show(found, Console(file=out, width=80))
        text = " ".join(out.getvalue().split())
        assert "one more place at " in text
        assert "stations.saw.places: 1 -> 2" in text
        assert "one change at a time" in text


def test_without_it_the_page_says_how_to_ask(found: Answer) -> None:
    page = to_html(replace(found, improvement=None), live=False)
    assert "by the command improve" in page
    assert "--improve" not in page


def test_stopped_is_said(found: Answer) -> None:
    assert found.improvement is not None
    out = io.StringIO()
    print_improvement(replace(found, improvement=replace(found.improvement, stopped=True)), Console(file=out, width=80))
    assert "stopped" in out.getvalue()
