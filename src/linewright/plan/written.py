"""Values as TOML on one line: what is put into a plan's text by an edit or an import."""

from __future__ import annotations

import json
from collections.abc import Mapping

from linewright.plan.paths import join


def inline(value: object) -> str:
    """A value as TOML, tables and lists on one line.

    >>> inline({"fitter": 1, "left hand": ["a", True]})
    '{ fitter = 1, "left hand" = ["a", true] }'
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):
        parts = ", ".join(f"{key_of(str(key))} = {inline(part)}" for key, part in value.items())
        return f"{{ {parts} }}" if parts else "{}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(inline(part) for part in value) + "]"
    if isinstance(value, (int, float)):
        return repr(value)
    return json.dumps(str(value), ensure_ascii=False).replace("\x7f", "\\u007f")


def key_of(word: str) -> str:
    """A key, in quotes where it needs them.

    >>> key_of("seam_gap"), key_of("seam gap"), key_of("Naht ü")
    ('seam_gap', '"seam gap"', '"Naht ü"')
    """
    return word if word.isascii() and join("", word) == word else json.dumps(word, ensure_ascii=False)
