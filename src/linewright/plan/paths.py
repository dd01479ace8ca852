"""Paths into a plan, such as ``routes.shell.operations[glue].time``: written, taken apart and followed.

Parts are joined by dots; a part with a space or a sign in it stands in double quotes; a list member is named in square
brackets by its number from 0 or, for an operation, by its id.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

_BARE = re.compile(r"[\w-]+")
_PART = re.compile(r'\.?("(?:[^"\\]|\\.)*"|[\w-]+)|\[([^\]]+)\]')

Part = str | int


def join(path: str, key: str) -> str:
    """The path of ``key`` inside ``path``; a key that is no plain word is quoted.

    >>> join("items.tub", "mass"), join("faults", "seam gap")
    ('items.tub.mass', 'faults."seam gap"')
    """
    word = key if _BARE.fullmatch(key) else json.dumps(key, ensure_ascii=False)
    return f"{path}.{word}" if path else word


def split(path: str) -> list[Part]:
    """The parts of a path: keys as text, list members as a number or, in brackets, as the text of an id.

    Raises ValueError for a text that is no path.

    >>> split('routes.shell.operations[2].faults."seam gap"')
    ['routes', 'shell', 'operations', 2, 'faults', 'seam gap']
    """
    parts: list[Part] = []
    at = 0
    while at < len(path):
        match = _PART.match(path, at)
        if match is None:
            raise ValueError(f'"{path}" is not a path: it goes wrong at "{path[at : at + 12]}"')
        if match[1] is not None:
            parts.append(json.loads(match[1]) if match[1].startswith('"') else match[1])
        else:
            parts.append(int(match[2]) if match[2].isdigit() else match[2])
        at = match.end()
    return parts


def member(rows: list[Any], part: Part) -> int | None:
    """The number of the list member that ``part`` names: an id where one has it, else a number from 0."""
    text = str(part)
    for number, row in enumerate(rows):
        if isinstance(row, Mapping) and row.get("id", row.get("name")) == text:
            return number
    return part if isinstance(part, int) and 0 <= part < len(rows) else None


def numbered(document: Mapping[str, Any], path: str) -> list[Part]:
    """The parts of a path with every list member as its number, as far as the document goes."""
    here: Any = document
    parts: list[Part] = []
    for part in split(path):
        if isinstance(here, list):
            number = member(here, part)
            if number is None:
                raise KeyError(path)
            parts.append(number)
            here = here[number]
        else:
            parts.append(str(part))
            here = here.get(str(part)) if isinstance(here, Mapping) else None
    return parts
