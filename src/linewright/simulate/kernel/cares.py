"""Work that comes again and again while a load stands: it claims people, is late where they are elsewhere, or missed.

The stand goes on whatever happens: what is not done when it ends is missed.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.crews import let_go
from linewright.simulate.kernel.draws import duration
from linewright.simulate.kernel.heap import cancel, schedule
from linewright.simulate.kernel.lists import stop_waiting
from linewright.simulate.kernel.work import attempt


def first_care(m: Whole, place: int, op: int) -> int:
    """The first care of an operation in a place; 0: none."""
    table = m[op + r.O_CARES]
    return m[table + m[place + r.INDEX]] if table != 0 else 0


def begin_cares(m: Whole, h: Whole, place: int, op: int) -> None:
    """A load begins to stand: the first of each comes when its time has passed."""
    care = first_care(m, place, op)
    while care != 0:
        m[care + r.CARE_DUE] = m[r.NOW] + m[care + r.CARE_EVERY]
        schedule(m, h, care, m[care + r.CARE_DUE], r.CHANGES)
        care = m[care + r.CARE_NEXT]


def end_cares(m: Whole, x: Real, h: Whole, place: int, op: int) -> None:
    """The load stands no more: what is not done is missed."""
    care = first_care(m, place, op)
    while care != 0:
        if m[care + r.STATUS] != r.IDLE:
            m[care + r.CARE_MISSED] += 1
            while m[care + r.CARE_DUE] + m[care + r.CARE_EVERY] < m[r.NOW]:
                m[care + r.CARE_DUE] += m[care + r.CARE_EVERY]
                m[care + r.CARE_MISSED] += 1
            stop_waiting(m, care)
            let_go(m, x, care)
            m[care + r.STATUS] = r.IDLE
        cancel(m, h, care)
        care = m[care + r.CARE_NEXT]


def care_comes(m: Whole, x: Real, h: Whole, log: Whole, care: int) -> None:
    """It is due, or done."""
    if m[care + r.STATUS] == r.RUNNING:
        _done(m, x, h, care)
        return
    m[care + r.CARE_ORDINAL] += 1
    m[care + r.LEFT] = duration(
        m, x, m[care + r.CARE_TIME], m[care + r.CARE_KEY], m[care + r.CARE_KEY_HIGH], m[care + r.CARE_ORDINAL],
        r.FOR_CARE,
    )  # fmt: skip
    m[care + r.CARE_LASTS] = m[care + r.LEFT]
    m[care + r.ASKED] = 0
    attempt(m, x, h, log, care)


def _done(m: Whole, x: Real, h: Whole, care: int) -> None:
    """Done: the last one that came due, late by as much as it ends after its own time; those before are missed."""
    let_go(m, x, care)
    m[care + r.STATUS] = r.IDLE
    m[care + r.CARE_DONE] += 1
    while m[care + r.CARE_DUE] + m[care + r.CARE_EVERY] <= m[r.NOW]:
        m[care + r.CARE_DUE] += m[care + r.CARE_EVERY]
        m[care + r.CARE_MISSED] += 1
    delay = m[r.NOW] - m[care + r.CARE_LASTS] - m[care + r.CARE_DUE]
    if delay > 0:
        m[care + r.CARE_LATE] += 1
        x[care + r.CARE_DELAY] += float(delay)
    m[care + r.CARE_DUE] += m[care + r.CARE_EVERY]
    due = m[care + r.CARE_DUE]
    schedule(m, h, care, due if due > m[r.NOW] else m[r.NOW], r.CHANGES)
