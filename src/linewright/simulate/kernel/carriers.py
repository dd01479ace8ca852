"""Carriers that return: a piece gets on one at a start, stays on it over operations and routes, and gets off at an end.

A carrier in use is a row with a count of those on it; who is on it (a piece, units of an item on hand, pieces that an
operation gathers) has a chain of rides. When the last has got off, the carrier goes back, and can be used again.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.accounts import settle_carrier
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.draws import duration
from linewright.simulate.kernel.heap import schedule
from linewright.simulate.kernel.lists import drop_row, goes_with, new_row, remind


def rides_on(m: Whole, ride: int, carrier: int) -> bool:
    """Whether a chain of rides has one on a kind of carrier."""
    while ride != 0:
        if m[m[ride + r.D_CARRIED] + r.B_KIND] == carrier:
            return True
        ride = m[ride + r.D_NEXT]
    return False


def lacks(m: Whole, x: Real, carrier: int, pieces: int) -> bool:
    """Whether there are too few free carriers of a kind for so many new pieces; it is noted that one is wanted."""
    opened = m[carrier + r.Y_OPEN]
    rest = pieces - (m[opened + r.B_ROOM] if opened != 0 else 0)
    holds = m[carrier + r.Y_HOLDS]
    if rest <= 0 or (rest + holds - 1) // holds <= m[carrier + r.Y_FREE]:
        return False
    if m[carrier + r.Y_WANTED] == 0:
        settle_carrier(m, x, carrier)
        m[carrier + r.Y_WANTED] = 1
    return True


def lacking_carrier(m: Whole, x: Real, place: int, op: int) -> int:
    """The first kind of carriers of which there are too few for the pieces of the cycle at hand; 0: none.

    Pieces that share a load may be variants, which get on kinds of their own.
    """
    left = x[place + r.GROUP]
    piece = m[place + r.HEAD]
    while piece != 0 and left > 1e-9:
        own = m[piece + r.OPERATION]
        if m[piece + r.WHERE] == r.TO_DO and goes_with(m, own, op):
            left -= x[piece + r.AMOUNT]
            joins = m[own + r.O_JOINS]
            if joins != 0:
                for k in range(m[joins]):
                    if lacks(m, x, m[joins + 1 + k], _new_on(m, x, place, op, m[joins + 1 + k])):
                        return m[joins + 1 + k]
            if m[op + r.O_MIXES] == 0:
                return 0
        piece = m[piece + r.P_NEXT]
    return 0


def _new_on(m: Whole, x: Real, place: int, op: int, carrier: int) -> int:
    """Pieces of the cycle at hand that still have to get on a kind of carriers."""
    new = 0
    left = x[place + r.GROUP]
    piece = m[place + r.HEAD]
    while piece != 0 and left > 1e-9:
        own = m[piece + r.OPERATION]
        if m[piece + r.WHERE] == r.TO_DO and goes_with(m, own, op):
            left -= x[piece + r.AMOUNT]
            joins = m[own + r.O_JOINS]
            if joins != 0 and not rides_on(m, m[piece + r.RIDES], carrier):
                for k in range(m[joins]):
                    if m[joins + 1 + k] == carrier:
                        new += 1
        piece = m[piece + r.P_NEXT]
    return new


def no_carrier_for(m: Whole, x: Real, piece: int, filling: int) -> bool:
    """Whether a piece that would begin a visit finds no carrier, those counted who wait for one in ``filling``."""
    joins = m[m[piece + r.OPERATION] + r.O_JOINS]
    for k in range(m[joins]):
        carrier = m[joins + 1 + k]
        if not rides_on(m, m[piece + r.RIDES], carrier):
            beside = _yet_without(m, filling, m[piece + r.OPERATION], carrier) if filling != 0 else 0
            if lacks(m, x, carrier, beside + 1):
                return True
    return False


def _yet_without(m: Whole, place: int, op: int, carrier: int) -> int:
    """How many in a place that fills have yet to get on a kind of carriers; who came first has got on first."""
    if m[op + r.O_CLOSES] == 1 and m[op + r.O_MIXES] == 0:
        return m[place + r.COUNT]  # nothing has begun yet
    without = 0
    piece = m[place + r.TAIL]
    while piece != 0 and not rides_on(m, m[piece + r.RIDES], carrier):
        joins = m[m[piece + r.OPERATION] + r.O_JOINS]
        if joins != 0:
            for k in range(m[joins]):
                if m[joins + 1 + k] == carrier:
                    without += 1
        piece = m[piece + r.P_BEFORE]
    return without


def behind_on_a_carrier(m: Whole, visit: int, piece: int) -> int:
    """The first behind a piece that waits for a carrier who is on all that he needs; 0: none.

    Whoever waits lets those go by, for only they bring one back.
    """
    ahead = m[piece + r.REWORKED]
    while piece != 0:
        piece = m[piece + r.Q_NEXT]
        if piece == 0 and ahead == 1:
            ahead = 0
            piece = m[visit + r.V_FIRST]
        if piece != 0 and m[piece + r.RIDES] != 0 and _is_on_all(m, piece):
            return piece
    return 0


def _is_on_all(m: Whole, piece: int) -> bool:
    joins = m[m[piece + r.OPERATION] + r.O_JOINS]
    on = joins != 0
    if on:
        for k in range(m[joins]):
            on = on and rides_on(m, m[piece + r.RIDES], m[joins + 1 + k])
    return on


def get_on(m: Whole, x: Real, piece: int, op: int) -> None:
    """Put a piece on a carrier of every kind that the operation asks for: one with room left, else a free one."""
    joins = m[op + r.O_JOINS]
    for k in range(m[joins]):
        carrier = m[joins + 1 + k]
        if rides_on(m, m[piece + r.RIDES], carrier):
            continue
        carried = m[carrier + r.Y_OPEN]
        if carried == 0:
            settle_carrier(m, x, carrier)
            m[carrier + r.Y_FREE] -= 1
            m[carrier + r.Y_USES] += 1
            carried = new_row(m, x, r.CARRIED)
            m[carried + r.B_KIND] = carrier
            m[carried + r.B_ROOM] = m[carrier + r.Y_HOLDS]
            m[carried + r.B_SINCE] = m[r.NOW]
        m[carried + r.B_ROOM] -= 1
        m[carrier + r.Y_OPEN] = carried if m[carried + r.B_ROOM] > 0 else 0
        m[piece + r.RIDES] = _ride(m, x, carried, m[piece + r.RIDES], op)


def _ride(m: Whole, x: Real, carried: int, others: int, op: int) -> int:
    ride = new_row(m, x, r.RIDE)
    m[ride + r.D_CARRIED] = carried
    m[ride + r.D_NEXT] = others
    m[ride + r.D_FROM] = op
    m[carried + r.B_ON] += 1
    return ride


def close_carrier(m: Whole, op: int) -> None:
    """A load goes off together: nobody joins later what a piece of it got on at ``op``."""
    joins = m[op + r.O_JOINS]
    for k in range(m[joins]):
        m[m[joins + 1 + k] + r.Y_OPEN] = 0


def copied_rides(m: Whole, x: Real, ride: int) -> int:
    """A second chain on the same carriers: a piece has become two."""
    copy = 0
    while ride != 0:
        copy = _ride(m, x, m[ride + r.D_CARRIED], copy, m[ride + r.D_FROM])
        ride = m[ride + r.D_NEXT]
    return copy


def joined_rides(m: Whole, one: int, other: int) -> int:
    """Two chains as one; of two rides of a kind the one in ``one`` ends (its part has been replaced)."""
    while one != 0:
        after = m[one + r.D_NEXT]
        if rides_on(m, other, m[m[one + r.D_CARRIED] + r.B_KIND]):
            _end(m, one)
        else:
            m[one + r.D_NEXT] = other
            other = one
        one = after
    return other


def gathered_rides(m: Whole, one: int, other: int) -> int:
    """Two chains as one, all rides kept: pieces have become one thing."""
    if one == 0:
        return other
    last = one
    while m[last + r.D_NEXT] != 0:
        last = m[last + r.D_NEXT]
    m[last + r.D_NEXT] = other
    return one


def get_off(m: Whole, piece: int, leaves: int) -> None:
    """Take a piece off the kinds of carriers in a list."""
    _take_off(m, piece, leaves, 0)


def get_off_before(m: Whole, piece: int, target: int) -> None:
    """A piece is sent back to before the operation that put it on a carrier: it comes off."""
    _take_off(m, piece, 0, target)


def _take_off(m: Whole, piece: int, leaves: int, target: int) -> None:
    kept = 0
    ride = m[piece + r.RIDES]
    while ride != 0:
        after = m[ride + r.D_NEXT]
        goes = _is_among(m, ride, leaves) if target == 0 else _began_after(m, ride, target)
        if goes:
            _end(m, ride)
        else:
            m[ride + r.D_NEXT] = kept
            kept = ride
        ride = after
    m[piece + r.RIDES] = kept


def _is_among(m: Whole, ride: int, kinds: int) -> bool:
    kind = m[m[ride + r.D_CARRIED] + r.B_KIND]
    among = False
    for k in range(m[kinds]):
        among = among or m[kinds + 1 + k] == kind
    return among


def _began_after(m: Whole, ride: int, target: int) -> bool:
    op = m[ride + r.D_FROM]
    return m[op + r.O_ROUTE] == m[target + r.O_ROUTE] and m[target + r.O_POSITION] < m[op + r.O_POSITION]


def end_rides(m: Whole, ride: int) -> None:
    """All rides of a chain end."""
    while ride != 0:
        after = m[ride + r.D_NEXT]
        _end(m, ride)
        ride = after


def _end(m: Whole, ride: int) -> None:
    """One gets off; a carrier that nobody is on any more is put on the agenda, to go back."""
    carried = m[ride + r.D_CARRIED]
    m[carried + r.B_ON] -= 1
    if m[carried + r.B_ON] == 0:
        kind = m[carried + r.B_KIND]
        if m[kind + r.Y_OPEN] == carried:
            m[kind + r.Y_OPEN] = 0
        remind(m, carried)
    drop_row(m, ride)


def set_off(m: Whole, x: Real, h: Whole, carried: int) -> None:
    """An empty carrier goes back; one that was lost or broken in use is mended first."""
    if m[carried + r.B_ON] > 0 or m[carried + r.B_PHASE] != 0:
        return
    kind = m[carried + r.B_KIND]
    settle_carrier(m, x, kind)
    m[kind + r.Y_ORDINAL] += 1
    way = duration(
        m, x, m[kind + r.Y_WAY], m[kind + r.Y_KEY], m[kind + r.Y_KEY_HIGH], m[kind + r.Y_ORDINAL], r.FOR_TIME
    )
    if m[kind + r.Y_BETWEEN] != 0:
        m[kind + r.Y_TO_GO] -= m[r.NOW] - m[carried + r.B_SINCE]
        if m[kind + r.Y_TO_GO] <= 0:
            m[carried + r.B_PHASE] = 2
            m[kind + r.Y_LOST] += 1
            m[kind + r.Y_LOSSES] += 1
            way += duration(
                m,
                x,
                m[kind + r.Y_REPAIR],
                m[kind + r.Y_KEY],
                m[kind + r.Y_KEY_HIGH],
                m[kind + r.Y_ORDINAL],
                r.FOR_REPAIR,
            )
            wind_up_losses(m, x, kind)
    if m[carried + r.B_PHASE] == 0:
        m[carried + r.B_PHASE] = 1
        m[kind + r.Y_BACK] += 1
    if way > 0:
        schedule(m, h, carried, m[r.NOW] + way, r.FINISHES)
    else:
        come_back(m, x, carried)


def wind_up_losses(m: Whole, x: Real, kind: int) -> None:
    """Draw the time in use to the next loss."""
    m[kind + r.Y_DRAWN] += 1
    to_go = duration(
        m, x, m[kind + r.Y_BETWEEN], m[kind + r.Y_KEY], m[kind + r.Y_KEY_HIGH], m[kind + r.Y_DRAWN], r.FOR_BETWEEN
    )
    m[kind + r.Y_TO_GO] += max(to_go, 1)


def come_back(m: Whole, x: Real, carried: int) -> None:
    """A carrier can be used again: those who wait for it look, and the stations where pieces would begin with it."""
    kind = m[carried + r.B_KIND]
    settle_carrier(m, x, kind)
    m[kind + (r.Y_LOST if m[carried + r.B_PHASE] == 2 else r.Y_BACK)] -= 1
    m[kind + r.Y_FREE] += 1
    m[kind + r.Y_WANTED] = 0
    drop_row(m, carried)
    remind(m, kind)
    stations = m[kind + r.Y_STATIONS]
    for k in range(m[stations]):
        remind(m, m[stations + 1 + k])
