"""Charts of an answer: one Vega-Lite specification each, as plain data, with our own light look.

Nothing here draws; ``report.drawing`` turns a specification into a picture where the extra ``charts`` is installed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import NamedTuple

from linewright.answer import Day
from linewright.answer.model import Answer
from linewright.capacity.model import Resource
from linewright.report import lots, tables, words
from linewright.report.balanced import charts as balanced
from linewright.report.chart import Chart, Spec, specification
from linewright.report.followed import curves
from linewright.report.good import charts as proof
from linewright.report.improved.chart import gains
from linewright.report.palette import LIGHT, PLAYED
from linewright.report.played import charts as played
from linewright.report.played.gantt import gantt
from linewright.report.seasonal.chart import season

MOST = 30


def charts(answer: Answer, known: DayDrawn | None = None) -> dict[str, Chart]:
    """Every chart that has something to show, by name; ``known`` is a day's that was made before."""
    same = known is not None and answer.simulation is not None and answer.simulation.day is known.day
    made = [
        known.chart if known is not None and same and name == "day" else make(answer) for name, make in CHARTS.items()
    ]
    made += balanced.charts(answer.balanced, answer.plan)
    return {**{chart.name: chart for chart in made if chart is not None}, **curves(answer)}


class DayDrawn(NamedTuple):
    """The chart of a simulated day, which takes longer to make than all others."""

    day: Day
    chart: Chart | None


_HOURS: Mapping[str, tuple[str, ...]] = {
    "working": ("working",),
    "reworking": ("reworking",),
    "setting up": ("setting_up",),
    "cleaning": ("cleaning",),
    "starting up": ("starting_up",),
    "moving": ("moving",),
    "standing": ("standing",),
    "stopped": ("stopped",),
}
_COLOURS = {
    **{name: LIGHT[colour] for name, colour in PLAYED.items()},
    "reworking": LIGHT["rework"],
}


def _use(answer: Answer, kind: str, title: str, name: str) -> Chart | None:
    """Bars of percent of the hours at hand, stacked by what is done, the fullest first."""
    found = [r for r in answer.capacity.resources if r.kind == kind and r.hours.total > 0 and r.available > 0]
    found = sorted(found, key=lambda r: -r.use)[:MOST]
    if not found:
        return None
    values = [row for r in found for row in _shares(answer, r)]
    shown = [what for what in _HOURS if any(row["doing"] == what for row in values)]
    order = [tables.resource_name(answer, r) for r in found]
    bars = {
        "mark": "bar",
        "encoding": {
            "y": {"field": "name", "type": "nominal", "sort": order, "title": None},
            "x": {"field": "share", "type": "quantitative", "title": "of the hours at hand [%]", "stack": "zero"},
            "color": {
                "field": "doing", "type": "nominal",
                "scale": {"domain": shown, "range": [_COLOURS[what] for what in shown]},
            },
            "order": {"field": "order", "type": "quantitative"},
            "tooltip": [
                {"field": "name", "title": kind}, {"field": "doing", "title": "what"},
                {"field": "share", "title": "of the hours at hand [%]", "format": ".1f"},
                {"field": "hours", "title": "hours a day", "format": ".2f"},
            ],
        },
    }  # fmt: skip
    limit = {"mark": "rule", "encoding": {"x": {"datum": 100}}}
    caption = f"{title}, at the demand. The line is all the hours at hand."
    return Chart(name, caption, specification(caption, len(found), data={"values": values}, layer=[bars, limit]))


def _shares(answer: Answer, resource: Resource) -> list[Spec]:
    rows = []
    for k, (what, parts) in enumerate(_HOURS.items()):
        hours = sum(float(getattr(resource.hours, part)) for part in parts)
        if hours > 0:
            rows.append(
                {
                    "name": tables.resource_name(answer, resource),
                    "doing": what,
                    "hours": round(hours, 4),
                    "share": round(100 * hours / resource.available, 3),
                    "order": k,
                }
            )
    return rows


def stations(answer: Answer) -> Chart | None:
    """How the hours of the stations are used."""
    return _use(answer, "station", "How the hours of each station are used", "stations")


def crews(answer: Answer) -> Chart | None:
    """How the hours of the crews are used."""
    return _use(answer, "crew", "How the hours of each crew are used", "crews")


def bounds(answer: Answer) -> Chart | None:
    """Every bound on the rate against the demand, the tightest first."""
    found = [b for b in answer.capacity.bounds if math.isfinite(b.rate)][:12]
    wanted = answer.capacity.wanted
    if not found or not wanted:
        return None
    names = [f"{tables.place_names(answer, b.where)} ({b.kind})" for b in found]
    values = [
        {"name": name, "rate": round(b.rate, 3), "why": b.why, "enough": b.multiple >= 1.0}
        for name, b in zip(names, found, strict=True)
    ]
    bars = {
        "mark": "bar",
        "encoding": {
            "y": {"field": "name", "type": "nominal", "sort": names, "title": None},
            "x": {"field": "rate", "type": "quantitative", "title": f"at most [{wanted[0].unit}/day]"},
            "color": {
                "condition": {"test": "datum.enough", "value": LIGHT["working"]},
                "value": LIGHT["down"],
            },
            "tooltip": [
                {"field": "name", "title": "limit"},
                {"field": "rate", "title": "at most a day", "format": ",.4~g"},
                {"field": "why", "title": "why"},
            ],
        },
    }
    demand = {"mark": "rule", "encoding": {"x": {"datum": wanted[0].demand}}}
    caption = "The greatest rate that each limit allows. The line is the demand."
    return Chart("bounds", caption, specification(caption, len(found), data={"values": values}, layer=[bars, demand]))


