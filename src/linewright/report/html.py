"""The answer as one HTML page that needs nothing else: style, pictures and charts inline, no network."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from pathlib import Path

from linewright.answer.model import Answer
from linewright.report import drawing, parts
from linewright.report.chart import Chart
from linewright.report.charts import DayDrawn, charts
from linewright.report.head import head_of
from linewright.report.pen import Pen
from linewright.report.sections import QUESTIONS
from linewright.report.style import style_sheet

POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline' 'unsafe-eval'; img-src data:; "
    "base-uri 'none'; form-action 'none'"
)
"""The page may load nothing: a browser holds it to that."""


def write_html(
    answer: Answer, path: str | Path, *, live: bool = True, pen: Pen | None = None, day: DayDrawn | None = None
) -> Path:
    """Write the page of an answer to ``path`` and return it. ``live``: charts answer the pointer (adds 0.9 MB).

    ``pen`` draws the charts, where one has begun already, and ``day`` is what it began with (``begin_to_draw``).
    """
    file = Path(path)
    file.write_text(to_html(answer, live=live, pen=pen, day=day), encoding="utf-8")
    return file


def begin_to_draw(answer: Answer, pen: Pen) -> DayDrawn | None:
    """Begin with the charts of an answer that is not complete: those that come out the same are drawn by then.

    Gives the chart of its day, if it has one.
    """
    made = charts(answer)
    pen.draw(chart.spec for chart in made.values())
    day = answer.simulation.day if answer.simulation is not None else None
    return DayDrawn(day, made.get("day")) if day is not None else None


def to_html(answer: Answer, *, live: bool = True, pen: Pen | None = None, day: DayDrawn | None = None) -> str:
    """The page of an answer as text."""
    drawn = charts(answer, day) if drawing.can_draw() else {}
    if drawn and pen is None:
        with Pen() as own:
            return to_html(answer, live=live, pen=own)
    if pen is not None:
        pen.draw(chart.spec for chart in drawn.values())
    sections = [make(answer) for make in QUESTIONS]  # while they are drawn
    svgs = drawing.drawn_for_page(drawn, live=live, pen=pen)
    pictures = {name: parts.figure(name, c.caption, svgs[name]) for name, c in drawn.items()}
    body = "".join(section.html(pictures) for section in sections)
    links = "".join(f'<a href="#{s.id}">{escape(s.question)}</a>' for s in sections)
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'
        f"<title>{escape(answer.plan.name)}: {escape(answer.question)}</title><style>{style_sheet()}</style></head>"
        f'<body><main class="sheet">{_head(answer)}<nav aria-label="Questions">{links}</nav>'
        f"{body}{_foot(answer)}</main>{_scripts(drawn, live=live)}</body></html>\n"
    )


def _head(answer: Answer) -> str:
    told = head_of(answer)
    kind = {"yes": "answer", "no": "answer no", "unsure": "answer unsure"}[told.kind]
    said = f"<strong>{escape(told.verdict)}</strong>"
    more = f'<p class="said">{escape(told.more)}</p>' if told.more else ""
    head = f'<h1>{escape(told.title)}</h1><p class="{kind}">{escape(told.asked)} {said}</p>{more}'
    remark = f'<p class="lead">{escape(told.remark)}</p>' if told.remark else ""
    facts = "".join(f"<dt>{escape(name)}</dt><dd>{escape(value)}</dd>" for name, value in told.facts)
    return f'{head}{remark}<dl class="facts">{facts}</dl>'


def _foot(answer: Answer) -> str:
    charts_hint = "" if drawing.can_draw() else f" {drawing.HINT}"
    words_ = f"Made by Linewright {answer.provenance.version} from the plan {answer.plan.name}.{charts_hint}"
    return f"<footer>{escape(words_)}</footer>"


def _scripts(drawn: Mapping[str, Chart], *, live: bool) -> str:
    return drawing.live_script(drawn) if live and drawn else ""
