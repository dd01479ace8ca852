"""The report of an answer on paper: the same questions, tables and charts as the page, set in A4 or letter."""

from __future__ import annotations

import math
from typing import Any

from linewright.answer.model import Answer
from linewright.base.results import Table, show
from linewright.report import parts, words
from linewright.report.blocks import Block, Drawing, Grid, Listing, Note, Picture, ProcessMap, Telling, Warned
from linewright.report.chart import Chart
from linewright.report.charts import charts
from linewright.report.drawing import HINT, can_draw
from linewright.report.head import head_of
from linewright.report.map import map_pages
from linewright.report.map.draw import describe
from linewright.report.map.graph import graph_of
from linewright.report.papers.pictures import chart_for_paper, for_paper
from linewright.report.papers.press import Format, need_papers, print_pdf, print_png
from linewright.report.sections import QUESTIONS
from linewright.report.telling import Step

COLUMNS = 5
"""Columns of the process map on a page: so many that its smallest letters stay above 7 points."""
FULL = 105
"""Letters of a table's row that fit on a page."""
WIDEST = 116
"""Letters of a row that go on a page in small print, the room between columns counted as three each."""
LONG_TEXT = 16
"""Letters of a cell from which it may be broken into lines."""
WIDE = 720.0
"""The least width of a map, so that a short one is not blown up."""
TALLEST: dict[Format, float] = {"a4": 1030.0, "letter": 930.0}
"""The greatest height of one picture of the map, in its own units: a page."""
HEADING = 75.0
"""What the heading of the section takes of the first."""


def report_pdf(answer: Answer, size: Format = "a4") -> bytes:
    """The report of an answer as a PDF: answers first, then every question, with cautions and sources.

    The same answer gives the same bytes. Raises ProblemsError where the extra ``papers`` is missing.
    """
    need_papers()
    return print_pdf("report.typ", report_data(answer, size), size)


def report_pictures(answer: Answer, size: Format = "a4", dots: float = 96.0) -> list[bytes]:
    """The pages of the report as PNG pictures."""
    need_papers()
    return print_png("report.typ", report_data(answer, size), size, dots)


def report_data(answer: Answer, size: Format = "a4") -> dict[str, Any]:
    """What the template of the report is given, as plain data."""
    head = head_of(answer)
    drawn = charts(answer) if can_draw() else {}
    sections = [make(answer) for make in QUESTIONS]
    helps = next(section for section in sections if section.id == "helps")
    facts = [*head.facts]
    if helps.answer not in (said for _, said in facts):  # of a season that nothing limits both say the same
        facts.append((helps.question.rstrip("?"), helps.answer))
    return {
        "title": head.title,
        "asked": head.asked,
        "kind": head.kind,
        "verdict": head.verdict,
        "more": head.more,
        "remark": head.remark,
        "facts": [list(fact) for fact in facts],
        "sections": [
            {
                "id": section.id,
                "question": section.question,
                "answer": section.answer,
                "blocks": [
                    data
                    for block in section.body
                    for piece in pieces(block)
                    if (data := _block(piece, drawn, size)) is not None
                ],
            }
            for section in sections
        ],
        "hint": "" if can_draw() else HINT,
        **imprint(answer),
    }


def imprint(answer: Answer) -> dict[str, Any]:
    """What stands at the foot of every paper: plan, fingerprint and version."""
    return {
        "plan": answer.plan.name,
        "fingerprint": answer.provenance.fingerprint[:16],
        "version": answer.provenance.version,
    }


def pieces(block: Block) -> list[Block]:
    """A table that no page is wide enough for as several, each with the first column; any other block as it is."""
    if not isinstance(block, Grid) or not block.table.rows:
        return [block]
    table = block.table
    texts = [[show(row[k]) for row in table.rows] for k in range(len(table.columns))]
    if any(len(text) > LONG_TEXT for column in texts for text in column):
        return [block]  # long texts give way
    first, *others = (_letters(heading, column) for heading, column in zip(table.columns, texts, strict=True))
    if first + sum(others) <= WIDEST:
        return [block]
    groups = _shared_out(others, WIDEST - first)
    return [
        Grid(
            Table(
                table.title if n == 0 else f"{table.title}, continued",
                tuple(table.columns[k] for k in (0, *group)),
                tuple(tuple(row[k] for k in (0, *group)) for row in table.rows),
                table.note if n == len(groups) - 1 else "",
            ),
            block.total,
        )
        for n, group in enumerate(groups)
    ]