def cost(answer: Answer) -> Chart | None:
    """What one of each product costs, by part."""
    names = tables.item_names(answer)
    values = [
        {"product": names.get(p.item, p.item), "part": word, "money": round(getattr(p.parts, part), 4)}
        for p in answer.cost.products
        for part, word in tables.PARTS.items()
        if abs(getattr(p.parts, part)) >= 0.005
    ]
    if not values:
        return None
    parts = [word for word in tables.PARTS.values() if any(row["part"] == word for row in values)]
    money = answer.cost.money
    encoding: Spec = {
        "y": {"field": "part", "type": "nominal", "sort": parts, "title": None},
        "x": {"field": "money", "type": "quantitative", "title": f"for one [{money}]"},
        "tooltip": [
            {"field": "product"},
            {"field": "part"},
            {"field": "money", "title": money, "format": ",.2f"},
        ],
    }
    rows = len(parts)
    if len(answer.cost.products) > 1:
        encoding["yOffset"] = {"field": "product"}
        encoding["color"] = {"field": "product", "type": "nominal", "scale": {"range": _SERIES}}
        rows *= len(answer.cost.products)
        layer: list[Spec] = [{"mark": "bar", "encoding": encoding}]
    else:
        label = {"field": "money", "type": "quantitative", "format": ",.2f"}
        text = {"mark": {"type": "text", "align": "left", "dx": 5}, "encoding": {**encoding, "text": label}}
        bars = {"mark": {"type": "bar", "color": LIGHT["accent"]}, "encoding": encoding}
        layer = [bars, text]
    caption = "What one costs, by part."
    return Chart("cost", caption, specification(caption, rows, data={"values": values}, layer=layer))


_SERIES = [LIGHT["working"], LIGHT["setting-up"], LIGHT["moving"], LIGHT["down"], LIGHT["cleaning"], LIGHT["start-up"]]


def mass(answer: Answer) -> Chart | None:
    """What goes in and what comes out in a day, by mass, of items whose mass is known."""
    values = _masses(answer)
    if not values or any(all(row["side"] != side for row in values) for side in ("in", "out")):
        return None
    values.sort(key=lambda row: (row["side"], -row["kg"]))
    names = [row["name"] for row in values]
    bars = {
        "mark": "bar",
        "encoding": {
            "y": {"field": "name", "type": "nominal", "sort": names, "title": None},
            "x": {"field": "kg", "type": "quantitative", "title": "kg a day", },
            "color": {
                "field": "side", "type": "nominal",
                "scale": {"domain": ["in", "out"], "range": [LIGHT["moving"], LIGHT["working"]]},
            },
            "tooltip": [
                {"field": "name", "title": "item"}, {"field": "how", "title": "how"},
                {"field": "kg", "title": "kg a day", "format": ",.4~g"},
            ],
        },
    }  # fmt: skip
    caption = "What goes in and what comes out in a working day, by mass. Items of unknown mass are not shown."
    return Chart("mass", caption, specification(caption, len(values), data={"values": values}, layer=[bars]))


def _masses(answer: Answer) -> list[Spec]:
    flow, each, names = answer.flow, answer.network.items.mass, tables.item_names(answer)
    sides = (
        ("in", "bought", flow.bought), ("out", "delivered", flow.delivered), ("out", "sold", flow.sold),
        ("out", "disposed of", flow.disposed), ("out", "left over", flow.left_over),
    )  # fmt: skip
    rows = [
        (side, how, names.get(item, item), float(amounts[i]) * (1.0 if flow.units[i] == "kg" else float(each[i])))
        for side, how, amounts in sides
        for i, item in enumerate(flow.items)
    ]
    rows += [("out", "lost", words.name_of(loss), float(kg)) for loss, kg in zip(flow.losses, flow.lost, strict=True)]
    scrapped = sum(s.kg for s in flow.scrap if not math.isnan(s.kg))
    rows.append(("out", "scrapped", "scrap", scrapped))
    known = [row for row in rows if math.isfinite(row[3]) and row[3] > 0]
    largest = max((row[3] for row in known), default=0.0)
    kept = [row for row in known if row[3] >= 0.002 * largest]
    return [{"side": s, "how": how, "name": f"{name} ({how})", "kg": round(kg, 4)} for s, how, name, kg in kept]


CHARTS: Mapping[str, Callable[[Answer], Chart | None]] = {
    "mass": mass,
    "bounds": bounds,
    "stations": stations,
    "crews": crews,
    "cost": cost,
    "lots": lots.curve,
    "faults": proof.faults,
    "kit": proof.kit,
    "learning": proof.learning,
    "weeks": played.weeks,
    "states": played.states,
    "time": played.time_in_plant,
    "stores": played.stores,
    "day": gantt,
    "gains": gains,
    "season": season,
}
"""Every chart by name; one more function here is one more chart."""
