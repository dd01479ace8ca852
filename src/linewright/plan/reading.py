"""What a reader carries while it reads a plan: the problems so far, the names known, nouns and money.

Forms and records (forms.py, record.py) take it along; nothing here knows any table.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from linewright.base.problems import Problems, did_you_mean
from linewright.base.units import Quantity, UnitError, a, read_quantity
from linewright.plan.model import Item
from linewright.plan.option_model import Option

FAILED: Final = object()
"""What a form returns after it has noted a problem."""

MOST_HINTS = 40
"""Looking for the nearest name among thousands is slow, so a plan in ruins gets hints for its first problems only."""


LONGEST = 400
"""Characters of what is said of a problem: a name may be of any length."""


@dataclass(slots=True)
class Reading:
    """One reading of one document. ``names`` maps a kind (stations, items, ...) to what is declared of it."""

    problems: Problems
    names: Mapping[str, Collection[str]] = field(default_factory=dict)
    nouns: frozenset[str] = frozenset()
    money: str = ""
    money_known: bool = True
    folder: Path = field(default_factory=Path)
    items: dict[str, Item] = field(default_factory=dict)
    options: dict[str, Option] = field(default_factory=dict)
    hints: int = 0
    _quantities: dict[tuple[object, tuple[str, ...]], Quantity] = field(default_factory=dict)

    def error(
        self, path: str, what: str, value: object = None, expected: str | None = None, hint: str | None = None
    ) -> Any:
        """Note an error and return FAILED."""
        what = what if len(what) <= LONGEST else what[: LONGEST - 1] + "…"
        self.problems.error(path, what, value=value, expected=expected, hint=hint)
        return FAILED

    def near(self, word: str, known: Iterable[str]) -> str | None:
        """A hint with the nearest known name, for the first problems."""
        self.hints += 1
        return did_you_mean(word, known) if self.hints <= MOST_HINTS else None

    def quantity(
        self, value: object, dimensions: tuple[str, ...], path: str, said: str = "", expected: str | None = None
    ) -> Any:
        """A quantity of one of the dimensions, or FAILED with a problem noted, in which they are called ``said``."""
        if type(value) is str:
            known = self._quantities.get((value, dimensions))
            if known is not None:
                return known
        try:
            quantity = read_quantity(value, dimensions, nouns=self.nouns, money=self.money, said=said)
        except UnitError as wrong:
            if "money" in "".join(dimensions) and not self.money_known:
                return FAILED  # the currency itself is wrong, which is noted once
            hint = self._money_hint() if "money" in "".join(dimensions) else wrong.hint
            return self.error(path, wrong.what, value, expected or wrong.expected, hint)
        if type(value) is str:
            self._quantities[value, dimensions] = quantity
        return quantity

    def _money_hint(self) -> str:
        return f'the money of the plan is "{self.money}"' if self.money else 'write money = "EUR" in [plan]'

    def known(self, kind: str, word: str, path: str) -> bool:
        """Whether ``word`` is declared as one of ``kind``; a problem is noted where it is not."""
        known = self.names.get(kind, ())
        if word in known:
            return True
        one = SINGULAR.get(kind, kind)
        self.error(path, f'no {one} is called "{word}"', word, f"the id of {a(one)}", self.near(word, known))
        return False


SINGULAR: Mapping[str, str] = {
    "items": "item",
    "options": "option",
    "values": "value",
    "routes": "route",
    "stations": "station",
    "stores": "store",
    "crews": "crew",
    "shifts": "shift",
    "tools": "tool",
    "carriers": "carrier",
    "lines": "line",
    "fits": "fit",
    "utilities": "utility",
    "operations": "operation",
}
