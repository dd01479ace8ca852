"""The outline of a text as the pages want it: tables, names, and what may be written where."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from linewright.plan.forms import Form
from linewright.plan.outline import outline
from linewright.plan.record import Record, plain_words
from linewright.plan.reference import TABLES

SHOWN = {"operations": "operations", "stations": "stations", "crews": "crews", "items": "items"}


def outlined(text: str, folder: Path) -> dict[str, Any]:
    """Tables and names of a text; ``whole`` is False where it is so broken that there are none."""
    found = outline(text, folder)
    tables = {
        kind: {"columns": [_column(kind, key) for key in columns], "rows": [_row(row) for row in rows]}
        for kind, (columns, rows) in found.tables.items()
    }
    return {"tables": tables, "names": found.names, "left_out": found.left_out, "whole": found.whole}


def _row(row: Any) -> dict[str, Any]:
    return {"path": row.path, "file": row.file or None, "line": row.line, "cells": row.cells}


def _column(kind: str, key: str) -> dict[str, str]:
    field = TABLES[kind].by_key.get(key)
    about = plain_words(field.help) if field is not None else ""
    return {"key": key, "label": key.replace("_", " "), "kind": kind_of(field.form) if field else "key", "about": about}


def kind_of(form: Form) -> str:
    """What is typed into a cell: "text", or "value" where it is read as a number, a word or a table."""
    return "text" if form.textual else "value"


def fields_of() -> dict[str, list[dict[str, Any]]]:
    """The fields of every table by its mark: name, meaning, form and example."""
    return {mark: list(_fields(record)) for mark, record in TABLES.items()}


def _fields(record: Record) -> Iterator[dict[str, Any]]:
    for field in record.fields:
        about, form = plain_words(field.help), plain_words(field.form.words)
        yield {
            "name": field.key, "about": about, "form": form, "example": field.example, "required": field.required,
        }  # fmt: skip
