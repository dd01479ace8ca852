"""The outline of a text as the pages want it: tables, names, and what may be written where."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from linewright.plan.outline import Row, outline
from linewright.plan.read import TOP
from linewright.plan.record import Field, Record, plain_words
from linewright.plan.reference import TABLES
from linewright.plan.table_fields import RECORDS

NAMES = {
    "station": "stations", "crew": "crews", "after": "operations", "takes": "items", "gives": "items", "uses": "tools",
    "then_to": "stores", "store": "stores", "shift": "shifts", "hours": "shifts", "faults": "faults",
    "hazards": "hazards", "loses": "items",
}  # fmt: skip
"""Columns whose cells name things, and the kind of these."""


def outlined(text: str, folder: Path) -> dict[str, Any]:
    """Tables and names of a text; ``whole`` is False where it is so broken that there are none."""
    found = outline(text, folder)
    tables = {
        kind: {"columns": [_column(kind, key) for key in columns], "rows": [_row(row) for row in rows]}
        for kind, (columns, rows) in found.tables.items()
    }
    return {"tables": tables, "names": found.names, "left_out": found.left_out, "whole": found.whole}


def _row(row: Row) -> dict[str, Any]:
    cells = {key: {"text": cell.text, "toml": cell.toml} for key, cell in row.cells.items()}
    return {
        "id": row.id,
        "path": row.path,
        "route": row.route,
        "file": row.file or None,
        "line": row.line,
        "cells": cells,
    }


def _column(kind: str, key: str) -> dict[str, Any]:
    field = TABLES[kind].by_key.get(key)
    about = plain_words(field.help) if field is not None else ""
    names = NAMES.get(key) if kind == "operations" or key in ("shift", "store", "hazards") else None
    return {"key": key, "label": key.replace("_", " "), "kind": _kind(field), "about": about, "names": names}


def _kind(field: Field | None) -> str:
    """What is typed into a cell: "text", or "value" where it is read as a number, a word or a table."""
    return "text" if field is not None and field.form.textual else "value"


def fields_of() -> dict[str, list[dict[str, Any]]]:
    """The fields of every table by its mark ("" for the tables themselves): name, meaning, form and example."""
    about = {kind: plain_words(TABLES[kind].what) for kind in TOP}
    tables = [{"name": kind, "about": about[kind], "form": "table", "example": _header(kind)} for kind in TOP]
    return {"": tables, **{mark: list(_fields(record)) for mark, record in TABLES.items()}}


def _fields(record: Record) -> Iterator[dict[str, Any]]:
    for field in record.fields:
        about, form = plain_words(field.help), plain_words(field.form.words)
        yield {
            "name": field.key, "about": about, "form": form, "example": field.example, "required": field.required,
        }  # fmt: skip


def _header(kind: str) -> str:
    return f"[{kind}.name]" if kind in RECORDS else {"demand": "[[demand]]"}.get(kind, f"[{kind}]")
