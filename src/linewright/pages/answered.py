"""An answer as the pages want it: its sections as pieces of HTML, its charts as data for the browser to draw."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import asdict
from typing import Any

from linewright.answer.model import Answer
from linewright.base.results import plain
from linewright.report import parts, tables
from linewright.report.blocks import Picture, ProcessMap
from linewright.report.chart import Chart
from linewright.report.charts import charts
from linewright.report.head import facts_of
from linewright.report.map import process_map
from linewright.report.map.shades import shades_of
from linewright.report.sections import QUESTIONS, Section, limiting


def answered(answer: Answer, opened: Collection[str] | None = None) -> dict[str, Any]:
    """Everything of an answer that the page of a plan shows. The browser draws the charts into their empty places."""
    data = {
        "question": answer.question,
        "verdict": answer.verdict,
        "headline": answer.headline,
        "makes": answer.makes,
        "key": key_of(answer),
        "numbers": numbers_of(answer),
        **told(answer, opened),
        "map": {
            "svg": process_map(answer.plan, limits=limiting(answer), bare=True),
            "operations": [asdict(shade) for shade in shades_of(answer)],
        },
        "fingerprint": answer.network.fingerprint,
        "seconds": answer.provenance.seconds,
    }
    ready: dict[str, Any] = plain(data)
    return ready


def told(answer: Answer, opened: Collection[str] | None = None) -> dict[str, Any]:
    """The sections of an answer, those not in ``opened`` without their body, and the charts that the bodies want."""
    drawn = charts(answer)
    made = [question(answer) for question in QUESTIONS]
    wanted = {s.id for s in made} if opened is None else set(opened)
    sections = [section_of(s, drawn, whole=s.id in wanted) for s in made]
    named = {b.name for s in made if s.id in wanted for b in s.body if isinstance(b, Picture)}
    return {"sections": sections, "charts": charts_of({name: c for name, c in drawn.items() if name in named})}


def section_of(section: Section, drawn: dict[str, Chart], *, whole: bool) -> dict[str, Any]:
    """One section without its map, which stands beside it; its charts are places for the browser to fill."""
    places = {name: parts.figure(name, chart.caption, "") for name, chart in drawn.items()}
    body = [b for b in section.body if not isinstance(b, ProcessMap)] if whole else []
    return {
        "id": section.id, "question": section.question, "short": section.answer, "wide": section.wide,
        "html": "".join(parts.block(b, places) for b in body),
    }  # fmt: skip


def charts_of(drawn: dict[str, Chart]) -> dict[str, dict[str, Any]]:
    """Charts as the browser draws them."""
    return {name: {"caption": chart.caption, "spec": chart.spec} for name, chart in drawn.items()}


def key_of(answer: Answer) -> list[dict[str, str]]:
    """The few lines that are always in sight."""
    facts = [("Will it make the rate?", answer.verdict), *facts_of(answer)]
    return [{"id": _id(label), "label": label, "value": text} for label, text in facts]


def _id(label: str) -> str:
    """A label as a word.

    >>> _id("Takt, boxed boots"), _id("Will it make the rate?")
    ('takt', 'will-it-make-the-rate')
    """
    return label.partition(",")[0].lower().rstrip("?").replace(" ", "-")


def numbers_of(answer: Answer) -> dict[str, Any]:
    """What is wanted, what the bounds allow, what one costs: of the first product."""
    wanted = answer.capacity.wanted[0] if answer.capacity.wanted else None
    product = answer.cost.products[0] if answer.cost.products else None
    limit = answer.capacity.bottleneck
    return {
        "item": wanted.item if wanted else "",
        "unit": wanted.unit if wanted else "",
        "wanted": wanted.demand if wanted else None,
        "allowed": wanted.rate if wanted and answer.season is None else None,  # of a season no rate a day limits
        "cost": product.total if product else None,
        "money": answer.cost.money,
        "bottleneck": tables.resource_name(answer, limit) if limit is not None else "",
        "use": limit.use if limit is not None else None,
    }
