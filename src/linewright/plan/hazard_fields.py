"""The field ``hazards`` of items, stations and operations."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from linewright.base.cautions import hazard_named, hazards
from linewright.plan.forms import Form, Schema, Text
from linewright.plan.many import Several
from linewright.plan.reading import FAILED, Reading
from linewright.plan.record import Field


@dataclass(frozen=True)
class HazardForm(Form):
    """The name of a hazard; one that brings no caution of its own is kept, with a warning."""

    words: str = "hazard"
    textual: bool = True

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        name = Text(filled=True).read(value, path, reading)
        if name is not FAILED and hazard_named(name) is None:
            what = f'no caution is written for hazard "{name}": only its name will be shown'
            reading.problems.warn(path, what, value=name, hint=reading.near(name, hazards()))
        return name

    def _schema(self) -> Schema:
        return {"type": "string", "minLength": 1}


HAZARDS = Field(
    "hazards", Several(HazardForm()), "hazards that bring cautions", example='["combustible dust", "noise"]'
)
