"""Hours and days of a shift: read from the words of the trade, checked, and laid out over a week of minutes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from linewright.plan.forms import Form, Schema
from linewright.plan.model import Shift
from linewright.plan.reading import FAILED, Reading

Span = tuple[int, int]
MINUTES = 7 * 24 * 60
"""Minutes in a week."""

NAMES = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_SPAN = re.compile(r"\s*(\d{1,2}):(\d{2})\s*[-–]\s*(\d{1,2}):(\d{2})\s*")
_FULL = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


@dataclass(frozen=True)
class SpansForm(Form):
    """One span of hours, or a list of them."""

    filled: bool = False
    words: str = '`"06:00-14:30"` or a list'
    textual: bool = True

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        parts = value if isinstance(value, list) else [value]
        if self.filled and not parts:
            return reading.error(path, "no hours at all", value, '"06:00-14:30"')
        spans = []
        for number, part in enumerate(parts):
            span = _span(part, f"{path}[{number}]" if isinstance(value, list) else path, reading)
            if span is not FAILED:
                spans.append(span)
        return tuple(spans) if len(spans) == len(parts) else FAILED

    def _schema(self) -> Schema:
        one: Schema = {"type": "string", "pattern": r"^\s*\d{1,2}:\d{2}\s*[-–]\s*\d{1,2}:\d{2}\s*$"}
        return {"anyOf": [one, {"type": "array", "items": one}]}


def _span(value: object, path: str, reading: Reading) -> Any:
    match = _SPAN.fullmatch(value) if isinstance(value, str) else None
    if match is None:
        return reading.error(path, "these are no hours", value, 'hours such as "06:00-14:30"')
    hour, minute, to_hour, to_minute = (int(part) for part in match.groups())
    start, end = 60 * hour + minute, 60 * to_hour + to_minute
    if minute > 59 or to_minute > 59 or start >= 1440 or end > 1440:
        return reading.error(path, "there is no such time of day", value, "00:00 to 24:00")
    if start == end:
        return reading.error(path, "this ends when it begins", value, 'for a whole day "00:00-24:00"')
    return (start, end)


@dataclass(frozen=True)
class DaysForm(Form):
    """Days of the week."""

    words: str = '`"Mon-Fri"`, `"Mon,Wed"` or a list'
    textual: bool = True

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        words = [part for text in (value if isinstance(value, list) else [value]) for part in str(text).split(",")]
        days: list[int] = []
        for word in words:
            ends = [_day(part) for part in re.split(r"[-–]", word)]
            if len(ends) > 2 or None in ends:
                return reading.error(path, f'"{word.strip()}" is no day', value, "Mon, Tue, Wed, Thu, Fri, Sat, Sun")
            first, last = ends[0], ends[-1]
            assert first is not None  # None was refused above
            assert last is not None
            days += [(first + step) % 7 for step in range((last - first) % 7 + 1)]
        if len(set(days)) < len(days):
            return reading.error(path, "a day is named twice", value)
        return tuple(sorted(days))

    def _schema(self) -> Schema:
        return {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}], "examples": ["Mon-Fri"]}


def _day(text: str) -> int | None:
    word = text.strip().casefold()
    for number, full in enumerate(_FULL):
        if word in (full, full[:3]):
            return number
    return None


HOURS = SpansForm(filled=True)
SPANS = SpansForm()
DAYS = DaysForm()


def length(span: Span) -> int:
    """Minutes of a span, past midnight where its end is before its start."""
    return (span[1] - span[0]) % 1440 or 1440


def week(spans: Iterable[Span], days: Iterable[int]) -> tuple[int, bool]:
    """A week of minutes as the bits of a number (bit 0: Monday 00:00), and whether any two spans overlap."""
    bits, overlap = 0, False
    everyone = (1 << MINUTES) - 1
    for day in days:
        for span in spans:
            mask = ((1 << length(span)) - 1) << (1440 * day + span[0])
            mask = (mask & everyone) | (mask >> MINUTES)
            overlap = overlap or bool(bits & mask)
            bits |= mask
    return bits, overlap


def minutes_of(shift: Shift) -> int:
    """The working minutes of a shift's week, breaks taken out, as the bits of a number."""
    worked, _ = week(shift.hours, shift.days)
    rest, _ = week([_inside(b, shift.hours) for b in shift.breaks], shift.days)
    return worked & ~rest


def _inside(pause: Span, hours: Iterable[Span]) -> Span:
    """The break as a span on the day its shift began: a break at 02:00 in a night shift is on the next day."""
    for start, end in hours:
        if end <= start and pause[0] < end:
            return (pause[0] + 1440, pause[1] + 1440)
    return pause


def check_shift(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> bool:
    """Whether a shift makes sense: it does not overlap itself, and its breaks are inside its hours and apart."""
    hours, days = values.get("hours", ()), values.get("days", (0, 1, 2, 3, 4))
    sound = True
    worked, overlap = week(hours, days)
    if overlap:
        reading.error(f"{path}.hours", "this shift overlaps itself", table["hours"], "hours that do not overlap")
        sound = False
    for number, pause in enumerate(values.get("breaks", ())):
        rest, _ = week([_inside(pause, hours)], days)
        if rest & ~worked:
            written = table["breaks"]
            listed = isinstance(written, list)
            place = f"{path}.breaks[{number}]" if listed else f"{path}.breaks"
            value = written[number] if listed else written
            reading.error(place, "this break is outside the hours of its shift", value, "a break inside the hours")
            sound = False
        worked &= ~rest
    if sound and not worked:
        reading.error(f"{path}.breaks", "the breaks leave no time to work", table.get("breaks"))
        sound = False
    return sound
