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
    """A field that differs by an option: its ``table`` by value, ``otherwise`` for values not in the table."""

    by: str
    table: Mapping[str, Any]
    otherwise: Any = None

    def of(self, value: str) -> Any:
        """What holds for one value of the option."""
        return self.table.get(value, self.otherwise)

    @property
    def first(self) -> Any:
        """What holds for the first value written; it stands in where no variant is looked at."""
        return next(iter(self.table.values()), self.otherwise)
