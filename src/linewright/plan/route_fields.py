"""The fields of routes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from linewright.plan.forms import Form, Schema, Share, Whole, kind_of
from linewright.plan.item_fields import NAME
from linewright.plan.many import Ref
from linewright.plan.operation_fields import OPERATION, SOME
from linewright.plan.option_fields import ValuesForm
from linewright.plan.reading import FAILED, Reading
from linewright.plan.record import Field, Record
from linewright.plan.season_fields import CAMPAIGN


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
        Field("lot", SOME, "how much is let in one after another; one by one where none is written", example="60"),
        Field(
            "only_if",
            ValuesForm(),
            "the variants that are made so; all where none is written",
            example='{ colour = "red" }',
        ),
        Field(
            "campaign",
            CAMPAIGN,
            "waits until so much is ready, then runs until it is used up",
            example='{ starts = "12000 L", waits = "3 weeks" }',
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
)
