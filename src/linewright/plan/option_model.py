"""The part of the plan's model that says in what an item may differ: options such as size, side or colour.

An item with options is made in variants, one for each combination that is wanted. Frozen and as written; which variants
there are, and what differs between them, is worked out by ``network``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class Option:
    """A way in which items differ: its ``values``, and ``shares`` of them in the usual mix.

    Values without a share divide equally what the others leave.
    """

    id: str
    values: tuple[str, ...]
    shares: Mapping[str, float] = field(default_factory=dict)
    name: str = ""


@dataclass(frozen=True, slots=True)
class Varies:
    """A field that differs by options: its ``table`` by the values of each, ``otherwise`` for what is not in the table.

    >>> lasts = Varies(("size", "width"), {("41", "wide"): 6}, 2)
    >>> lasts.of({"size": "41", "width": "wide", "side": "left"}), lasts.of({"size": "40", "width": "wide"}), lasts.by
    (6, 2, 'size and width')
    """

    options: tuple[str, ...]
    table: Mapping[tuple[str, ...], Any]
    otherwise: Any = None

    @property
    def by(self) -> str:
        """The options in words."""
        return " and ".join(self.options)

    def of(self, own: Mapping[str, str]) -> Any:
        """What holds for a thing whose options have these values."""
        return self.table.get(tuple(own[option] for option in self.options), self.otherwise)

    @property
    def first(self) -> Any:
        """What holds for the first values written; it stands in where no variant is looked at."""
        return next(iter(self.table.values()), self.otherwise)
