"""Results as a notebook shows them: the plan as its map, an answer with what stands behind it, a balance as a drawing.

Importing this says to ``base.showing`` who draws; ``import linewright`` does so when the first result is shown.
"""

from __future__ import annotations

from html import escape

from linewright.answer.model import Answer
from linewright.balance import Balance
from linewright.balance.line import Line
from linewright.balance.line_balance import LineBalance
from linewright.base.results import Table
from linewright.base.showing import draw_with
from linewright.plan.model import Plan
from linewright.report import drawing
from linewright.report.balanced import charts as balanced
from linewright.report.balanced.picture import precedence
from linewright.report.balanced.view import View, view_of_graph
from linewright.report.chart import Chart
from linewright.report.charts import charts
from linewright.report.head import head_of
from linewright.report.map import process_map
from linewright.report.palette import LIGHT
from linewright.report.played.charts import states_of
from linewright.report.sections import limiting
from linewright.simulate import Simulation

ANSWERS = ("bounds", "stations", "cost")
"""The charts of an answer that a notebook shows; all of them are in ``linewright.report.charts.charts``."""


def plan_html(plan: Plan) -> str:
    """A plan: its name and its process map."""
    return _said(plan.name, process_map(plan))


def answer_html(answer: Answer) -> str:
    """An answer: the verdict, the facts, the map and the charts behind them."""
    head = head_of(answer)
    facts = Table(f"{head.asked} {head.verdict} {head.more}".strip(), ("what", "answer"), head.facts)
    drawn = charts(answer) if drawing.can_draw() else {}
    pictures = [_chart(drawn[name]) for name in ANSWERS if name in drawn]
    map_ = process_map(answer.plan, limits=limiting(answer))
    return _said(head.title, facts._repr_html_(), map_, *pictures)


def simulation_html(run: Simulation) -> str:
    """A simulation: its outcome with intervals, and what the stations do."""
    chart = states_of(run, {station: station.replace("_", " ") for station in run.stations})
    drawn = [_chart(chart)] if chart is not None and drawing.can_draw() else [run.station_table()._repr_html_()]
    return _said("", run.to_table()._repr_html_(), *drawn)


def line_html(found: LineBalance) -> str:
    """A balanced line: who does what, the loads against the takt, and the order of the work."""
    return _shared(found.to_table(), found.balance, found.line.line, found.line.name)


def _shared(table: Table, balance: Balance, line: Line, title: str) -> str:
    if not balance.stations:
        return table._repr_html_()
    view: View = view_of_graph(balance, line, title)
    drawn = [_chart(balanced.loads(view))] if drawing.can_draw() else []
    return _said("", table._repr_html_(), *drawn, f"<div>{precedence(view)}</div>")


def _chart(chart: Chart) -> str:
    return f"<figure><figcaption>{escape(chart.caption)}</figcaption>{drawing.to_svg(chart.spec)}</figure>"


def _said(title: str, *parts: str) -> str:
    head = f"<h4>{escape(title)}</h4>" if title else ""
    # Light ground and ink whatever the notebook's theme: the pictures are drawn for it.
    look = f"background:{LIGHT['card']};color:{LIGHT['ink']};padding:8px"
    return f'<div class="linewright" style="{look}">{head}{"".join(parts)}</div>'


draw_with(Plan, plan_html)
draw_with(Answer, answer_html)
draw_with(Simulation, simulation_html)
draw_with(LineBalance, line_html)
