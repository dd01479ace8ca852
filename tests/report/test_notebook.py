"""Results in a notebook: what they show without IPython, and the example that uses them run from end to end."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

import linewright
from linewright.answer import answer
from linewright.answer.ask_balance import share_out
from linewright.answer.model import Answer
from linewright.base.results import Shown, Table
from linewright.base.showing import draw_with, picture_of
from linewright.plan import read_plan
from linewright.report import drawing
from linewright.report.charts import charts

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.fixture(scope="module")
def trailer() -> Answer:
    return share_out(answer(read_plan(EXAMPLES / "trailer.toml")), seconds=0.3, play=False)


def test_a_plan_shows_its_map_and_as_text_its_operations(trailer: Answer) -> None:
    shown = trailer.plan._repr_mimebundle_()
    assert "<svg" in shown["text/html"]
    assert "bond_frame" in shown["text/plain"]
    assert trailer.plan._repr_html_().startswith("<table>")


def test_an_answer_shows_its_verdict_and_charts(trailer: Answer) -> None:
    shown = trailer._repr_mimebundle_()
    assert "Bottleneck" in shown["text/html"]
    assert shown["text/html"].count("<svg") == (4 if drawing.can_draw() else 1)
    assert "Will it make the rate?" in shown["text/plain"]


def test_a_balanced_line_shows_who_does_what(trailer: Answer) -> None:
    assert trailer.balanced is not None
    shown = trailer.balanced.lines[0]._repr_mimebundle_()
    assert "<svg" in shown["text/html"]
    assert "station" in shown["text/plain"]
    assert trailer.balanced.lines[0].balance._repr_html_().startswith("<table>")


def test_parts_of_an_answer_show_their_tables(trailer: Answer) -> None:
    for part in (trailer.flow, trailer.capacity, trailer.cost, trailer.quality, trailer.balanced):
        assert isinstance(part, Shown)
        shown = part._repr_mimebundle_()
        assert "<table>" in shown["text/html"]
        assert shown["text/plain"].startswith(part.to_table().title)


def test_a_chart_shows_its_specification_and_its_picture(trailer: Answer) -> None:
    shown = charts(trailer)["cost"]._repr_mimebundle_()
    assert shown["application/vnd.vegalite.v5+json"]["$schema"]
    assert ("image/svg+xml" in shown) == drawing.can_draw()


def test_names_are_escaped_wherever_they_are_shown(trailer: Answer) -> None:
    bad = trailer.plan.change("stations.bond_frame.name", "<script>x</script>")
    for shown in (bad, answer(bad)):
        assert "<script>x" not in shown._repr_mimebundle_()["text/html"]


def test_who_draws_is_asked_by_kind_and_nobody_need() -> None:
    @dataclass(frozen=True)
    class Odd(Shown):
        def to_table(self) -> Table:
            return Table("odd", ("a",), ((1,),))

    assert picture_of(Odd()) is None
    assert Odd()._repr_mimebundle_() == {"text/plain": "odd\na\n1", "text/html": Odd().to_table()._repr_html_()}
    draw_with(Odd, lambda found: f"<p>{type(found).__name__}</p>")
    assert Odd()._repr_mimebundle_()["text/html"] == "<p>Odd</p>"


def test_importing_linewright_loads_no_report() -> None:
    code = "import sys, linewright; print([m for m in sys.modules if m.startswith('linewright.')])"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert "linewright.report" not in loaded
    assert "linewright.base.results" not in loaded
    assert linewright.__version__


def test_the_example_runs_from_end_to_end(tmp_path: Path) -> None:
    pytest.importorskip("polars")
    pytest.importorskip("ortools")
    done = subprocess.run(
        [sys.executable, "-W", "error", str(EXAMPLES / "notebook.py")],
        capture_output=True, text=True, check=False, cwd=tmp_path, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "bottleneck bond_frame" in done.stdout
    assert "sheets, the first for Trim booth" in done.stdout
    assert list(tmp_path.iterdir()) == []
