"""Charts of a balanced line: the load of each station against the takt, and stations against takt."""

from __future__ import annotations

from linewright.answer.balanced import Balanced
from linewright.balance import Curve
from linewright.balance.result import PROVED
from linewright.plan.model import Plan
from linewright.report.balanced.view import View, view_of_line
from linewright.report.chart import Chart, Spec, specification
from linewright.report.palette import LIGHT

TINTS = ("working", "standing", "moving")
"""Neighbouring operations of a station take turns with these colours."""


def charts(found: Balanced | None, plan: Plan) -> list[Chart]:
    """The charts of every line that has a sharing."""
    made: list[Chart] = []
    for line in found.lines if found is not None else ():
        if line.balance.stations:
            view = view_of_line(line, plan)
            made.append(loads(view))
            curve = trade_off(line.curve, view) if line.curve is not None else None
            made += [curve] if curve is not None else []
    return made


def loads(view: View) -> Chart:
    """One bar a station, its operations one behind the other, with the takt as a line."""
    values = [
        {"station": s.label, "operation": task.name, "time": round(task.time / s.copies, 4), "place": k, "tint": k % 3}
        for s in view.stations
        for k, task in enumerate(s.tasks)
    ]
    order = [s.label for s in view.stations]
    unit = f" [{view.unit}]" if view.unit else ""
    bars: Spec = {
        "mark": {"type": "bar", "stroke": LIGHT["card"], "strokeWidth": 1.5},
        "encoding": {
            "y": {"field": "station", "type": "nominal", "sort": order, "title": None},
            "x": {"field": "time", "type": "quantitative", "title": f"time for one piece{unit}", "stack": "zero"},
            "order": {"field": "place", "type": "quantitative"},
            "color": {
                "field": "tint", "type": "nominal", "legend": None,
                "scale": {"domain": [0, 1, 2], "range": [LIGHT[name] for name in TINTS]},
            },
            "tooltip": [
                {"field": "station"}, {"field": "operation"},
                {"field": "time", "title": f"time{unit}", "format": ".2f"},
            ],
        },
    }  # fmt: skip
    takt: Spec = {"mark": "rule", "encoding": {"x": {"datum": round(view.takt, 4)}}}
    caption = (
        f"{view.title}: the load of each station, operation by operation. The line is the takt, {view.time(view.takt)}."
    )
    spec = specification(caption, len(order), data={"values": values}, layer=[bars, takt])
    return Chart(f"loads-{view.id}", caption, spec)


def trade_off(curve: Curve, view: View) -> Chart | None:
    """The fastest takt for each number of stations; what is not proved is drawn hollow, with its bound below."""
    each = 60.0 if view.unit == "min" else 1.0
    values = [
        {
            "stations": b.count,
            "takt": round((b.takt or 0.0) / each, 4),
            "bound": round((b.honesty.bound if b.honesty.bound is not None else b.takt or 0.0) / each, 4),
            "sure": "proved" if b.honesty.status == PROVED else "best found",
        }
        for b in curve.balances
        if b.stations
    ]
    if len(values) < 2:
        return None
    unit = f" [{view.unit}]" if view.unit else ""
    x: Spec = {"field": "stations", "type": "ordinal", "title": "stations", "axis": {"labelAngle": 0}}
    y: Spec = {"field": "takt", "type": "quantitative", "title": f"fastest takt{unit}"}
    tooltip = [{"field": name} for name in ("stations", "takt", "bound", "sure")]
    steps: Spec = {"mark": {"type": "line", "color": LIGHT["wire"]}, "encoding": {"x": x, "y": y}}
    gaps: Spec = {
        "mark": {"type": "rule", "color": LIGHT["wire"]},
        "encoding": {"x": x, "y": y, "y2": {"field": "bound"}},
    }
    points: Spec = {
        "mark": {"type": "point", "filled": True, "size": 90, "opacity": 1},
        "encoding": {
            "x": x,
            "y": y,
            "tooltip": tooltip,
            "color": {
                "field": "sure",
                "type": "nominal",
                "scale": {"domain": ["proved", "best found"], "range": [LIGHT["working"], LIGHT["setting-up"]]},
            },
        },
    }
    takt: Spec = {"mark": "rule", "encoding": {"y": {"datum": round(view.takt, 4)}}}
    caption = f"{view.title}: the fastest takt for each number of stations. The line is the takt wanted."
    spec = specification(caption, 9, data={"values": values}, layer=[steps, gaps, points, takt])
    return Chart(f"stations-{view.id}", caption, spec)
