"""Pieces of a page: every text that comes from a plan is escaped here and nowhere else."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from html import escape

from linewright.base.cautions import Caution
from linewright.base.results import Table, show
from linewright.report import words
from linewright.report.blocks import Block, Drawing, Grid, Listing, Note, Picture, ProcessMap, Telling, Warned
from linewright.report.map import process_map
from linewright.report.map.symbols import colour, shape
from linewright.report.telling import Chapter, Step


def section(identity: str, question: str, answer: str, body: Iterable[str], *, wide: bool = False) -> str:
    """One question with its short answer in the margin and what stands behind it."""
    style = ' class="wide"' if wide else ""
    head = f"<header><h2>{escape(question)}</h2><p>{escape(answer)}</p></header>"
    return f'<section id="{identity}"{style}>{head}<div>{"".join(body)}</div></section>'


def block(data: Block, pictures: Mapping[str, str]) -> str:
    """A block of a section; ``pictures`` are the finished figures of its charts by name."""
    match data:
        case Grid(table=shown, total=total):
            return table(shown, total=total)
        case Picture(name=name):
            return pictures.get(name, "")
        case ProcessMap(plan=plan, limits=limits):
            return f'<div class="map" tabindex="0">{process_map(plan, limits=limits, link="#step-")}</div>'
        case Drawing(svg=svg):
            return f'<div class="map" tabindex="0">{svg}</div>'
        case Note(text=text):
            return note(text)
        case Listing(title=title, texts=texts):
            return listing(title, texts)
        case Telling(chapters=told):
            return chapters(told)
        case Warned(caution=told_caution):
            return caution(told_caution)


def table(data: Table, *, total: str = "") -> str:
    """A table, numbers to the right; the row whose first cell is ``total`` is set apart. Empty without rows."""
    if not data.rows:
        return ""
    style = [_kind([row[k] for row in data.rows]) for k in range(len(data.columns))]
    head = "".join(f'<th scope="col"{s}>{escape(c)}</th>' for c, s in zip(data.columns, style, strict=True))
    rows = []
    for row in data.rows:
        cells = "".join(f"<td{s}>{escape(show(cell))}</td>" for cell, s in zip(row, style, strict=True))
        rows.append(f'<tr class="total">{cells}</tr>' if total and row[0] == total else f"<tr>{cells}</tr>")
    note = f'<p class="note">{escape(data.note)}</p>' if data.note else ""
    return (
        f'<div class="part"><div class="scroll"><table><caption><span>{escape(data.title)}</span></caption>'
        f"<thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table></div>{note}</div>"
    )


BRIEF, LONG = 16, 60
"""Characters up to which an interval or a time stays on one line, and from which a text wants room."""


def _kind(cells: list[object]) -> str:
    """The class of a column: numbers, short texts with a number that are not broken, texts that want room."""
    if all(map(numeric, cells)):
        return ' class="num"'
    said = [show(cell) for cell in cells]
    if any(len(text) > LONG for text in said):
        return ' class="long"'
    return ' class="whole"' if all(len(t) <= BRIEF and (not t or t[0].isdigit()) for t in said) else ""


def numeric(cell: object) -> bool:
    """Whether a cell is a number, or a text that reads as one."""
    if cell is None or (isinstance(cell, (int, float)) and not isinstance(cell, bool)):
        return True
    text = str(cell).removesuffix("%").strip().replace(",", "").removeprefix("-")
    return text == "" or text.replace(".", "", 1).isdigit()


def figure(name: str, caption: str, picture: str) -> str:
    """A chart with its sentence."""
    return (
        f'<figure><figcaption>{escape(caption)}</figcaption><div class="chart" data-chart="{escape(name, quote=True)}" '
        f'tabindex="0" role="group" aria-label="{escape(caption, quote=True)}">{picture}</div></figure>'
    )


def note(text: str) -> str:
    """A small remark."""
    return f'<p class="note">{escape(text)}</p>'


def listing(title: str, texts: Iterable[str]) -> str:
    """A titled list of sentences; empty without any."""
    items = "".join(f"<li>{escape(text)}</li>" for text in texts)
    return f'<div class="part"><h3>{escape(title)}</h3><ul class="plainlist">{items}</ul></div>' if items else ""


def chapters(told: Iterable[Chapter]) -> str:
    """The telling."""
    body = "".join(
        f'<div class="chapter"><h3>{escape(c.title)}</h3><p>{escape(c.opening)}</p>'
        f'<ol class="steps">{"".join(step(s) for s in c.steps)}</ol></div>'
        for c in told
    )
    return f'<div class="chapters">{body}</div>'


def step(told: Step) -> str:
    """One operation of the telling, with its symbol."""
    symbol = (
        f'<svg viewBox="-17 -17 34 34" role="img" aria-label="{escape(told.symbol)} {told.number}">'
        f'<g class="{colour(told.symbol)}">{shape(told.symbol, 0, 0)}</g><text y="4">{told.number}</text></svg>'
    )
    said = " ".join(told.sentences)
    mind = f'<p class="mind">Mind: {escape(told.mind)}</p>' if told.mind else ""
    hazards = f'<p class="hazards">Hazards: {escape(words.listed(told.hazards))}</p>' if told.hazards else ""
    return (
        f'<li class="step" id="step-{escape(told.id, quote=True)}">{symbol}<div><p><b>{escape(told.title)}.</b> '
        f"{escape(said)}</p>{mind}{hazards}</div></li>"
    )


def caution(told: Caution) -> str:
    """One caution and what it concerns."""
    where = f'<p class="where">{escape(words.listed(told.where))}</p>' if told.where else ""
    title = escape(told.hazard[:1].upper() + told.hazard[1:])
    return f'<div class="caution"><h3>{title}</h3>{where}<p>{escape(told.text)}</p></div>'
