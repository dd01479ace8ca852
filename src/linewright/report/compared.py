"""Two plans side by side in words: the table of differences, and the outcome in one sentence."""

from __future__ import annotations

from typing import Any

from linewright.answer.compared import Difference, Differences
from linewright.base.results import Interval, Table, show, show_interval


def table_of(found: Differences) -> Table:
    """One row a measure, each difference with its interval where it was simulated."""
    rows = tuple((row.what, _cell(row.a, row), _cell(row.b, row), difference(row)) for row in found.rows)
    note = " ".join(f"{note[:1].upper()}{note[1:]}." for note in found.notes)
    return Table("Side by side", ("", found.a, found.b, "difference"), rows, note)


def _cell(value: float | str | None, row: Difference) -> str:
    if isinstance(value, str) or value is None:
        return value or ""
    return f"{show(round(value, 9))} {row.unit}".strip()


def difference(row: Difference) -> str:
    """A difference with its sign, its interval, and what it is worth.

    >>> difference(Difference("rate", "each/day", 36.0, 38.0, "simulated", 1, 2.0, 1.5, 2.5))
    '+2.0 ± 0.5'
    """
    if row.sort == "words":
        return "" if row.a == row.b else "differs"
    if row.difference is None:
        return ""
    if row.low is not None and row.high is not None:
        said = show_interval(Interval(row.difference, (row.high - row.low) / 2))
        said = said if row.difference <= 0 else f"+{said}"
        return said if row.sure else f"{said}, cannot be told from nothing"
    if abs(row.difference) < 1e-9:
        return "the same"
    said = f"{'+' if row.difference > 0 else ''}{show(row.difference)}"
    return f"{said} (an estimate)" if row.sort == "estimate" else said


def sentence(found: Differences) -> str:
    """What differs, in one sentence: rate as simulated, else by the bounds, then cost."""
    rates = [row for row in found.rows if row.sort == "simulated"] or [row for row in found.rows if row.sort == "bound"]
    costs = [row for row in found.rows if row.what.endswith(": one costs")]
    said = [_said(found.b, row) for row in [*rates[-1:], *costs[:1]] if row.difference is not None]
    text = "; ".join(said)
    return f"{text[:1].upper()}{text[1:]}." if text else "Nothing can be compared."


def _said(b: str, row: Difference) -> str:
    change = row.difference or 0.0
    if row.sure is False and row.low is not None:
        return f"{row.what}: {b} cannot be told from it"
    if abs(change) < 1e-9:
        return f"{row.what}: the same"
    if row.low is not None and row.high is not None:
        size = show_interval(Interval(abs(change), (row.high - row.low) / 2))
    else:
        size = show(abs(change))
    return f"{row.what}: {b} {size} {row.unit} {'more' if change > 0 else 'less'}"


def as_data(found: Differences) -> dict[str, Any]:
    """The comparison as plain data, one row a measure."""
    rows = [
        {
            "what": row.what, "unit": row.unit, "a": row.a, "b": row.b, "difference": row.difference, "low": row.low,
            "high": row.high, "sure": row.sure, "sort": row.sort, "better": row.better, "said": difference(row),
        }
        for row in found.rows
    ]  # fmt: skip
    return {"a": found.a, "b": found.b, "rows": rows, "said": sentence(found), "notes": list(found.notes)}
