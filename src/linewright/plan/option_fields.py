"""Options in the plan file: the table ``[options.ID]``, values of options, and any field that differs by an option."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from linewright.plan.forms import Form, Schema, Share, Text, kind_of
from linewright.plan.many import ListOf, MapOf, Several
from linewright.plan.option_model import Varies
from linewright.plan.paths import join
from linewright.plan.reading import FAILED, Reading
from linewright.plan.record import Field, Record

WHOLE = 1 + 1e-9
VARYING = ("by", "table", "else")
BY = 'an option, such as "size", or two: ["size", "width"]'


def _option(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    names = values["values"]
    if not names:
        return reading.error(f"{path}.values", "an option needs a value", table["values"], '["left", "right"]')
    for number, name in enumerate(names):
        if name in names[:number]:
            reading.error(f"{path}.values[{number}]", f'the value "{name}" is named twice', name)
    shares = values.get("shares", {})
    for name in shares:
        known_value(name, names, join(f"{path}.shares", name), reading, "this option")
    problem_of_shares(shares, len(names), f"{path}.shares", reading)
    return values


OPTION = Record(
    "an option",
    (
        Field(
            "values",
            ListOf(Text(filled=True)),
            "what it may be",
            required=True,
            example='["left", "right"]',
        ),
        Field("name", Text(), "what it is called in words", example='"Boot size"'),
        Field(
            "shares",
            MapOf(Share(), sample='{ "41" = "14 %" }'),
            "the usual mix; values without a share divide the rest equally",
            example='{ "41" = "14 %" }',
        ),
    ),
    _option,
)


def problem_of_shares(shares: Mapping[str, float], values: int, path: str, reading: Reading) -> None:
    """Note shares that cannot be: above 100 %, or below it with no value left for the rest."""
    total = sum(shares.values())
    if total > WHOLE or (shares and len(shares) >= values and total < 2 - WHOLE):
        what = f"the shares add up to {100 * total:.6g} %"
        reading.error(path, what, None, "shares that add up to 100 %", "leave one value out: it becomes the rest")


def known_value(value: str, names: tuple[str, ...] | None, path: str, reading: Reading, option: str) -> bool:
    """Whether an option has a value; a problem is noted where it has not. ``names`` None: it could not be read."""
    if names is None or value in names:
        return True
    known = ", ".join(f'"{name}"' for name in names)
    reading.error(path, f'{option} has no value "{value}"', value, f"one of {known}", reading.near(value, names))
    return False


def values_of(option: str, reading: Reading) -> tuple[str, ...] | None:
    """The values of an option as far as it could be read."""
    found = reading.options.get(option)
    return found.values if found is not None else None


@dataclass(frozen=True)
class ByOption(Form):
    """A form, or a table of it by the values of an option, or of two."""

    form: Form

    @property
    def words(self) -> str:
        """The form in words."""
        return self.form.words

    @property
    def textual(self) -> bool:
        """As the form itself."""
        return self.form.textual

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if not is_varying(value):
            return self.form.read(value, path, reading)
        return read_varying(value, path, reading, lambda part, place: self.form.read(part, place, reading))

    def _schema(self) -> Schema:
        one = self.form.schema()
        return {
            "anyOf": [*one["anyOf"], varying_schema(one)] if one.keys() == {"anyOf"} else [one, varying_schema(one)]
        }


def is_varying(value: object) -> bool:
    """Whether a value is a table by an option."""
    return isinstance(value, dict) and "by" in value


def varying_schema(one: Schema) -> Schema:
    """The schema of a table by an option, or by two, whose entries have the schema ``one``."""

    def table(by: Schema, entries: Schema) -> Schema:
        return {
            "type": "object", "properties": {"by": by, "table": entries, "else": one}, "required": ["by", "table"],
            "additionalProperties": False,
        }  # fmt: skip

    row: Schema = {"type": "object", "additionalProperties": one}
    texts: Schema = {"type": "array", "items": {"type": "string"}, "minItems": 1, "maxItems": 2}
    rows: Schema = {"type": "object", "additionalProperties": row}
    return {"anyOf": [table({"type": "string"}, row), table(texts, {"anyOf": [rows, row]})]}


def read_varying(value: Any, path: str, reading: Reading, read: Any) -> Any:
    """A table by an option or two; ``read`` reads an entry at its path. Every value needs one, or there is `else`."""
    for key in value:
        if key not in VARYING:
            reading.error(join(path, key), f"no field `{key}` here", value[key], hint=reading.near(key, VARYING))
    options = _told_by(value["by"], f"{path}.by", reading)
    otherwise = read(value["else"], f"{path}.else") if "else" in value else None
    if options is FAILED:
        return FAILED
    entries = _entries(options, value.get("table"), f"{path}.table", reading, read, "else" not in value)
    if otherwise is FAILED or entries is FAILED or not entries:
        return FAILED
    return Varies(options, entries, otherwise)


def _told_by(by: object, path: str, reading: Reading) -> Any:
    """The one or two options that a table is by."""
    if not isinstance(by, str) and not (isinstance(by, list) and all(isinstance(one, str) for one in by)):
        return reading.error(path, f"this is {kind_of(by)}", by, BY)
    options = (by,) if isinstance(by, str) else tuple(by)
    if not 1 <= len(options) <= 2:
        return reading.error(path, f"{len(options) or 'no'} options", by, BY, "a table is by one option or two")
    if len(set(options)) < len(options):
        return reading.error(path, f'option "{options[0]}" is named twice', by, BY)
    known = [reading.known("options", option, path) for option in options]  # each problem is noted
    return options if all(known) else FAILED


def _entries(options: tuple[str, ...], table: Any, path: str, reading: Reading, read: Any, complete: bool) -> Any:
    """The entries of a table by the values of its options; ``complete``: every value needs one."""
    option, *inner = options
    if not isinstance(table, dict) or not table:
        sample = '{ "39" = { narrow = ..., wide = ... } }' if inner else '{ "39" = ..., "40" = ... }'
        return reading.error(path, f"this is {kind_of(table)}", table, f"a table by {option}, such as {sample}")
    names = values_of(option, reading)
    entries: dict[tuple[str, ...], Any] = {}
    for key, part in table.items():
        place = join(path, key)
        if inner:
            under = _entries(tuple(inner), part, place, reading, read, complete)
        else:
            got = read(part, place)
            under = FAILED if got is FAILED else {(): got}
        if known_value(key, names, place, reading, f'option "{option}"') and under is not FAILED:
            entries |= {(key, *rest): got for rest, got in under.items()}
    missing = [name for name in names or () if name not in table]
    if missing and complete:
        listed = ", ".join(f'"{name}"' for name in missing)
        what = f"{option} {listed} {'is' if len(missing) == 1 else 'are'} missing in this table"
        return reading.error(path, what, None, "an entry for every value, or `else`")
    return entries


@dataclass(frozen=True)
class ValuesForm(Form):
    """Options to values: one value, or several; ``shares``: also a mix such as ``{ "39" = "20 %" }``."""

    shares: bool = False
    textual: bool = False

    @property
    def words(self) -> str:
        """The form in words."""
        if self.shares:
            return '`{ size = "39" }`, or a mix `{ size = { "39" = "20 %" } }`'
        return '`{ accessory = "window" }`, or `{ size = ["45", "46"] }`'

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if not isinstance(value, dict):
            return reading.error(path, f"this is {kind_of(value)}", value, self.words.replace("`", ""))
        found = {}
        for option, part in value.items():
            place = join(path, option)
            if reading.known("options", option, place):
                got = self._one(option, part, place, reading)
                if got is not FAILED:
                    found[option] = got
        return found

    def _one(self, option: str, part: object, path: str, reading: Reading) -> Any:
        names = values_of(option, reading)
        said = f'option "{option}"'
        if self.shares and isinstance(part, dict):
            mix = MapOf(Share(), sample='{ "39" = "20 %" }').read(part, path, reading)
            if mix is FAILED:
                return FAILED
            known = [known_value(v, names, join(path, v), reading, said) for v in mix]  # each problem is noted
            if not all(known):
                return FAILED
            problem_of_shares(mix, len(names or mix), path, reading)
            return mix
        chosen = Several(Text(filled=True)).read(part, path, reading)
        if chosen is FAILED:
            return FAILED
        known = [known_value(v, names, path, reading, said) for v in chosen]  # each problem is noted
        if not all(known):
            return FAILED
        if not self.shares:
            return chosen
        if len(chosen) != 1:
            return reading.error(path, "several values need their shares", part, '{ "39" = "20 %", "40" = "80 %" }')
        return {chosen[0]: 1.0}

    def _schema(self) -> Schema:
        texts: Schema = {"type": "array", "items": {"type": "string"}}
        mix: Schema = {"type": "object", "additionalProperties": Share().schema()}
        return {
            "type": "object",
            "additionalProperties": {"anyOf": [{"type": "string"}, mix if self.shares else texts]},
        }
