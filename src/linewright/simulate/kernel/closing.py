"""A window closes: the piece is taken from wherever it waits and scrapped, sent back or sold as seconds.

A piece at work when the window closes is judged at the end of that work.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.heap import schedule
from linewright.simulate.kernel.journeys import discard, in_force, leave_held, react
from linewright.simulate.kernel.lists import drop_row, leave_queue, remind, stop_waiting
from linewright.simulate.kernel.parts import change_level
from linewright.simulate.kernel.windows import end_windows, wake

CLOSED = 4
"""The log's word for why a piece is scrapped."""


def window_event(m: Whole, x: Real, h: Whole, log: Whole, row: int) -> None:
    """A window opens, or closes."""
    piece = m[row + r.J_PIECE]
    if piece == 0:
        drop_row(m, row)
        return
    if m[row + r.J_CLOSES] == 0 or m[r.NOW] < m[row + r.J_CLOSES]:
        if m[row + r.J_CLOSES] > 0:
            schedule(m, h, row, m[row + r.J_CLOSES], r.RELEASES)
        wake(m, piece)
        return
    m[row + r.J_CLOSED] = 1
    where = m[piece + r.WHERE]
    if where != r.IN_WORK and where != r.EXITS:
        _set_aside(m, x, piece)
        close_window(m, x, log, piece, row, 1 if where == r.GIVES or where == r.HELD_BACK else 0)


def _set_aside(m: Whole, x: Real, piece: int) -> None:
    """Out of the queue and the store in which the piece waits; a place that waited to work on it thinks again."""
    where, place = m[piece + r.WHERE], m[piece + r.IN_PLACE]
    if where == r.QUEUES:
        visit = m[m[piece + r.OPERATION] + r.O_VISIT]
        leave_queue(m, visit, piece, r.V_AHEAD_FIRST if m[piece + r.REWORKED] == 1 else r.V_FIRST)
        m[visit + r.V_WAITING] -= 1
        m[piece + r.REWORKED] = 0
        if m[piece + r.IN_STORE] != 0:
            store = m[piece + r.IN_STORE]
            m[piece + r.IN_STORE] = 0
            change_level(m, x, store, -x[piece + r.AMOUNT])
    elif where == r.HELD_BACK:
        leave_held(m, m[m[piece + r.OPERATION] + r.O_CHECK], piece)
    elif where == r.LEAVES or where == r.GIVES:
        leave_queue(m, m[piece + r.WANTS], piece, r.FIRST)
    elif place != 0 and m[place + r.STATUS] == r.WAITING and m[place + r.BEGUN] < 2:
        stop_waiting(m, place)
        m[place + r.STATUS] = r.IDLE
    if place != 0:
        remind(m, place)


def close_window(m: Whole, x: Real, log: Whole, piece: int, row: int, done: int) -> None:
    """Do with the piece as the plan says. ``done``: it is at the end of its operation, else it has not begun it."""
    window, op = m[row + r.J_WINDOW], m[piece + r.OPERATION]
    m[window + r.X_CLOSED] += 1
    check = m[window + r.X_CHECK]
    reject = in_force(m, piece, check, m[check + r.C_OTHER])
    end_windows(m, piece, m[window + r.X_OP])
    if m[reject + r.R_FATE] == r.SCRAP:
        discard(m, x, log, piece, op, CLOSED)
        return
    if m[reject + r.R_FATE] == r.REWORK and done == 0:
        op -= r.O_WIDTH  # the rows of a route lie one behind the other: the last operation that was done
    react(m, x, log, piece, op, check, reject)
    if m[reject + r.R_FATE] == r.REWORK and m[piece + r.IN_PLACE] != 0:
        remind(m, m[piece + r.IN_PLACE])
