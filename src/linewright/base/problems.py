"""What is wrong with an input, said so that its author can mend it.

Every reader of input collects all its problems in one pass instead of stopping at the first. A problem names the
place (file, line, path), the value found, what was expected, and a hint. Errors stop an answer; warnings say what
was assumed.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, field
from enum import StrEnum
from typing import Any


class Level(StrEnum):
    """How grave a problem is."""

    ERROR = "error"
    WARNING = "warning"


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with an input.

    ``path`` names the field the way its author would (``routes.shell.operations[2].time``); ``what`` is one plain
    sentence; ``value`` is what was written, as text; ``line`` counts from 1 and is None where there is no file.
    """

    path: str
    what: str
    value: str | None = None
    expected: str | None = None
    hint: str | None = None
    level: Level = Level.ERROR
    file: str | None = None
    line: int | None = None

    @property
    def place(self) -> str:
        """``file:line`` as far as it is known, else an empty text."""
        if self.file is None:
            return ""
        return self.file if self.line is None else f"{self.file}:{self.line}"

    def __str__(self) -> str:
        parts = [
            f"{self.place}: " if self.place else "",
            f"{self.level}: ",
            f"{self.path}: " if self.path else "",
            self.what,
        ]
        if self.value is not None:
            parts.append(f" (found {self.value})")
        if self.expected is not None:
            parts.append(f"; expected {self.expected}")
        if self.hint is not None:
            parts.append(f"; {self.hint}")
        return "".join(parts)

    def to_dict(self) -> dict[str, Any]:
        """All fields by name, ready for JSON."""
        return {**asdict(self), "level": self.level.value}


@dataclass(slots=True)
class Problems:
    """A growing list of problems. ``error`` and ``warn`` add one; ``raise_errors`` stops if there is any error."""

    found: list[Problem] = field(default_factory=list)

    def error(
        self,
        path: str,
        what: str,
        *,
        value: object = None,
        expected: str | None = None,
        hint: str | None = None,
    ) -> None:
        """Add an error at ``path``."""
        self.found.append(Problem(path, what, as_text(value), expected, hint))

    def warn(
        self,
        path: str,
        what: str,
        *,
        value: object = None,
        expected: str | None = None,
        hint: str | None = None,
    ) -> None:
        """Add a warning at ``path``: it says what was assumed."""
        self.found.append(Problem(path, what, as_text(value), expected, hint, Level.WARNING))

    def extend(self, others: Iterable[Problem]) -> None:
        """Add problems found elsewhere."""
        self.found.extend(others)

    @property
    def errors(self) -> list[Problem]:
        """The problems that stop an answer."""
        return [p for p in self.found if p.level is Level.ERROR]

    @property
    def warnings(self) -> list[Problem]:
        """The problems that only say what was assumed."""
        return [p for p in self.found if p.level is Level.WARNING]

    def raise_errors(self) -> None:
        """Raise ProblemsError with everything found if any of it is an error."""
        if self.errors:
            raise ProblemsError(self.found)

    def __iter__(self) -> Iterator[Problem]:
        return iter(self.found)

    def __len__(self) -> int:
        return len(self.found)


class ProblemsError(ValueError):
    """Raised where an input cannot be used. ``problems`` holds every problem found, warnings included."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(p) for p in self.problems))


def as_text(value: object, longest: int = 60) -> str | None:
    """A value as its author wrote it, cut to ``longest`` characters; None stays None."""
    if value is None:
        return None
    text = _written(value)
    return text if len(text) <= longest else text[: longest - 1] + "…"


def _written(value: object) -> str:
    """Text in quotes, tables and lists as they stand in a plan.

    >>> _written({"20 hL": 3, "hours": ["day"]}), _written(True)
    ('{ "20 hL" = 3, hours = ["day"] }', 'true')
    """
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        keys = (k if isinstance(k, str) and k.replace("_", "").replace("-", "").isalnum() else f'"{k}"' for k in value)
        inside = ", ".join(f"{key} = {_written(part)}" for key, part in zip(keys, value.values(), strict=True))
        return f"{{ {inside} }}" if inside else "{}"
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(_written(part) for part in value)}]"
    return str(value)


def did_you_mean(word: str, known: Iterable[str]) -> str | None:
    """A hint naming the nearest known name, or listing a few where none is near; None where nothing is known.

    >>> did_you_mean("bond_frme", ["bond_frame", "saw"])
    'did you mean "bond_frame"?'
    """
    names = sorted(set(known))
    near = difflib.get_close_matches(word, names, n=1, cutoff=0.6)
    if not near:
        folded = {name.casefold(): name for name in names}
        near = [folded[word.casefold()]] if word.casefold() in folded else []
    if near:
        return f'did you mean "{near[0]}"?'
    if not names:
        return None
    shown = ", ".join(names[:6]) + (", …" if len(names) > 6 else "")
    return f"known: {shown}"
