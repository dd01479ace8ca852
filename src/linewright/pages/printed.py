"""What a working process makes to be printed and handed over: report, sheets for the floor, and every table."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from linewright.base.problems import ProblemsError
from linewright.pages.refused import RefusedError

if TYPE_CHECKING:
    from linewright.answer.model import Answer
    from linewright.plan.model import Plan

PLAYED = 3.0
"""Seconds of simulating for a report, and of sharing out lines."""


def printed(plan: Plan, what: str) -> bytes:
    """One paper of a plan. Raises RefusedError with the reason where it cannot be made."""
    from linewright.answer import answer
    from linewright.answer.ask_balance import share_out

    try:
        found = answer(plan, simulate=what.startswith("report"), budget_seconds=PLAYED)
        if plan.lines:
            found = share_out(found, seconds=PLAYED / (2 * len(plan.lines)), play=False)
        return PAPERS[what](found)
    except ProblemsError as wrong:
        first = wrong.problems[0]
        raise RefusedError(422, f"{first.what}: {first.hint}" if first.hint else first.what) from None


def _report(found: Answer) -> bytes:
    from linewright.report.html import to_html

    return to_html(found, live=False).encode()


def _report_pdf(found: Answer) -> bytes:
    from linewright.report.papers import report_pdf

    return report_pdf(found)


def _sheets(found: Answer) -> bytes:
    from linewright.report.papers import sheets_html

    return sheets_html(found).encode()


def _sheets_pdf(found: Answer) -> bytes:
    from linewright.report.papers import sheets_pdf

    return sheets_pdf(found)


def _tables(found: Answer) -> bytes:
    from linewright.report.papers import workbook

    return workbook(found)


PAPERS: Mapping[str, Callable[[Answer], bytes]] = {
    "report": _report, "report.pdf": _report_pdf, "sheets": _sheets, "sheets.pdf": _sheets_pdf, "tables.xlsx": _tables,
}  # fmt: skip
"""Every paper, by what it is and its ending."""
