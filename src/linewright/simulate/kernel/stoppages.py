"""Stoppages of places: a clock of running or calendar time, work frozen with its crew, repair, and on again."""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.accounts import set_state, write
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.crews import let_go
from linewright.simulate.kernel.draws import duration
from linewright.simulate.kernel.heap import schedule
from linewright.simulate.kernel.lists import remind
from linewright.simulate.kernel.work import attempt, halt, run

BREAKS_DOWN = 8
MENDED = 9
"""The log's words."""


def wind_up(m: Whole, x: Real, h: Whole, stop: int) -> None:
    """Draw the time to the next stoppage; a calendar clock starts at once."""
    m[stop + r.Z_ORDINAL] += 1
    to_go = duration(
        m, x, m[stop + r.Z_BETWEEN], m[stop + r.Z_KEY], m[stop + r.Z_KEY_HIGH], m[stop + r.Z_ORDINAL], r.FOR_BETWEEN
    )
    m[stop + r.Z_TO_GO] = to_go
    if m[stop + r.Z_CALENDAR] == 1:
        schedule(m, h, stop, m[r.NOW] + to_go, r.BREAKS)


def break_down(m: Whole, x: Real, h: Whole, log: Whole, stop: int) -> None:
    """The place stops: its work freezes with its crew, and the repair begins or waits for its crew."""
    place = m[stop + r.Z_PLACE]
    if m[r.TRACING] == 1:
        write(m, log, BREAKS_DOWN, 0, 0, place, stop, 0, 0)
    m[stop + r.Z_BROKEN] = 1
    m[place + r.DOWN] += 1
    m[place + r.RESTART] = 1
    if m[place + r.STATUS] == r.RUNNING and m[place + r.PHASE] != r.STANDING:
        halt(m, h, place)
        m[place + r.STATUS] = r.FROZEN
        set_state(m, place, r.IS_DOWN)
    elif m[place + r.STATUS] != r.RUNNING:
        set_state(m, place, r.IS_DOWN)
    m[stop + r.LEFT] = duration(
        m, x, m[stop + r.Z_REPAIR], m[stop + r.Z_KEY], m[stop + r.Z_KEY_HIGH], m[stop + r.Z_ORDINAL], r.FOR_REPAIR
    )
    m[stop + r.ASKED] = 0
    attempt(m, x, h, log, stop)


def mend(m: Whole, x: Real, h: Whole, log: Whole, stop: int) -> None:
    """The repair is done: the clock is wound up, and where nothing else is broken the work goes on."""
    place = m[stop + r.Z_PLACE]
    if m[r.TRACING] == 1:
        write(m, log, MENDED, 0, 0, place, stop, 0, 0)
    let_go(m, x, stop)
    m[stop + r.STATUS] = r.IDLE
    m[stop + r.Z_BROKEN] = 0
    wind_up(m, x, h, stop)
    m[place + r.DOWN] -= 1
    if m[place + r.DOWN] > 0:
        return
    if m[place + r.STATUS] == r.FROZEN:
        if m[m[place + r.AT] + r.S_OPEN] == 1:
            run(m, h, place)
        else:
            let_go(m, x, place)
            m[place + r.STATUS] = r.WAITING
            set_state(m, place, r.UNMANNED)
    elif m[place + r.STATUS] != r.RUNNING:
        set_state(m, place, r.SHORT)
        remind(m, place)
    remind(m, m[place + r.AT])
