"""The fields of crews and shifts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from linewright.plan.forms import Flag, Form, Measure, Schema, Share, Whole
from linewright.plan.hours import DAYS, HOURS, SPANS, check_shift
from linewright.plan.item_fields import NAME
from linewright.plan.many import MapOf, Ref
from linewright.plan.model import Skill
from linewright.plan.reading import FAILED, Reading
from linewright.plan.record import Field, Record

SKILL = Record(
    "what some people of a crew can do besides",
    (
        Field("people", Whole(), "how many of the crew can do it; at most so many do it at once", required=True),
        Field("pace", Share(above=True), "how fast, as a share of that crew's own pace; 100 % where none is written"),
    ),
    lambda values, *_: Skill(**values),
    short=lambda value: {"people": value},
    short_words="whole number",
    short_schema={"type": "integer", "minimum": 1},
)


@dataclass(frozen=True)
class PeopleForm(Form):
    """People of a crew: a number (with a shift beside it) or a number for each shift."""

    words: str = "whole number with `shift`, or `{ day = 6, late = 3 }`"
    textual: bool = False

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if isinstance(value, dict):
            if not value:
                return reading.error(path, "a crew of nobody", value, self.words.replace("`", ""))
            return MapOf(Whole(), "shifts", "{ day = 6 }").read(value, path, reading)
        return Whole().read(value, path, reading)

    def _schema(self) -> Schema:
        one = Whole().schema()
        return {"anyOf": [one, {"type": "object", "additionalProperties": one}]}


def _crew(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    shift, people = values.pop("shift", None), values["people"]
    if isinstance(people, dict):
        if "shift" in table:
            return reading.error(f"{path}.shift", "the shifts are named in `people` already", table["shift"])
        return values
    if "shift" not in table:
        known = ", ".join(list(reading.names.get("shifts", ()))[:6]) or "none is declared"
        return reading.error(f"{path}.shift", "a crew needs its shift", None, "the id of a shift", f"shifts: {known}")
    if shift is None:
        return FAILED
    values["people"] = {shift: people}
    return values


CREW_TABLE = Record(
    "a crew",
    (
        NAME,
        Field("people", PeopleForm(), "how many there are", required=True, example="{ day = 6, late = 3 }"),
        Field("shift", Ref("shifts"), "when they work", example='"day"'),
        Field("wage", Measure(("money/time",)), "money for an hour, paid", example='"27 EUR/h"'),
        Field("allowance", Share(most=None), "added to normal time: rest, small delays", example='"9 %"'),
        Field("present", Share(above=True), "share of the paid people who are there", example='"95 %"'),
        Field(
            "can",
            MapOf(SKILL, "crews", "{ wirer = 1 }"),
            "whose work some of them can do besides, where that crew has nobody free; who must be told apart is a crew",
            example='{ wirer = { people = 2, pace = "90 %" }, inspector = 1 }',
        ),
    ),
    _crew,
)


def _shift(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    return values if check_shift(values, table, path, reading) else FAILED


SHIFT = Record(
    "a shift",
    (
        Field(
            "hours",
            HOURS,
            "from when to when; past midnight where the end is before the start",
            required=True,
            example='"06:00-14:30"',
        ),
        Field("breaks", SPANS, "from when to when, inside the hours", example='["09:00-09:15", "11:30-12:00"]'),
        Field("days", DAYS, "on which days; Mon-Fri where none is written", example='"Mon-Fri"'),
        Field("paid_breaks", Flag(), "whether breaks are paid", example="true"),
    ),
    _shift,
)
