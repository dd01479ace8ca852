"""An answer as the pages want it: its sections as pieces of HTML, its charts as data for the browser to draw."""

from __future__ import annotations

from typing import Any

from linewright.answer.model import Answer
from linewright.base.results import plain
from linewright.report import parts, tables
from linewright.report.charts import charts
from linewright.report.html import facts_of
from linewright.report.map.shades import shades_of
from linewright.report.sections import MAP, QUESTIONS, drawn_map


def answered(answer: Answer) -> dict[str, Any]:
    """Everything of an answer that the page of a plan shows. The browser draws the charts into their empty places."""
    drawn = charts(answer)
    places = {name: parts.figure(name, chart.caption, "") for name, chart in drawn.items()}
    made = [question(answer, {**places, MAP: ""}) for question in QUESTIONS]
    return {
        "sections": [
            {"id": s.id, "question": s.question, "answer": s.answer, "html": "".join(s.body), "wide": s.wide}
            for s in made
        ],
        "charts": {name: {"caption": chart.caption, "spec": chart.spec} for name, chart in drawn.items()},
        "key": key_of(answer),
        "map": {"svg": drawn_map(answer, styled=False), "shades": shades_of(answer)},
        "fingerprint": answer.network.fingerprint,
        "seconds": answer.provenance.seconds,
    }


def key_of(answer: Answer) -> dict[str, Any]:
    """The few numbers that are always in sight."""
    limit = answer.capacity.bottleneck
    bottleneck = None
    if limit is not None:
        name = tables.resource_name(answer, limit)
        bottleneck = {"kind": limit.kind, "id": limit.id, "name": name, "use": limit.use, "count": limit.count}
    played = answer.simulation.as_planned if answer.simulation is not None else None
    data = {
        "name": answer.plan.name,
        "question": answer.question,
        "verdict": answer.verdict,
        "headline": answer.headline,
        "yes": answer.yes,
        "makes": answer.makes,
        "status": answer.capacity.honesty.status,
        "wanted": [
            {"item": w.item, "unit": w.unit, "wanted": w.demand, "at_most": w.rate, "takt": w.takt}
            for w in answer.capacity.wanted
        ],
        "bottleneck": bottleneck,
        "cost": [
            {"item": p.item, "unit": p.unit, "money": answer.cost.money, "one": p.total, "price": p.price}
            for p in answer.cost.products
        ],
        "simulated": played.rate if played is not None else None,
        "facts": facts_of(answer),
    }
    told: dict[str, Any] = plain(data)
    return told
