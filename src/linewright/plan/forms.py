"""The forms a field of a plan can take: text, a word, a number, a share, a quantity, a currency.

A form reads a value into what the model holds (noting a problem and returning FAILED where it cannot), says itself in
words for the documentation, and gives its JSON Schema. Each field of each table names one form.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from linewright.base.units import UnitError, a, example, read_quantity
from linewright.plan.reading import FAILED, Reading

Schema = dict[str, Any]


class Form:
    """A form of a field; each kind of form says how to read it and gives its schema."""

    @property
    def words(self) -> str:
        """The form in words, for the documentation."""
        raise NotImplementedError

    @property
    def textual(self) -> bool:
        """Whether a spreadsheet cell of this form stays text even where it looks like a number."""
        return False

    def read(self, value: object, path: str, reading: Reading) -> Any:
        """The value for the model, or FAILED once its problem is noted."""
        return self._read(value, path, reading)

    def schema(self) -> Schema:
        """JSON Schema of the form."""
        return self._schema()

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        raise NotImplementedError

    def _schema(self) -> Schema:
        raise NotImplementedError


@dataclass(frozen=True)
class Text(Form):
    """Any text; ``filled`` refuses an empty one."""

    words: str = "text"
    filled: bool = False
    textual: bool = True

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if type(value) is not str:
            return reading.error(path, f"this is {kind_of(value)}, not a text", value, "a text in quotes")
        if self.filled and not value.strip():
            return reading.error(path, "this text is empty", value, self.words)
        return value

    def _schema(self) -> Schema:
        return {"type": "string", "minLength": 1} if self.filled else {"type": "string"}


@dataclass(frozen=True)
class OneOf(Form):
    """One of a closed list of words."""

    options: tuple[str, ...]
    textual: bool = True

    @property
    def words(self) -> str:
        """The form in words."""
        return " or ".join(f'"{o}"' for o in self.options)

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if value in self.options:
            return value
        hint = reading.near(str(value), self.options)
        return reading.error(path, "this is not one of the words known here", value, self.words, hint)

    def _schema(self) -> Schema:
        return {"enum": list(self.options)}


@dataclass(frozen=True)
class Flag(Form):
    """true or false."""

    words: str = "true or false"
    textual: bool = False

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if isinstance(value, bool):
            return value
        return reading.error(path, f"this is {kind_of(value)}", value, "true or false, without quotes")

    def _schema(self) -> Schema:
        return {"type": "boolean"}


LARGEST_WHOLE = 1_000_000
"""Of places, people, tools, pieces: no works has more of one kind, and engines go through them one by one."""


@dataclass(frozen=True)
class Whole(Form):
    """A whole number from ``least`` up."""

    least: int = 1
    textual: bool = False

    @property
    def words(self) -> str:
        """The form in words."""
        return f"whole number, {self.least} or more"

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if isinstance(value, float) and value.is_integer():
            value = int(value)  # a spreadsheet knows no whole numbers
        if type(value) is not int:
            return reading.error(path, f"this is {kind_of(value)}", value, f"a {self.words}")
        if value < self.least:
            return reading.error(path, f"{value} is too small", value, f"a {self.words}")
        if value > LARGEST_WHOLE:
            return reading.error(path, "this number is too large", value, f"a {self.words}, at most {LARGEST_WHOLE:,}")
        return value

    def _schema(self) -> Schema:
        return {"type": "integer", "minimum": self.least}


@dataclass(frozen=True)
class Number(Form):
    """A finite number; ``above`` zero, else zero or more."""

    above: bool = False
    textual: bool = False

    @property
    def words(self) -> str:
        """The form in words."""
        return "number above 0" if self.above else "number, 0 or more"

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            return reading.error(path, f"this is {kind_of(value)}", value, f"a {self.words}")
        number = float(value) if abs(value) < 1e300 else math.inf
        if not math.isfinite(number):
            return reading.error(path, "this is not a finite number", value, f"a {self.words}")
        if number < 0 or (self.above and number == 0):
            return reading.error(path, f"{value} is too small", value, f"a {self.words}")
        return number

    def _schema(self) -> Schema:
        return {"type": "number", "exclusiveMinimum" if self.above else "minimum": 0}


@dataclass(frozen=True)
class Share(Form):
    """A share of one, ``"2 %"`` or ``0.02``; ``most`` is its limit (None: none), ``above`` zero where it must be."""

    most: float | None = 1.0
    above: bool = False
    textual: bool = False

    @property
    def words(self) -> str:
        """The form in words."""
        return 'share, `"2 %"` or `0.02`'

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        return self.limited(value, read_share(value, path, reading), path, reading)

    def limited(self, value: object, share: Any, path: str, reading: Reading) -> Any:
        """The share, or FAILED where it is outside its limits."""
        if share is FAILED:
            return FAILED
        if share < 0:
            return reading.error(path, "a share cannot be negative", value, self.expected)
        if self.above and share == 0:
            return reading.error(path, "a share of nothing", value, self.expected)
        if self.most is not None and share > self.most:
            hint = f'did you mean "{value} %"?' if isinstance(value, (int, float)) and value <= 100 else None
            return reading.error(path, f"this share is over {100 * self.most:g} %", value, self.expected, hint)
        return share

    @property
    def expected(self) -> str:
        """What is expected, with its limits."""
        low = "above 0 %" if self.above else "from 0 %"
        return (
            f'a share {low}, such as "2 %"' if self.most is None else f'{low} to {100 * self.most:g} %, such as "2 %"'
        )

    def _schema(self) -> Schema:
        number: Schema = {"type": "number", "minimum": 0}
        if self.most is not None:
            number["maximum"] = self.most
        return {"anyOf": [{"type": "string", "pattern": r"^\s*[0-9._]+(e-?[0-9]+)?\s*(%|ppm)\s*$"}, number]}


def read_share(value: object, path: str, reading: Reading) -> Any:
    """A share as a fraction of one; a bare number is a fraction already."""
    quantity = reading.quantity(value, ("number", "share"), path)
    return FAILED if quantity is FAILED else quantity.value


LONGEST = 100 * 365.25 * 86_400
"""Seconds of the longest time that is one."""


@dataclass(frozen=True)
class Measure(Form):
    """A quantity of one of the ``dimensions``; ``above`` zero where it must be, ``signed`` where it may be negative.

    Where the dimensions are many, ``said`` is their name together and ``shown`` examples of them.
    """

    dimensions: tuple[str, ...]
    above: bool = False
    signed: bool = False
    said: str = ""
    shown: tuple[str, ...] = ()
    textual: bool = False

    @property
    def words(self) -> str:
        """The form in words."""
        return f"{self.said or ' or '.join(self.dimensions)} " + " or ".join(f"`{one}`" for one in self.samples)

    @property
    def samples(self) -> tuple[str, ...]:
        """Examples as written in a plan."""
        return self.shown or tuple(_example(d) for d in self.dimensions)

    @cached_property
    def expected(self) -> str:
        """What is expected, with examples."""
        return f"{a(self.said or ' or '.join(self.dimensions))} such as {' or '.join(self.samples)}"

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        quantity = reading.quantity(value, self.dimensions, path, self.said, self.expected)
        if quantity is FAILED or self.signed:
            return quantity
        if quantity.dimension == "time" and quantity.value > LONGEST:
            return reading.error(path, "this is longer than a hundred years", value, self.expected)
        if quantity.value < 0 or (self.above and quantity.value == 0):
            word = "negative" if quantity.value < 0 else "zero"
            least = "above 0" if self.above else "0 or more"
            return reading.error(path, f"this is {word}", value, f"{a(self.said or self.dimensions[0])} of {least}")
        return quantity

    def _schema(self) -> Schema:
        text: Schema = {"type": "string", "examples": [one.strip('"') for one in self.samples]}
        if self.signed or "number" not in self.dimensions:
            return text
        return {"anyOf": [text, {"type": "number", "minimum": 0}]}


def _example(dimension: str) -> str:
    words = example((dimension,)) or dimension
    return words.partition("such as ")[2] or words


_CURRENCY = re.compile(r"[^\W\d_]{1,5}|[^\w\s/%.,+-]")


@dataclass(frozen=True)
class Currency(Form):
    """The word for the money of the plan; it must not be the word of a unit."""

    words: str = 'word such as `"EUR"`'
    textual: bool = True

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if not isinstance(value, str) or not _CURRENCY.fullmatch(value):
            return reading.error(path, "this is not the word of a currency", value, 'a word such as "EUR"')
        try:
            dimension = read_quantity(f"1 {value}").dimension
        except UnitError:
            return value
        return reading.error(path, f"this word is taken: it is {a(dimension)}", value, 'a word such as "EUR"')

    def _schema(self) -> Schema:
        return {"type": "string", "examples": ["EUR"]}


def kind_of(value: object) -> str:
    """What a value is, in words its author would use."""
    match value:
        case bool():
            return "true or false"
        case int() | float():
            return "a number"
        case str():
            return "a text"
        case list() | tuple():
            return "a list"
        case Mapping():
            return "a table"
        case _:
            return f"a {type(value).__name__}"
