"""The fields of lines: which work may be shared anew over stations, and what the floor asks of the sharing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from linewright.plan.durations import TIME
from linewright.plan.forms import Form, Measure, Number, OneOf, Schema, Share, Text, Whole
from linewright.plan.item_fields import NAME
from linewright.plan.many import ListOf, MapOf, Ref, RefOf, Several
from linewright.plan.reading import Reading
from linewright.plan.record import Field, Record

GROUPS = ListOf(ListOf(Ref("operations")))
NUMBERS = Several(Whole())
AS_PLANNED = "as planned"


@dataclass(frozen=True)
class CurrentForm(Form):
    """Where the operations are now: as the plan has them, or by station number."""

    words: str = '`"as planned"` or `{ glue = 2 }`'
    textual: bool = False

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if value == AS_PLANNED:
            return AS_PLANNED
        if isinstance(value, dict):
            return MapOf(Whole(), "operations", "{ glue = 2 }").read(value, path, reading)
        return reading.error(path, "this says no stations", value, self.words.replace("`", ""))

    def _schema(self) -> Schema:
        return {"anyOf": [{"const": AS_PLANNED}, {"type": "object", "additionalProperties": Whole().schema()}]}


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
        Field("together", GROUPS, "groups of operations that stay at one station", example='[["glue", "press"]]'),
        Field("apart", GROUPS, "groups of operations that must not share a station", example='[["glue", "grind"]]'),
        Field(
            "fixed",
            MapOf(NUMBERS, "operations", "{ glue = 2 }"),
            "operations tied to a station, or to one of several",
            example="{ glue = 2, press = [3, 4] }",
        ),
        Field(
            "zones",
            MapOf(NUMBERS, sample='{ "paint hall" = [3, 4] }'),
            "stations of each `zone` that operations name",
            example='{ "paint hall" = [3, 4] }',
        ),
        Field(
            "sides",
            MapOf(OneOf(("left", "right", "either")), "operations", '{ glue = "left" }'),
            "side of the work; a station works on one side",
            example='{ glue = "left" }',
        ),
        Field(
            "machines",
            Several(RefOf(("stations", "tools"))),
            "stations of today, or tools, that stand at no more stations of the line than there are of them",
            example='["swing_press"]',
        ),
        Field(
            "skills",
            MapOf(Several(Text(filled=True)), "crews", '{ fitter = ["wiring"] }'),
            "what a crew can do besides its own work: a `skill` that operations name, or another crew",
            example='{ fitter = ["wiring", "wirer"] }',
        ),
        Field(
            "people",
            Whole(),
            "people who may work at one station at once, each on an operation of their own; 1 where none is written",
            example="2",
        ),
        Field(
            "parallel",
            Whole(),
            "copies that a station may have for an operation longer than the takt; 1 where none is written",
            example="2",
        ),
        Field(
            "worst_model",
            Share(most=None, above=True),
            "most that any one product may load a station, where the line makes several; of the takt",
            example='"115 %"',
        ),
        Field(
            "within",
            Share(above=True),
            "how often a station must stay within takt, its times varying; 50 % or more",
            example='"95 %"',
        ),
        Field(
            "strain",
            MapOf(Number(), "operations", "{ glue = 2.5 }"),
            "load on the body, or noise dose, of operations, on any scale that adds up",
            example="{ glue = 2.5 }",
        ),
        Field("strain_limit", Number(above=True), "the most of it at one station", example="8"),
        Field(
            "current",
            CurrentForm(),
            "where operations are now: as few as possible are moved from there",
            example='"as planned"',
        ),
        Field("station_cost", Measure(("money/time",)), "money for an hour of one station", example='"14 EUR/h"'),
    ),
    lambda v, *_: v,
)
