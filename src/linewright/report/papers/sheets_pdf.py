"""The sheets on paper: one page a place of work, or more where its steps need them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from linewright.answer.model import Answer
from linewright.report import words
from linewright.report.papers.paper import imprint
from linewright.report.papers.press import Format, print_pdf, print_png
from linewright.report.papers.sheet import NO_HAZARD, SIGN_OFF, Sheet, SheetStep, check_rows, sheets


def sheets_pdf(answer: Answer, *, of: Iterable[str] = (), balanced: bool = True, size: Format = "a4") -> bytes:
    """The sheets of an answer as one PDF, a new page for each; the same answer gives the same bytes.

    ``of`` names the stations wanted (all where it is empty). Raises ProblemsError for a name that no sheet has, and
    where the extra ``papers`` is missing.
    """
    return print_pdf("sheets.typ", sheets_data(answer, sheets(answer, of=of, balanced=balanced)), size)


def sheets_pictures(
    answer: Answer, *, of: Iterable[str] = (), balanced: bool = True, size: Format = "a4", dots: float = 96.0
) -> list[bytes]:
    """The pages of the sheets as PNG pictures."""
    return print_png("sheets.typ", sheets_data(answer, sheets(answer, of=of, balanced=balanced)), size, dots)


def sheets_data(answer: Answer, made: tuple[Sheet, ...]) -> dict[str, Any]:
    """What the template of the sheets is given, as plain data."""
    return {
        "sheets": [
            {
                "title": sheet.title,
                "facts": [list(fact) for fact in sheet.facts],
                "steps": [_step(step) for step in sheet.steps],
                "cautions": [
                    {"title": c.hazard[:1].upper() + c.hazard[1:], "where": words.listed(c.where), "text": c.text}
                    for c in sheet.cautions
                ],
            }
            for sheet in made
        ],
        "sign": list(SIGN_OFF),
        "no_hazard": NO_HAZARD,
        **imprint(answer),
    }


def _step(shown: SheetStep) -> dict[str, Any]:
    step = shown.step
    return {
        "number": step.number,
        "symbol": step.symbol,
        "title": step.title,
        "time": step.time,
        "people": step.people,
        "tools": step.tools,
        "at": shown.at,
        "parts": [{"much": much, "item": item, "more": more} for much, item, more in shown.parts],
        "check": [list(row) for row in check_rows(shown) if row[1]],
        "also": " ".join(step.also),
        "mind": step.mind,
        "hazards": words.listed(shown.hazards),
        "goes_to": shown.goes_to,
    }
