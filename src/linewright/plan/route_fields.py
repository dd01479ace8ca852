"""The fields of routes and of lines."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from linewright.plan.durations import TIME
from linewright.plan.forms import Form, OneOf, Schema, Share, Whole, kind_of
from linewright.plan.item_fields import NAME
from linewright.plan.many import ListOf, MapOf, Ref, Several
from linewright.plan.operation_fields import OPERATION
from linewright.plan.reading import FAILED, Reading
from linewright.plan.record import Field, Record


@dataclass(frozen=True)
class OperationsForm(Form):
    """Operations of a route, read by read.py: rows, or a table elsewhere."""

    words: str = 'array of tables, or `{ table = "boot.xlsx", sheet = "route" }`'
    textual: bool = False

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if isinstance(value, tuple):
            return ()  # a table that could not be read; its problem is noted
        if not isinstance(value, list):
            return reading.error(path, f"this is {kind_of(value)}", value, self.words.replace("`", ""))
        if not value:
            return reading.error(path, "a route without operations", None, self.words.replace("`", ""))
        rows = [OPERATION.read(row, f"{path}[{number}]", reading) for number, row in enumerate(value)]
        return tuple(row for row in rows if row is not FAILED)

    def _schema(self) -> Schema:
        table: Schema = {
            "type": "object",
            "properties": {"table": {"type": "string"}, "sheet": {"type": "string"}},
            "required": ["table"],
            "additionalProperties": False,
        }
        return {"anyOf": [{"type": "array", "items": OPERATION.schema(), "minItems": 1}, table]}


ROUTE = Record(
    "a route",
    (
        Field("gives", Ref("items"), "the item it makes", required=True, example='"shell"'),
        NAME,
        Field("share", Share(), "its part where several routes make the item", example='"40 %"'),
        Field(
            "prefer", Whole(0), "order of preference where several routes make the item; the smaller first", example="1"
        ),
        Field(
            "operations",
            OperationsForm(),
            "the operations in order",
            required=True,
            example='{ table = "boot.xlsx", sheet = "route" }',
        ),
    ),
    lambda v, *_: v,
    reserved=("options", "only_if"),
)

OPERATION_IDS: Form = ListOf(Ref("operations"))

LINE = Record(
    "a line",
    (
        Field(
            "routes",
            Several(Ref("routes")),
            "whole routes whose operations are shared out",
            required=True,
            example='["shell", "gear"]',
        ),
        NAME,
        Field("takt", TIME, "the time for one piece; from the demand where none is written", example='"12 min"'),
        Field("stations", Whole(), "how many stations; the fewest where none is written", example="8"),
        Field(
            "together",
            ListOf(OPERATION_IDS),
            "groups of operations that stay at one station",
            example='[["glue", "press"]]',
        ),
        Field(
            "apart",
            ListOf(OPERATION_IDS),
            "groups of operations that must not share a station",
            example='[["glue", "grind"]]',
        ),
        Field(
            "fixed",
            MapOf(Whole(), "operations", "{ glue = 2 }"),
            "operations tied to a station number",
            example="{ glue = 2 }",
        ),
        Field(
            "sides",
            MapOf(OneOf(("left", "right", "either")), "operations", '{ glue = "left" }'),
            "side of the line",
            example='{ glue = "left" }',
        ),
    ),
    lambda v, *_: v,
)
