"""A table of the plan file: its fields declared once, from which reading, hints, schema and documentation all come.

A Field names its key, its form and what it means; a Record reads a table of such fields into one object of the model
and notes what is unknown, reserved or missing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from linewright.plan.forms import Form, Schema, kind_of
from linewright.plan.paths import join
from linewright.plan.reading import FAILED, Reading


@dataclass(frozen=True)
class Field:
    """One field of a table: ``key`` in the file, form, meaning, and the ``attribute`` it fills (the key by default)."""

    key: str
    form: Form
    help: str
    attribute: str = ""
    required: bool = False
    example: str = ""

    @property
    def fills(self) -> str:
        """The keyword under which the value goes to the model."""
        return self.attribute or self.key


Finish = Callable[[dict[str, Any], Mapping[str, Any], str, Reading], Any]


@dataclass(frozen=True)
class Record(Form):
    """A table with a closed list of fields.

    ``finish`` turns the values read (by attribute) into the model's object, or FAILED; it may look at the table as
    written. ``reserved`` names fields kept for later. ``shorts`` are forms other than a table, tried first: a function
    from the value to a table, by the type of the value.
    """

    what: str
    fields: tuple[Field, ...]
    finish: Finish
    reserved: tuple[str, ...] = ()
    short: Callable[[object], object] | None = None
    short_words: str = ""
    short_schema: Schema = field(default_factory=dict)
    textual: bool = False

    @cached_property
    def by_key(self) -> dict[str, Field]:
        """Fields by key."""
        return {f.key: f for f in self.fields}

    @cached_property
    def required(self) -> tuple[str, ...]:
        """Keys that must be written."""
        return tuple(f.key for f in self.fields if f.required)

    @property
    def words(self) -> str:
        """The form in words."""
        keys = ", ".join(f.key for f in self.fields)
        table = f"`{{ {keys} }}`"
        return f"{self.short_words} or {table}" if self.short_words else table

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if self.short is not None and not isinstance(value, dict):
            value = self.short(value)
        if not isinstance(value, dict):
            return reading.error(path, f"this is {kind_of(value)}", value, f"{self.what}: {self.words}")
        known = self.by_key
        values: dict[str, Any] = {}
        sound = True
        for key, part in value.items():
            one = known.get(key)
            if one is None:
                self._unknown(key, part, join(path, key), reading)
                continue
            got = one.form.read(part, f"{path}.{key}" if path else key, reading)
            if got is not FAILED:
                values[one.attribute or key] = got
            elif one.required:
                sound = False
        for key in self.required:
            if key not in value:
                sound = False
                one = known[key]
                reading.error(join(path, key), f"{self.what} needs `{key}`", None, one.form.words)
        return self.finish(values, value, path, reading) if sound else FAILED

    def _unknown(self, key: str, part: object, path: str, reading: Reading) -> None:
        if key in self.reserved:
            hint = "leave it out for now; its name is kept for it"
            reading.error(path, f"`{key}` is not yet played", part, "a field of this version", hint)
            return
        what = f"{self.what} has no field `{key}`"
        reading.error(path, what, part, hint=reading.near(key, self.by_key))

    def _schema(self) -> Schema:
        properties = {}
        for one in self.fields:
            properties[one.key] = {**one.form.schema(), "description": plain_words(one.help)}
        table: Schema = {"type": "object", "properties": properties, "additionalProperties": False}
        if self.required:
            table["required"] = list(self.required)
        return {"anyOf": [self.short_schema, table]} if self.short_schema else table


def plain_words(text: str) -> str:
    """Help text without the marks of the documentation."""
    return text.replace("`", "")
