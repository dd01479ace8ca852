"""Windows: from the end of one operation a piece must begin another not before it opens and not after it closes.

Each open window of a piece is a row with a clock of its own; a piece has a chain of them. What becomes of a piece whose
window closes is in ``closing``.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.heap import schedule
from linewright.simulate.kernel.lists import count_anew, drop_row, new_row, remind


def start_windows(m: Whole, x: Real, piece: int, op: int) -> None:
    """Operation ``op`` has ended for a piece: the windows that begin with it start."""
    starts = m[op + r.O_OPENS]
    for k in range(m[starts]):
        window = m[starts + 1 + k]
        row = _window(m, x, piece, window)
        m[row + r.J_OPENS] = m[r.NOW] + m[window + r.X_LEAST]
        m[row + r.J_CLOSES] = m[r.NOW] + m[window + r.X_MOST] if m[window + r.X_MOST] > 0 else 0


def _window(m: Whole, x: Real, piece: int, window: int) -> int:
    row = new_row(m, x, r.WINDOW)
    m[row + r.J_WINDOW] = window
    m[row + r.J_PIECE] = piece
    m[row + r.J_NEXT] = m[piece + r.WINDOWS]
    m[piece + r.WINDOWS] = row
    remind(m, row)
    return row


def copy_windows(m: Whole, x: Real, piece: int, new: int) -> None:
    """A piece has become two: the other has the same windows."""
    row = m[piece + r.WINDOWS]
    m[new + r.WINDOWS] = 0
    while row != 0:
        copy = _window(m, x, new, m[row + r.J_WINDOW])
        m[copy + r.J_OPENS], m[copy + r.J_CLOSES] = m[row + r.J_OPENS], m[row + r.J_CLOSES]
        row = m[row + r.J_NEXT]


def set_clock(m: Whole, h: Whole, row: int) -> None:
    """A new window on the agenda gets its event: it opens, or is open and will close."""
    if m[row + r.J_PIECE] == 0:
        drop_row(m, row)
    elif m[row + r.J_OPENS] > m[r.NOW]:
        schedule(m, h, row, m[row + r.J_OPENS], r.FINISHES)
    elif m[row + r.J_CLOSES] > 0:
        schedule(m, h, row, m[row + r.J_CLOSES], r.RELEASES)


def is_open(m: Whole, piece: int) -> bool:
    """Whether no window keeps a piece from the operation that it is at."""
    row = m[piece + r.WINDOWS]
    while row != 0:
        if m[m[row + r.J_WINDOW] + r.X_OP] == m[piece + r.OPERATION] and m[r.NOW] < m[row + r.J_OPENS]:
            return False
        row = m[row + r.J_NEXT]
    return True


def comes_up(m: Whole, piece: int) -> None:
    """A piece in a place comes to its next operation: it has something to do, or rests until its window opens."""
    m[piece + r.WHERE] = r.TO_DO if m[piece + r.WINDOWS] == 0 or is_open(m, piece) else r.RESTS


def wake(m: Whole, piece: int) -> None:
    """A window has opened: who looks for this piece looks again."""
    if m[piece + r.WHERE] == r.RESTS:
        comes_up(m, piece)
        count_anew(m, piece)
        remind(m, m[piece + r.IN_PLACE])
    elif m[piece + r.WHERE] == r.QUEUES:
        stations = m[m[m[piece + r.OPERATION] + r.O_VISIT] + r.V_STATIONS]
        for k in range(m[stations]):
            remind(m, m[stations + 1 + k])


def end_windows(m: Whole, piece: int, op: int) -> None:
    """Operation ``op`` begins: its windows are met."""
    _end(m, piece, op, 0)


def end_windows_from(m: Whole, piece: int, target: int) -> None:
    """A piece is sent back to ``target``: windows end that begin there or later."""
    _end(m, piece, 0, target)


def end_all_windows(m: Whole, piece: int) -> None:
    """A piece exists no more."""
    _end(m, piece, 0, 0)


def _end(m: Whole, piece: int, op: int, target: int) -> None:
    kept = 0
    row = m[piece + r.WINDOWS]
    while row != 0:
        after = m[row + r.J_NEXT]
        window = m[row + r.J_WINDOW]
        ends = op == 0 or m[window + r.X_OP] == op
        if target != 0:
            ends = m[m[window + r.X_AFTER] + r.O_POSITION] >= m[target + r.O_POSITION]
        if ends:
            end_window(m, row)
        else:
            m[row + r.J_NEXT] = kept
            kept = row
        row = after
    m[piece + r.WINDOWS] = kept


def end_window(m: Whole, row: int) -> None:
    """Give a window's row back; one with an event or on the agenda goes when that comes."""
    m[row + r.J_PIECE] = 0
    if m[row + r.HEAP] == 0 and m[row + r.QUEUED] == 0:
        drop_row(m, row)


def overdue(m: Whole, piece: int) -> int:
    """A window of the piece that has closed; 0: none."""
    row = m[piece + r.WINDOWS]
    while row != 0:
        if m[row + r.J_CLOSED] == 1:
            return row
        row = m[row + r.J_NEXT]
    return 0
