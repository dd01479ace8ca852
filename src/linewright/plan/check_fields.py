"""The table ``check`` of an operation: what it finds, and what happens to a piece it rejects."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from linewright.plan.forms import Flag, Form, Schema, Share, Text, Whole
from linewright.plan.many import MapOf, Ref
from linewright.plan.model import Check, Reaction
from linewright.plan.paths import join
from linewright.plan.quality_fields import FIRST_PIECES, SCALE
from linewright.plan.reading import FAILED, Reading
from linewright.plan.record import Field, Record

ANY_FAULT = "*"
"""The key in ``then`` for every other fault and for a false alarm."""

SCRAP = Reaction("scrap")


@dataclass(frozen=True)
class ReactionForm(Form):
    """What becomes of a rejected piece: scrap, rework, seconds."""

    words: str = '`"scrap"`, `{ rework = "glue", at_most = 1, else = "scrap" }` or `{ seconds = "item" }`'
    textual: bool = False

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if value == "scrap":
            return SCRAP
        if not isinstance(value, dict):
            return reading.error(path, "this is no reaction to a fault", value, self.words.replace("`", ""))
        return REACTION.read(value, path, reading)

    def _schema(self) -> Schema:
        properties = {
            "rework": {"type": "string"},
            "at_most": {"type": "integer", "minimum": 1},
            "else": {"anyOf": [{"const": "scrap"}, {"type": "object"}]},
            "takes_again": {"type": "boolean"},
            "seconds": {"type": "string"},
        }
        table = {"type": "object", "properties": properties, "additionalProperties": False}
        return {"anyOf": [{"const": "scrap"}, table]}


REACTION_FORM = ReactionForm()


@dataclass(frozen=True)
class ThenForm(Form):
    """One reaction to every fault, or one for each by name."""

    words: str = 'a reaction (below), or one for each fault `{ "seam gap" = ..., "*" = "scrap" }`'
    textual: bool = False

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if not isinstance(value, dict) or value.keys() & {"rework", "seconds", "at_most"}:
            one = REACTION_FORM.read(value, path, reading)
            return FAILED if one is FAILED else {ANY_FAULT: one}
        result: dict[str, Reaction] = {}
        for fault, part in value.items():
            one = REACTION_FORM.read(part, join(path, fault), reading)
            if one is not FAILED:
                result[fault] = one
        return result

    def _schema(self) -> Schema:
        one = REACTION_FORM.schema()
        return {"anyOf": [one, {"type": "object", "additionalProperties": one}]}


@dataclass(frozen=True)
class AtMost(Form):
    """How often a piece may be reworked; it must be finite."""

    words: str = "whole number, 1 or more"
    textual: bool = False

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if isinstance(value, float) and value == float("inf"):
            return reading.error(path, "a rework that never ends", value, self.words)
        return Whole().read(value, path, reading)

    def _schema(self) -> Schema:
        return Whole().schema()


def _reaction(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    if "seconds" in table:
        if len(table) > 1:
            return reading.error(path, "`seconds` stands alone", table, '{ seconds = "item" }')
        return Reaction("seconds", seconds=values["seconds"]) if "seconds" in values else FAILED
    if "rework" not in table:
        return reading.error(path, "this says neither rework nor seconds", table, REACTION_FORM.words.replace("`", ""))
    if "at_most" not in table:
        return reading.error(
            path,
            "a rework that never ends: nothing says how many times a piece goes back",
            table,
            "at_most, such as at_most = 1",
            'after that many times the piece follows `else` ("scrap" where none is written)',
        )
    return Reaction("rework", **values) if "rework" in values and "at_most" in values else FAILED


REACTION = Record(
    "a reaction",
    (
        Field("rework", Ref("operations"), "go back to this operation", example='"glue"'),
        Field(
            "at_most",
            AtMost(),
            "how many times for each piece and check, false alarms included; rework needs it",
            example="2",
        ),
        Field(
            "else",
            REACTION_FORM,
            "what happens after that; scrap where none is written",
            attribute="otherwise",
            example='"scrap"',
        ),
        Field("takes_again", Flag(), "the repeated operations take their parts again", example="true"),
        Field("seconds", Ref("items"), "the by-product that the piece becomes", example='"second_choice"'),
    ),
    _reaction,
)


def _check(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    then = values.setdefault("then", {})
    for fault in then:
        if fault != ANY_FAULT and fault not in table.get("finds", {}):
            place = join(f"{path}.then", fault)
            hint = reading.near(fault, [*values["finds"], ANY_FAULT])
            reading.error(place, f'this check does not find "{fault}"', fault, "a fault named in finds", hint)
    then.setdefault(ANY_FAULT, SCRAP)
    return Check(**values)


CHECK = Record(
    "a check",
    (
        Field(
            "finds",
            MapOf(Share(), sample='{ "seam gap" = "97 %" }'),
            "the chance of finding each fault",
            required=True,
            example='{ "seam gap" = "97 %" }',
        ),
        Field("false_alarms", Share(), "the share of good pieces rejected", example='"1 %"'),
        Field("one_in", Whole(), "check one piece in so many; reworked pieces are always checked", example="20"),
        Field(
            "then",
            ThenForm(),
            "what happens to a rejected piece; scrap where none is written",
            example='{ rework = "glue", at_most = 1, else = "scrap" }',
        ),
        Field("hold_back", Flag(), "a failed sample holds everything back to the last good one", example="true"),
        Field("method", Text(), "how it is checked, in words", example='"feeler gauge along both flanges"'),
        Field("limits", Text(), "the limits, in words", example='"no gap above 0.2 mm"'),
        Field("sample", Text(), "the sample, in words", example='"first five of a shift"'),
        Field("first_pieces", FIRST_PIECES, "first pieces after a setup that must pass before the run", example="3"),
        Field(
            "scale",
            SCALE,
            "counts what went in by its weight",
            example='{ step = "0.1 g", repeatability = "0.3 g" }',
        ),
    ),
    _check,
)
"""Fields of ``check``."""
