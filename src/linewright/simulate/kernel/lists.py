"""Rows that come and go, and their lists: the agenda, pieces in a place, pieces in a queue, waiting work."""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole


def new_row(m: Whole, x: Real, kind: int) -> int:
    """A cleared row. The run loop has made sure that one is left."""
    row = m[r.FREE_ROW]
    if row != 0:
        m[r.FREE_ROW] = m[row + r.AGENDA]
    else:
        row = m[r.NEXT_ROW]
        m[r.NEXT_ROW] = row + r.WIDTH
    m[r.ROWS_LEFT] -= 1
    for k in range(r.WIDTH):
        m[row + k] = 0
    x[row] = 0.0
    x[row + 1] = 0.0
    m[row + r.KIND] = kind
    return row


def drop_row(m: Whole, row: int) -> None:
    """Give a row back."""
    m[row + r.KIND] = 0
    m[row + r.AGENDA] = m[r.FREE_ROW]
    m[r.FREE_ROW] = row
    m[r.ROWS_LEFT] += 1


def remind(m: Whole, row: int) -> None:
    """Put a row on the agenda of this instant, once."""
    if m[row + r.QUEUED] == 1:
        return
    m[row + r.QUEUED] = 1
    m[row + r.AGENDA] = 0
    if m[r.AGENDA_LAST] == 0:
        m[r.AGENDA_FIRST] = row
    else:
        m[m[r.AGENDA_LAST] + r.AGENDA] = row
    m[r.AGENDA_LAST] = row


def next_on_agenda(m: Whole) -> int:
    """Take the next row off the agenda; 0 where it is empty."""
    row = m[r.AGENDA_FIRST]
    if row != 0:
        m[r.AGENDA_FIRST] = m[row + r.AGENDA]
        if m[r.AGENDA_FIRST] == 0:
            m[r.AGENDA_LAST] = 0
        m[row + r.QUEUED] = 0
        m[row + r.AGENDA] = 0
    return row


def put_in_place(m: Whole, x: Real, place: int, piece: int) -> None:
    """Add a piece at the end of those in a place."""
    tail = m[place + r.TAIL]
    m[piece + r.P_BEFORE] = tail
    m[piece + r.P_NEXT] = 0
    if tail == 0:
        m[place + r.HEAD] = piece
    else:
        m[tail + r.P_NEXT] = piece
    m[place + r.TAIL] = piece
    m[place + r.COUNT] += 1
    x[place + r.AMOUNT] += x[piece + r.AMOUNT]
    m[piece + r.IN_PLACE] = place


def count_anew(m: Whole, piece: int) -> None:
    """Something about a piece has changed: what is gathered in its place is to be counted anew."""
    if m[piece + r.IN_PLACE] != 0:
        m[m[piece + r.IN_PLACE] + r.GATHERED] = 0


def take_from_place(m: Whole, x: Real, piece: int) -> None:
    """Take a piece out of the place where it is, if it is in one, and remind the place of it."""
    place = m[piece + r.IN_PLACE]
    if place == 0:
        return
    m[place + r.GATHERED] = 0
    before, after = m[piece + r.P_BEFORE], m[piece + r.P_NEXT]
    if before == 0:
        m[place + r.HEAD] = after
    else:
        m[before + r.P_NEXT] = after
    if after == 0:
        m[place + r.TAIL] = before
    else:
        m[after + r.P_BEFORE] = before
    m[place + r.COUNT] -= 1
    x[place + r.AMOUNT] = x[place + r.AMOUNT] - x[piece + r.AMOUNT] if m[place + r.COUNT] > 0 else 0.0
    m[piece + r.IN_PLACE] = 0
    m[piece + r.AIRS] = 0
    remind(m, place)


def join_queue(m: Whole, visit: int, piece: int, first: int) -> None:
    """Stand at the end of a visit's queue; ``first`` is V_FIRST, or V_AHEAD_FIRST for rework."""
    last = m[visit + first + 1]
    m[piece + r.Q_BEFORE] = last
    m[piece + r.Q_NEXT] = 0
    if last == 0:
        m[visit + first] = piece
    else:
        m[last + r.Q_NEXT] = piece
    m[visit + first + 1] = piece
    m[visit + r.V_WAITING] += 1


def leave_queue(m: Whole, owner: int, piece: int, first: int) -> None:
    """Step out of a queue; the same for a visit's queues and for those who wait for room in a store."""
    before, after = m[piece + r.Q_BEFORE], m[piece + r.Q_NEXT]
    if before == 0:
        m[owner + first] = after
    else:
        m[before + r.Q_NEXT] = after
    if after == 0:
        m[owner + first + 1] = before
    else:
        m[after + r.Q_BEFORE] = before
    m[piece + r.Q_BEFORE] = 0
    m[piece + r.Q_NEXT] = 0


def goes_with(m: Whole, own: int, op: int) -> bool:
    """Whether a piece at operation ``own`` may be in a cycle of ``op``: it is the same, or shares its loads."""
    return own == op or (m[op + r.O_MIXES] != 0 and m[own + r.O_MIXES] == m[op + r.O_MIXES])


def wait_at(m: Whole, owner: int, work: int) -> None:
    """Let work wait for a crew, an item or a tool, in order of asking."""
    m[work + r.STATUS] = r.WAITING
    m[work + r.WAITS_AT] = owner
    before = m[owner + r.LAST]
    while before != 0 and m[before + r.ASKED] > m[work + r.ASKED]:
        before = m[before + r.BEFORE]
    after = m[owner + r.FIRST] if before == 0 else m[before + r.NEXT]
    m[work + r.BEFORE] = before
    m[work + r.NEXT] = after
    if before == 0:
        m[owner + r.FIRST] = work
    else:
        m[before + r.NEXT] = work
    if after == 0:
        m[owner + r.LAST] = work
    else:
        m[after + r.BEFORE] = work


def stop_waiting(m: Whole, work: int) -> None:
    """Take work off the list it waits on, if any."""
    owner = m[work + r.WAITS_AT]
    if owner == 0:
        return
    before, after = m[work + r.BEFORE], m[work + r.NEXT]
    if before == 0:
        m[owner + r.FIRST] = after
    else:
        m[before + r.NEXT] = after
    if after == 0:
        m[owner + r.LAST] = before
    else:
        m[after + r.BEFORE] = before
    m[work + r.WAITS_AT] = 0
    m[work + r.NEXT] = 0
    m[work + r.BEFORE] = 0
    if m[owner + r.KIND] == r.CREW and m[owner + r.C_GATHERS] == work:
        m[owner + r.C_GATHERS] = 0
        if m[owner + r.C_BORROWERS] != 0:
            m[owner + r.C_FREED] = 1
        remind(m, owner)
