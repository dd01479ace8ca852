"""A pen draws charts in a process of its own: the same ones, each once, and here where there is no process."""

from __future__ import annotations

import sys

import pytest

from linewright.report import drawing
from linewright.report.pen import Pen

if not drawing.can_draw():
    pytest.skip("the extra charts is not installed", allow_module_level=True)

BARS = {
    "mark": "bar", "data": {"values": [{"a": 1, "b": "x"}, {"a": 3, "b": "y"}]},
    "encoding": {"x": {"field": "a", "type": "quantitative"}, "y": {"field": "b", "type": "nominal"}},
}  # fmt: skip


def test_what_was_begun_early_is_drawn_once_and_the_same() -> None:
    with Pen() as pen:
        pen.draw([BARS])
        pen.draw([BARS])
        assert drawing.recoloured(pen.picture(dict(BARS))) == drawing.to_svg(BARS)
        assert len(pen._asked) == 1


@pytest.mark.parametrize("python", ["", "/nowhere/python"])
def test_without_a_process_it_is_drawn_here(python: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", python)
    with Pen() as pen:
        pen.draw([BARS])
        assert drawing.recoloured(pen.picture(BARS)) == drawing.to_svg(BARS)


def test_a_chart_at_fault_is_said_here_and_those_after_it_are_drawn() -> None:
    with Pen() as pen:
        pen.draw([{"mark": 7}, BARS])
        assert drawing.recoloured(pen.picture(BARS)) == drawing.to_svg(BARS)
        with pytest.raises(ValueError, match=r"."):
            pen.picture({"mark": 7})
