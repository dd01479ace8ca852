"""A table as a frame of polars or pandas: one column a heading, numbers as numbers, texts as texts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from importlib import import_module
from typing import Any

from linewright.base.problems import Problem, ProblemsError


def frame_of(library: str, columns: Sequence[str], rows: Sequence[Sequence[Any]]) -> Any:
    """The frame; ``library`` is polars or pandas. Headings that come twice get a number.

    Raises ProblemsError where the library is not installed.
    """
    try:
        made = import_module(library)
    except ImportError:
        extra = {"polars": "frames", "pandas": "pandas"}[library]
        hint = f'pip install "linewright[{extra}]"'
        raise ProblemsError(
            [Problem("", f"a frame of {library} needs {library}, which is not installed", hint=hint)]
        ) from None
    names = _once_each(columns)
    return made.DataFrame({name: _alike([row[k] for row in rows]) for k, name in enumerate(names)})


def _once_each(columns: Sequence[str]) -> list[str]:
    """The headings, the second of two alike with a number; an empty one becomes "what".

    >>> _once_each(["", "rate", "rate"])
    ['what', 'rate', 'rate 2']
    """
    seen: Counter[str] = Counter()
    made = []
    for column in columns:
        name = column or "what"
        seen[name] += 1
        made.append(name if seen[name] == 1 else f"{name} {seen[name]}")
    return made


def _alike(cells: list[Any]) -> list[Any]:
    """The cells of a column as one kind: numbers as plain numbers, else all as text."""
    from linewright.base.results import Told, show

    bare = [float(c) if isinstance(c, Told) else c.item() if hasattr(c, "item") else c for c in cells]
    kinds = {bool if isinstance(c, bool) else float if isinstance(c, (int, float)) else str
             for c in bare if c is not None and c != ""}  # fmt: skip
    if len(kinds) > 1:
        return [None if c is None else show(c) for c in cells]
    if kinds == {str}:
        return [None if c is None else str(c) for c in bare]
    numbers = [None if c == "" else c for c in bare]
    if any(isinstance(c, float) for c in numbers):
        return [None if c is None else float(c) for c in numbers]
    return numbers
