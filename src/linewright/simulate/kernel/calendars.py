"""The week turns: people come and go, stations open and close, and it is known whether anybody is at a station."""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.accounts import settle_crew, settle_place
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.heap import schedule
from linewright.simulate.kernel.lending import people_free
from linewright.simulate.kernel.lists import remind
from linewright.simulate.kernel.work import pause_excess, suspend

WEEK = 7 * 24 * 3600 * 1_000_000_000
A_CREW = 0
HOURS = 1
ATTENDANCE = 2
"""What a calendar means to its user."""


def turn(m: Whole, x: Real, h: Whole, calendar: int) -> None:
    """The calendar's next step begins."""
    step = m[calendar + r.K_STEP] + 1
    if step >= m[calendar + r.K_STEPS]:
        step = 0
        m[calendar + r.K_WEEK] += WEEK
    m[calendar + r.K_STEP] = step
    schedule_turn(m, h, calendar)
    level = m[calendar + r.CALENDAR_WIDTH + step * r.STEP_WIDTH + r.K_LEVEL]
    users = m[calendar + r.K_USERS]
    for k in range(m[users]):
        row, role = m[users + 1 + 2 * k], m[users + 2 + 2 * k]
        if role == A_CREW:
            settle_crew(m, x, row)
            m[row + r.C_LEVEL] = level * r.PERSON
            pause_excess(m, x, h, row)
            people_free(m, row)
        elif role == HOURS:
            _open_or_close(m, x, h, row, 1 if level > 0 else 0)
        else:
            _attend(m, row, 1 if level > 0 else 0)


def schedule_turn(m: Whole, h: Whole, calendar: int) -> None:
    """The event of the calendar's next step; a calendar that never changes has none."""
    steps = m[calendar + r.K_STEPS]
    if steps < 2:
        return
    step = m[calendar + r.K_STEP] + 1
    week = m[calendar + r.K_WEEK]
    if step >= steps:
        step = 0
        week += WEEK
    schedule(m, h, calendar, week + m[calendar + r.CALENDAR_WIDTH + step * r.STEP_WIDTH + r.K_AT], r.CHANGES)


def _attend(m: Whole, station: int, there: int) -> None:
    place = m[station + r.S_PLACES]
    for _ in range(m[station + r.S_COUNT]):
        settle_place(m, place)
        place += r.WIDTH
    m[station + r.S_ATTENDED] = there


def _open_or_close(m: Whole, x: Real, h: Whole, station: int, is_open: int) -> None:
    """Outside its hours a station does no work; standing goes on."""
    if m[station + r.S_OPEN] == is_open:
        return
    m[station + r.S_OPEN] = is_open
    place = m[station + r.S_PLACES]
    for _ in range(m[station + r.S_COUNT]):
        if is_open == 1:
            remind(m, place)
        elif m[place + r.STATUS] == r.RUNNING and m[place + r.PHASE] != r.STANDING:
            suspend(m, x, h, place, 0)
        place += r.WIDTH
