"""Edits of a plan as its author would write them: numbers with their units made larger or smaller, several at once."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from linewright.base.problems import Problems
from linewright.improve.model import Edit
from linewright.plan.change import with_value
from linewright.plan.model import Plan
from linewright.plan.paths import numbered
from linewright.plan.read import read_document

_QUANTITY = re.compile(r"\s*([+-]?[\d_]*\.?\d+(?:[eE][+-]?\d+)?)(.*)", re.DOTALL)


def value_at(document: Mapping[str, Any], path: str) -> Any:
    """What is written at a path; None where nothing is.

    >>> value_at({"stations": {"saw": {"places": 2}}}, "stations.saw.places")
    2
    """
    here: Any = document
    for part in numbered(document, path):
        if isinstance(here, list):
            here = here[int(part)]
        elif isinstance(here, Mapping):
            here = here.get(str(part))
        else:
            return None
    return here


def edit(plan: Plan, path: str, after: object) -> Edit:
    """The edit that writes ``after`` at a path of the plan."""
    return Edit(path, value_at(plan.document, path), after)


def edited(plan: Plan, edits: Iterable[Edit]) -> Plan:
    """The plan with all edits made together, then checked once.

    Edits that are right only together (a crew's people by shift, its one shift gone) need this; single ones are
    ``plan.change``. Raises ProblemsError where the new plan is wrong.
    """
    document: Mapping[str, Any] = plan.document
    for one in edits:
        document = with_value(document, one.path, one.after)
    problems = Problems()
    new = read_document(document, Path(plan.folder), problems)
    problems.raise_errors()
    assert new is not None  # a plan without errors is made
    return replace(new, places=plan.places)


def scaled(value: object, factor: float) -> Any:
    """A number, or text that begins with one, times a factor, the rest kept; six figures. None: it is neither.

    >>> scaled("5.5 min", 0.9), scaled(12, 0.5), scaled("2 %", 0.5), scaled(0.15, 0.9), scaled("soon", 2)
    ('4.95 min', 6, '1 %', 0.135, None)
    """
    if isinstance(value, bool):
        return None
    if isinstance(value, (int, float)):
        return _plain(float(value) * factor)
    match = _QUANTITY.fullmatch(value) if isinstance(value, str) else None
    return f"{_plain(float(match[1].replace('_', '')) * factor)}{match[2]}" if match is not None else None


def more_of(value: object, part: float) -> Any:
    """A count, or an amount as text, greater by a part: a count by one at least, and whole.

    >>> more_of(8, 0.25), more_of(3, 0.25), more_of("840 L", 0.25), more_of(12, -0.5)
    (10, 4, '1050 L', 6)
    """
    if isinstance(value, int) and not isinstance(value, bool):
        step = max(math.ceil(value * part - 1e-9), 1) if part > 0 else -max(math.ceil(-value * part - 1e-9), 1)
        return value + step
    return scaled(value, 1 + part)


def _plain(value: float) -> int | float:
    """Six figures, whole numbers without a point."""
    short = float(f"{value:.6g}")
    return int(short) if short.is_integer() and abs(short) < 1e15 else short
