"""Crews and calendars: shifts as written become step functions of the week; allowance and presence become a stretch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linewright.base.calendar import DAY, HOUR, MINUTE, Calendar, always, from_spans
from linewright.base.problems import did_you_mean
from linewright.network.context import Context
from linewright.network.lending import lends_of
from linewright.network.model import Crews
from linewright.network.rows import floats, ints
from linewright.plan.model import Crew, Shift

Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class People:
    """Crews, the calendars they and others use, when anybody works, and the working days of a week."""

    crews: Crews
    calendars: list[Calendar]
    open_calendar: Calendar
    days_week: int


def working_spans(shift: Shift, *, breaks: bool = True) -> list[Span]:
    """Begin and end in ns from Monday 00:00 of every stretch of work in a week, breaks left out unless told."""
    day: list[Span] = []
    for begin, end in shift.hours:
        day.append((begin, end if end > begin else end + 24 * 60))
    if breaks:
        first = min(begin for begin, _ in day) if day else 0
        for begin, end in shift.breaks:
            if begin < first:  # a break after midnight of a night shift
                begin, end = begin + 24 * 60, end + 24 * 60
            day = _without(day, (begin, end if end > begin else end + 24 * 60))
    return [(d * DAY + b * MINUTE, d * DAY + e * MINUTE) for d in sorted(set(shift.days)) for b, e in day]


def _without(spans: list[Span], gap: Span) -> list[Span]:
    parts = []
    for begin, end in spans:
        for piece in ((begin, min(end, gap[0])), (max(begin, gap[1]), end)):
            if piece[0] < piece[1]:
                parts.append(piece)
    return parts


def compile_people(context: Context) -> People:
    """Crews with their calendars; a crew of nobody, or with a shift that is not declared, is a problem."""
    calendars: list[Calendar] = []
    places: list[int] = []
    wage, paid = [], []
    for crew in context.plan.crews.values():
        places.append(len(calendars))
        calendar, hours = _crew_calendar(crew, context)
        calendars.append(calendar)
        paid.append(hours)
        wage.append(crew.wage.value * 3600.0 if crew.wage is not None else np.nan)
    crews = context.plan.crews.values()
    stretch = [(1 + crew.allowance) / crew.present if crew.present > 0 else 1.0 for crew in crews]
    table = Crews(
        ids=tuple(context.plan.crews),
        calendar=ints(places),
        wage=floats(wage),
        allowance=floats([crew.allowance for crew in crews]),
        present=floats([crew.present for crew in crews]),
        stretch=floats(stretch),
        paid_hours_week=floats(paid),
        lends=lends_of(crews),
    )
    open_calendar, days = _open(context)
    return People(table, calendars, open_calendar, days)


def _crew_calendar(crew: Crew, context: Context) -> tuple[Calendar, float]:
    """The people of a crew over the week, and the hours paid in a week, all its people together."""
    path = f"crews.{crew.id}"
    if sum(crew.people.values()) < 1:
        context.problems.error(f"{path}.people", "this crew has nobody", value=0, expected="at least one person")
    if not 0 < crew.present <= 1:
        context.problems.error(f"{path}.present", "not a share of the people", value=crew.present, expected='"95 %"')
    spans: list[tuple[int, int, int]] = []
    paid = 0
    for name, people in crew.people.items():
        shift = context.plan.shifts.get(name)
        if shift is None:
            hint = did_you_mean(name, context.plan.shifts)
            context.problems.error(f"{path}.shift", "there is no shift of this name", value=name, hint=hint)
            continue
        spans += [(begin, end, people) for begin, end in working_spans(shift)]
        paid += people * sum(end - begin for begin, end in working_spans(shift, breaks=not shift.paid_breaks))
    return (from_spans(spans) if spans else always(0)), paid / HOUR


def _open(context: Context) -> tuple[Calendar, int]:
    """When anybody works and on how many days a week; without crews the shifts say it, without shifts it is always."""
    plan = context.plan
    used = [name for crew in plan.crews.values() for name in crew.people if name in plan.shifts]
    shifts = [plan.shifts[name] for name in dict.fromkeys(used)] or list(plan.shifts.values())
    if not shifts:
        context.assumptions.append("No shifts are written: work goes on at all hours, seven days a week.")
        return always(), 7
    if used:
        levels = [(b, e, n) for crew in plan.crews.values() for b, e, n in _levels(crew, context)]
    else:
        levels = [(b, e, 1) for shift in shifts for b, e in working_spans(shift)]
    return from_spans(levels), len({day for shift in shifts for day in shift.days}) or 7


def _levels(crew: Crew, context: Context) -> list[tuple[int, int, int]]:
    return [
        (begin, end, people)
        for name, people in crew.people.items()
        if name in context.plan.shifts
        for begin, end in working_spans(context.plan.shifts[name])
    ]


def station_calendar(hours: tuple[str, ...], path: str, context: Context) -> Calendar | None:
    """When a station may run: the union of shifts, their breaks included; None where it is always there."""
    spans: list[tuple[int, int, int]] = []
    for name in hours:
        shift = context.plan.shifts.get(name)
        if shift is None:
            hint = did_you_mean(name, context.plan.shifts)
            context.problems.error(f"{path}.hours", "there is no shift of this name", value=name, hint=hint)
            continue
        spans += [(begin, end, 1) for begin, end in working_spans(shift, breaks=False)]
    if not spans:
        return None
    both = from_spans(spans)
    level = np.minimum(both.level, 1)
    keep = np.concatenate([[True], level[1:] != level[:-1]])
    return Calendar(both.at[keep], level[keep])
