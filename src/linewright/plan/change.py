"""A plan with one field changed: the document copied along the path, and the whole checked again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from linewright.base.problems import Problems, ProblemsError
from linewright.plan.model import Plan
from linewright.plan.paths import Part, numbered
from linewright.plan.read import read_document


def with_value(document: Mapping[str, Any], path: str, value: object) -> dict[str, Any]:
    """A copy of a document with the value at ``path`` set (None: taken out). Only what lies on the path is copied.

    Raises KeyError where a list on the way has no such member, ValueError for no path.

    >>> with_value({"plan": {"name": "A"}}, "plan.name", "B")
    {'plan': {'name': 'B'}}
    """
    result: dict[str, Any] = _put(document, numbered(document, path), value, path)
    return result


def _put(here: Any, parts: list[Part], value: object, path: str) -> Any:
    if not parts:
        return value
    first, rest = parts[0], parts[1:]
    if isinstance(here, list):
        assert isinstance(first, int)  # numbered() made it so
        copy = list(here)
        if value is None and not rest:
            del copy[first]
        else:
            copy[first] = _put(here[first], rest, value, path)
        return copy
    if here is not None and not isinstance(here, Mapping):
        raise KeyError(f"{path}: there is no table to hold {first}")
    table: dict[str, Any] = dict(here or {})
    if value is None and not rest:
        table.pop(str(first), None)
    else:
        table[str(first)] = _put(table.get(str(first)), rest, value, path)
    return table


def changed(plan: Plan, path: str, value: object) -> Plan:
    """A new plan, checked again (see Plan.change)."""
    problems = Problems()
    new = read_document(with_value(plan.document, path, value), Path(plan.folder), problems)
    problems.raise_errors()
    if new is None:  # cannot be: a plan without errors is made
        raise ProblemsError(problems)
    new = replace(new, places=plan.places)
    return replace(new, warnings=tuple(new.placed(warning) for warning in new.warnings))
