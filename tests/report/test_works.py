"""The report of every plan of the invented works: whole, clear of clashes, and without a stray value."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from linewright.answer import Answer, answer
from linewright.plan import read_plan
from linewright.report.html import to_html
from linewright.report.map.graph import graph_of
from linewright.report.map.layers import layers
from linewright.report.map.layout import lay_out
from linewright.report.map.place import COLUMN

PLANS = sorted((Path(__file__).resolve().parents[2] / "examples").glob("*.toml"))


@pytest.fixture(scope="module", params=PLANS, ids=lambda path: path.stem)
def works(request: pytest.FixtureRequest) -> Answer:
    return answer(read_plan(request.param))


def test_there_are_plans() -> None:
    assert len(PLANS) >= 5


def test_the_page_has_no_stray_value(works: Answer) -> None:
    page = to_html(works, live=False)
    text = re.sub(r"<[^>]+>", " ", page.split("</style>", 1)[1])
    assert not re.search(r"\b(nan|NaN|inf|None|null|undefined)\b", text)
    assert works.plan.name in text


def test_only_what_the_plan_sends_back_is_drawn_back(works: Answer) -> None:
    graph = graph_of(works.plan)
    column = layers(graph)
    for edge in graph.edges:
        assert edge.loop or column[edge.target] > column[edge.source]
        if edge.loop:
            assert edge.passing in ("rework", "by-product", "feeds"), "steps of a route never run backwards"


def test_no_symbols_or_texts_overlap(works: Answer) -> None:
    layout = lay_out(graph_of(works.plan))
    boxes = [
        (x - COLUMN / 2, y - box.above, x + COLUMN / 2, y + box.below)
        for (x, y), box in zip(layout.drawing.points, layout.boxes, strict=False)
    ]
    for i, a in enumerate(boxes):
        for b in boxes[i + 1 :]:
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


def test_a_continuous_time_from_a_model_is_told_as_a_rate() -> None:
    found = answer(read_plan(next(path for path in PLANS if path.stem == "reedboard")))
    page = to_html(found, live=False)
    assert "t/h (from the dry model)" in page
    assert " 0 s (from" not in page
