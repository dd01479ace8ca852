"""Forms that stand on other forms: references to things declared elsewhere, lists, and maps of names to values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from linewright.base.units import a
from linewright.plan.forms import Form, Schema, kind_of
from linewright.plan.paths import join
from linewright.plan.reading import FAILED, SINGULAR, Reading


@dataclass(frozen=True)
class Ref(Form):
    """The id of something declared elsewhere in the plan; ``other`` lists words accepted besides."""

    kind: str
    other: tuple[str, ...] = ()
    textual: bool = True

    @property
    def words(self) -> str:
        """The form in words."""
        return " or ".join([SINGULAR[self.kind], *(f'"{o}"' for o in self.other)])

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if type(value) is not str:
            return reading.error(path, f"this is {kind_of(value)}", value, f"the id of {a(SINGULAR[self.kind])}")
        if value in self.other or reading.known(self.kind, value, path):
            return value
        return FAILED

    def _schema(self) -> Schema:
        return {"type": "string"}


@dataclass(frozen=True)
class RefOf(Form):
    """The id of something declared as any one of several kinds."""

    kinds: tuple[str, ...]
    textual: bool = True

    @property
    def words(self) -> str:
        """The form in words."""
        return " or ".join(SINGULAR[kind] for kind in self.kinds)

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        tables = [reading.names.get(kind, ()) for kind in self.kinds]
        if isinstance(value, str) and any(value in table for table in tables):
            return value
        known = [word for table in tables for word in table]
        hint = reading.near(str(value), known)
        return reading.error(path, f'no {self.words} is called "{value}"', value, f"the id of {a(self.words)}", hint)

    def _schema(self) -> Schema:
        return {"type": "string"}


@dataclass(frozen=True)
class Several(Form):
    """One value or a list of them, held as a tuple."""

    form: Form
    textual: bool = True

    @property
    def words(self) -> str:
        """The form in words."""
        return f"{self.form.words}, or a list"

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if not isinstance(value, list):
            one = self.form.read(value, path, reading)
            return FAILED if one is FAILED else (one,)
        return ListOf(self.form).read(value, path, reading)

    def _schema(self) -> Schema:
        one = self.form.schema()
        return {"anyOf": [one, {"type": "array", "items": one}]}


@dataclass(frozen=True)
class ListOf(Form):
    """A list, held as a tuple."""

    form: Form
    filled: bool = False
    textual: bool = False

    @property
    def words(self) -> str:
        """The form in words."""
        return f"list of {self.form.words}"

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if not isinstance(value, list):
            return reading.error(path, f"this is {kind_of(value)}", value, "a list in square brackets")
        if self.filled and not value:
            return reading.error(path, "this list is empty", value, f"a {self.words}")
        parts = [self.form.read(part, f"{path}[{number}]", reading) for number, part in enumerate(value)]
        return tuple(part for part in parts if part is not FAILED)

    def _schema(self) -> Schema:
        return {"type": "array", "items": self.form.schema()}


@dataclass(frozen=True)
class MapOf(Form):
    """Names to values; where ``kind`` is given the names are references."""

    form: Form
    kind: str | tuple[str, ...] | None = None
    sample: str = "{ name = ... }"
    textual: bool = False

    @property
    def words(self) -> str:
        """The form in words."""
        return f"`{self.sample}`"

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if not isinstance(value, dict):
            return reading.error(path, f"this is {kind_of(value)}", value, f"a table such as {self.sample}")
        result = {}
        for key, part in value.items():
            place = join(path, key)
            if not self._known(key, place, reading):
                continue
            got = self.form.read(part, place, reading)
            if got is not FAILED:
                result[key] = got
        return result

    def _known(self, key: str, place: str, reading: Reading) -> bool:
        if isinstance(self.kind, tuple):
            return RefOf(self.kind).read(key, place, reading) is not FAILED
        return self.kind is None or reading.known(self.kind, key, place)

    def _schema(self) -> Schema:
        return {"type": "object", "additionalProperties": self.form.schema()}
