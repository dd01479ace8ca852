"""The forms of a time: fixed, spread, a rate, from a study file, or from a physics model.

What was written is kept: a study is fitted and a physics model evaluated by ``network``, not here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from linewright.plan.forms import Form, Measure, Number, OneOf, Schema, Text, kind_of
from linewright.plan.many import Ref
from linewright.plan.model import Duration
from linewright.plan.reading import FAILED, Reading
from linewright.plan.record import Field, Record

TIME = Measure(("time",))
SOME_TIME = Measure(("time",), above=True)
PHYSICS = ("cool", "cure", "dry", "ferment", "heat", "mill", "press", "screen")
"""Models of physics that a time may name; each reads its own conditions."""

RATES = ("count/time", "mass/time", "volume/time", "length/time", "area/time", "dry mass/time")
RATE = Measure(RATES, above=True, said="rate", shown=('"2.4 t/h"', '"3 m/min"'))
SHAPES = ("lognormal", "exponential", "gamma", "normal", "uniform")
_LEADS = ("fixed", "mean", "least", "rate", "study", *PHYSICS)

SPREAD = Record(
    "a time",
    (
        Field("fixed", TIME, "the time of a cycle, whatever the load", example='"3 min"'),
        Field("each", TIME, "more for each piece of the load; beside `fixed` or `mean`, or alone", example='"20 s"'),
        Field("mean", SOME_TIME, "the mean of a time that varies", example='"5.5 min"'),
        Field("cv", Number(), "its coefficient of variation: standard deviation over mean", example="0.15"),
        Field("shape", OneOf(SHAPES), "its shape; lognormal where none is written", example='"gamma"'),
        Field("least", TIME, "the shortest time", example='"4 min"'),
        Field("likely", TIME, "the most likely time", example='"5 min"'),
        Field("most", SOME_TIME, "the longest time", example='"9 min"'),
        Field(
            "rate",
            RATE,
            "an amount over time: continuous working",
            example='"2.4 t/h"',
        ),
        Field(
            "rate_of",
            Ref("items"),
            "the item that the rate counts; where none is written, what goes in",
            example='"chips"',
        ),
        Field("dwell", TIME, "how long what flows stays in the machine, beside `rate`", example='"19 min"'),
        Field("study", Text(filled=True), "a file of observed times, beside the plan", example='"glue.csv"'),
        Field("element", Text(filled=True), "the element of the study", example='"glue"'),
    ),
    lambda values, table, path, reading: _duration(values, table, path, reading),
)
"""The fields of a duration written as a table."""


@dataclass(frozen=True)
class DurationForm(Form):
    """A time in any of its forms; a physics model is named by its key and keeps its conditions as written."""

    words: str = 'time `"4 min"`, or a table of a time (below)'
    textual: bool = False

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if isinstance(value, str):
            time = TIME.read(value, path, reading)
            return FAILED if time is FAILED else Duration(fixed=time)
        if not isinstance(value, dict):
            expected = 'a time such as "4 min"'
            if isinstance(value, (int, float)) and not isinstance(value, bool):
                return reading.error(path, "the unit is missing", value, expected)
            return reading.error(path, f"this is {kind_of(value)}", value, expected)
        models = [key for key in value if key in PHYSICS]
        if models:
            return _physics(models, value, path, reading)
        return SPREAD.read(value, path, reading)

    def _schema(self) -> Schema:
        table = SPREAD.schema()
        for model in PHYSICS:
            table["properties"][model] = {"type": "object", "description": "conditions of the physics model"}
        return {"anyOf": [TIME.schema(), table]}


def _physics(models: list[str], value: Mapping[str, Any], path: str, reading: Reading) -> Any:
    model = models[0]
    if len(value) > 1:
        return reading.error(path, f"`{model}` stands alone in a time", value, f"{{ {model} = {{ ... }} }}")
    if not isinstance(value[model], dict):
        return reading.error(f"{path}.{model}", "its conditions are a table", value[model], "{ ... }")
    return Duration(physics=model, conditions=dict(value[model]))


def _duration(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    leads = [lead for lead in _LEADS if lead in table]
    if len(leads) > 1:
        return reading.error(path, f"`{leads[0]}` and `{leads[1]}` are two forms of a time", table, "one form")
    if not leads and "each" not in table:
        return reading.error(path, "this table says no time", table, "fixed, mean, least, rate, study or each")
    if any(lead not in values for lead in leads):
        return FAILED  # its problem is noted already
    missing = _missing(leads, table)
    if missing:
        return reading.error(path, f"`{leads[0]}` needs `{missing}` beside it", table)
    stray = [key for key in table if key not in _together(leads)]
    if stray:
        return reading.error(f"{path}.{stray[0]}", f"`{stray[0]}` does not belong to this form of a time")
    if "least" in values:
        return _triangle(values, table, path, reading)
    return Duration(**values)


def _missing(leads: list[str], table: Mapping[str, Any]) -> str | None:
    if leads == ["mean"] and "cv" not in table and table.get("shape") != "exponential":
        return "cv"
    if leads == ["least"]:
        return next((key for key in ("likely", "most") if key not in table), None)
    return None


def _together(leads: list[str]) -> tuple[str, ...]:
    match leads:
        case ["fixed"]:
            return ("fixed", "each")
        case ["mean"]:
            return ("mean", "cv", "shape", "each")
        case ["least"]:
            return ("least", "likely", "most", "each")
        case ["rate"]:
            return ("rate", "rate_of", "dwell")
        case ["study"]:
            return ("study", "element", "each")
        case _:
            return ("each",)


def _triangle(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    if not {"least", "likely", "most"} <= values.keys():
        return FAILED
    if not values["least"].value <= values["likely"].value <= values["most"].value:
        return reading.error(path, "least, likely and most are out of order", table, "least <= likely <= most")
    return Duration(**values)


DURATION = DurationForm()