def _shared_out(widths: list[int], room: int) -> list[list[int]]:
    """Columns, counted from 1, in as few groups as fit into the room, about as wide as each other."""
    fewest = math.ceil(sum(widths) / room)
    even = sum(widths) / fewest
    groups: list[list[int]] = [[]]
    taken = 0
    for k, width in enumerate(widths, start=1):
        full = taken + width > room or (taken + width / 2 > even and len(groups) < fewest)
        if groups[-1] and full:
            groups.append([])
            taken = 0
        groups[-1].append(k)
        taken += width
    return groups


def _letters(heading: str, texts: list[str]) -> int:
    """Letters that a column is wide at least, the room between columns counted."""
    return max(len(heading) // 2 + 1, *map(len, heading.split()), *map(len, texts)) + 3


def _block(block: Block, drawn: dict[str, Chart], size: Format) -> dict[str, Any] | None:
    match block:
        case Grid(table=table, total=total):
            return table_data(table, total) if table.rows else None
        case Picture(name=name):
            chart = drawn.get(name)
            svg = chart_for_paper(chart.spec) if chart is not None else None
            return None if chart is None or svg is None else {"kind": "picture", "svg": svg, "caption": chart.caption}
        case ProcessMap(plan=plan, limits=limits):
            pages = map_pages(plan, TALLEST.get(size, 0.0), HEADING, limits=limits, most_columns=COLUMNS, wide=WIDE)
            return {"kind": "map", "pages": [for_paper(p) for p in pages], "about": describe(graph_of(plan))}
        case Drawing(strips=strips, about=about):
            return {"kind": "drawing", "pages": [for_paper(strip) for strip in strips], "about": about}
        case Note(text=text):
            return {"kind": "note", "text": text}
        case Listing(title=title, texts=texts):
            return {"kind": "listing", "title": title, "texts": list(texts)} if texts else None
        case Telling(chapters=told):
            chapters = [
                {"title": c.title, "opening": c.opening, "steps": [step_data(step) for step in c.steps]} for c in told
            ]
            return {"kind": "telling", "chapters": chapters}
        case Warned(caution=caution):
            return {"kind": "caution", "title": _upper(caution.hazard), "where": words.listed(caution.where),
                    "text": caution.text}  # fmt: skip


def table_data(table: Table, total: str = "") -> dict[str, Any]:
    """A table as texts, with the columns that stand to the right."""
    right = [all(parts.numeric(row[k]) for row in table.rows) for k in range(len(table.columns))]
    rows = [[show(cell) for cell in row] for row in table.rows]
    last = next((k for k, row in enumerate(table.rows) if total and row[0] == total), None)
    return {
        "kind": "table", "title": table.title, "columns": list(table.columns), "rows": rows, "right": right,
        "widths": _widths(table.columns, rows), "total": last, "note": table.note,
    }  # fmt: skip


def _widths(columns: tuple[str, ...], rows: list[list[str]]) -> list[float]:
    """How the width of a page is shared: 0 for a column that takes what it needs, else the part of what is left.

    A table that fits takes what it needs throughout. Else columns of long texts share what the others leave, longer
    ones more, yet less than in proportion, so that none gets too narrow to read; the others are as wide as their
    longest word or half of their heading, told as minus its letters, so that headings break once.
    """
    longest = [max(len(row[k]) for row in rows) for k in range(len(columns))]
    headings = [max(len(column) // 2 + 1, *(len(word) for word in column.split(" "))) for column in columns]
    if sum(max(text, heading) + 2 for text, heading in zip(longest, headings, strict=True)) <= FULL:
        return [0.0] * len(columns)
    return [
        float(min(text, 120)) ** 0.6 if text > LONG_TEXT else -float(max(text, heading))
        for text, heading in zip(longest, headings, strict=True)
    ]


def step_data(step: Step) -> dict[str, Any]:
    """A step of the telling."""
    return {
        "number": step.number,
        "symbol": step.symbol,
        "title": step.title,
        "said": " ".join(step.sentences),
        "mind": step.mind,
        "hazards": words.listed(step.hazards),
    }


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
