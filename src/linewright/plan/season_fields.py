"""The fields that know dates: the horizon, ``[[intake]]``, campaigns, and work during a stand.

A date is written ``"2026-09-14"``, with or without quotes; a span of days ``"2026-12-24..2027-01-02"``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from linewright.base.units import Quantity, UnitError
from linewright.plan.amounts import AMOUNT, units_of
from linewright.plan.durations import TIME
from linewright.plan.forms import Form, Schema
from linewright.plan.hours import DAYS
from linewright.plan.item_fields import NOTE
from linewright.plan.many import Ref, Several
from linewright.plan.operation_fields import made_by
from linewright.plan.reading import FAILED, Reading
from linewright.plan.record import Field, Record
from linewright.plan.season_model import Campaign, Intake

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
LONGEST_DAYS = 3 * 366
"""Days of the longest horizon."""


@dataclass(frozen=True)
class DateForm(Form):
    """A day of the calendar."""

    words: str = 'date `"2026-09-14"`'
    textual: bool = True

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if isinstance(value, date) and not isinstance(value, datetime):
            return value
        if isinstance(value, str) and _DATE.fullmatch(value.strip()):
            try:
                return date.fromisoformat(value.strip())
            except ValueError:
                return reading.error(path, "there is no such day", value, 'a date such as "2026-09-14"')
        return reading.error(path, "this is not a date", value, 'a date such as "2026-09-14": year, month, day')

    def _schema(self) -> Schema:
        return {"type": "string", "pattern": r"^\s*\d{4}-\d{2}-\d{2}\s*$", "examples": ["2026-09-14"]}


@dataclass(frozen=True)
class DaySpanForm(Form):
    """One day, or several from the first to the last."""

    words: str = '`"2026-12-24..2027-01-02"` or a date'
    textual: bool = True

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        ends = [part.strip() for part in value.split("..")] if isinstance(value, str) else [value]
        if len(ends) > 2:
            return reading.error(path, "this is no span of days", value, self.words.replace("`", ""))
        days = [DATE.read(part, path, reading) for part in ends]
        if any(day is FAILED for day in days):
            return FAILED
        if days[-1] < days[0]:
            return reading.error(path, "this span ends before it begins", value, self.words.replace("`", ""))
        return (days[0], days[-1])

    def _schema(self) -> Schema:
        return {"type": "string", "examples": ["2026-12-24..2027-01-02"]}


DATE = DateForm()
DAY_SPAN = DaySpanForm()


def _intake(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    if values["ends"] < values["begins"]:
        what = f'the intake of "{values["item"]}" ends before it begins'
        return reading.error(f"{path}.to", what, str(values["ends"]), f"{values['begins']} or later")
    weekly: tuple[Quantity, ...] = values["weekly"]
    item = reading.items.get(values["item"])
    for number, amount in enumerate(weekly):
        place = f"{path}.weekly[{number}]" if isinstance(table["weekly"], list) else f"{path}.weekly"
        try:
            if item is not None:
                units_of(item, amount)
        except UnitError as wrong:
            return reading.error(place, wrong.what, amount.text, wrong.expected, wrong.hint)
    if not any(amount.value > 0 for amount in weekly):
        return reading.error(f"{path}.weekly", "nothing ever comes", table["weekly"], 'an amount such as "24 t"')
    weeks = -(-((values["ends"] - values["begins"]).days + 1) // 7)
    if len(weekly) > weeks:
        what = f"{len(weekly)} weekly amounts are written, and the intake lasts {weeks} weeks"
        return reading.error(f"{path}.weekly", what, None, f"one amount, or {weeks}")
    if 1 < len(weekly) < weeks:
        what = f"{len(weekly)} weekly amounts are written, and the intake lasts {weeks} weeks"
        return reading.error(f"{path}.weekly", what, None, f"one amount, or {weeks}", '"0 t" for a week without')
    return Intake(**values)


INTAKE = Record(
    "an intake",
    (
        Field("item", Ref("items"), "what comes", required=True, example='"sharp"'),
        Field("from", DATE, "the first day of it", attribute="begins", required=True, example='"2026-09-14"'),
        Field("to", DATE, "the last day of it", attribute="ends", required=True, example='"2026-11-06"'),
        Field(
            "weekly",
            Several(AMOUNT),
            "what comes in a week; a list says it for each week",
            required=True,
            example='["8 t", "24 t", "24 t", "10 t"]',
        ),
        Field("days", DAYS, "on which days of the week it comes; Mon-Fri where none is written", example='"Mon,Thu"'),
        NOTE,
    ),
    _intake,
)
"""Fields of ``[[intake]]``."""

CAMPAIGN = Record(
    "a campaign",
    (
        Field("starts", AMOUNT, "begins once so much is ready", required=True, example='"12000 L"'),
        Field("item", Ref("items"), "of what; of what the route takes first where none is written", example='"cider"'),
        Field("waits", TIME, "begins with less once so long has passed since something was ready", example='"3 weeks"'),
    ),
    made_by(Campaign),
    short=lambda value: {"starts": value} if isinstance(value, (int, float, str)) else value,
    short_words='amount `"12000 L"`',
    short_schema=AMOUNT.schema(),
)
