"""Lots of an amount that are not all there: once they have waited they begin with what is on hand, their least or more.

A load begins full, or with its least once it has waited. A load that a route begins with waits for its parts before it
takes up a place; over a season less may come than fills it.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.heap import cancel, schedule
from linewright.simulate.kernel.lists import remind
from linewright.simulate.kernel.parts import enough
from linewright.simulate.kernel.promised import promised

NO_END = 1e300


def on_hand_for(m: Whole, x: Real, op: int, comes: int) -> float:
    """Pieces for which there is what an operation takes.

    ``comes``: 1: without end where more of it may come; 0: what is promised to others is not there.
    """
    pieces = NO_END
    parts = m[op + r.O_TAKES]
    if parts != 0:
        for k in range(m[parts]):
            pieces = min(pieces, _of_one(m, x, m[parts + 1 + k], x[parts + 1 + k], comes))
    choices = m[op + r.O_CHOICES]
    if choices != 0:
        for k in range(m[choices]):
            choice = m[choices + 1 + k]
            most = 0.0
            for j in range(m[choice]):
                most = max(most, _of_one(m, x, m[choice + 1 + j], x[choice + 1 + j], comes))
            pieces = min(pieces, most)
    if m[op + r.O_COUNTED] == 1 and pieces < NO_END:
        pieces = float(int(pieces + 1e-9))
    return pieces


def waiting_outside(m: Whole, route: int) -> int:
    """Lots of a route that have been let in and have no place yet."""
    lots = 0
    piece = m[m[m[route + r.U_FIRST] + r.O_VISIT] + r.V_FIRST]
    while piece != 0:
        if m[piece + r.ROUTE] == route and m[piece + r.BEGINS] == 1:
            lots += 1
        piece = m[piece + r.Q_NEXT]
    return lots


def _of_one(m: Whole, x: Real, item: int, units: float, comes: int) -> float:
    """Pieces for which an item suffices of which each takes so many units."""
    if m[item + r.I_ENDLESS] == 1 or (comes == 1 and m[item + r.I_COMES] == 1):
        return NO_END
    have = x[item + r.I_POOL]
    if comes == 0:
        have = max(have - promised(m, x, item), 0.0)
    return have / units


def make_smaller(m: Whole, x: Real, piece: int, amount: float) -> None:
    """A lot that has not begun becomes an amount; the rest of it may be let in again."""
    route, place = m[piece + r.ROUTE], m[piece + r.IN_PLACE]
    item, less = m[route + r.U_ITEM], x[piece + r.AMOUNT] - amount
    units = less * x[m[piece + r.OPERATION] + r.O_TO_GO]
    x[route + r.U_RELEASED] -= units
    x[item + r.I_RATE] -= units
    x[item + r.I_OPEN] -= units
    x[piece + r.AMOUNT] = amount
    if place != 0:
        x[place + r.AMOUNT] -= less


def _short_lot(m: Whole, x: Real, row: int) -> int:
    """The lot of a route that waits for more than there is, although there is its least; 0: none."""
    route = m[row + r.Q_ROUTE]
    op = m[route + r.U_FIRST]
    piece = m[m[op + r.O_VISIT] + r.V_FIRST]
    if piece == 0 or m[piece + r.BEGINS] == 0 or m[piece + r.ROUTE] != route:
        return 0
    there = on_hand_for(m, x, op, 0)
    if enough(there, x[piece + r.AMOUNT]) or not enough(there, x[op + r.O_LEAST]):
        return 0
    return piece


def look_at_short_lot(m: Whole, x: Real, h: Whole, row: int) -> None:
    """Parts have come or gone: the lot that has its least begins to wait, or waits no more."""
    piece = _short_lot(m, x, row)
    if piece == 0:
        cancel(m, h, row)
    elif m[row + r.HEAP] == 0 or m[row + r.Q_LOT] != m[piece + r.SERIAL]:
        m[row + r.Q_LOT] = m[piece + r.SERIAL]
        schedule(m, h, row, m[r.NOW] + m[row + r.Q_WAITS], r.RELEASES)


def begin_short_lot(m: Whole, x: Real, row: int) -> None:
    """The lot has waited: it becomes what there is."""
    piece = _short_lot(m, x, row)
    if piece == 0:
        return
    op = m[piece + r.OPERATION]
    make_smaller(m, x, piece, on_hand_for(m, x, op, 0))
    remind(m, m[m[piece + r.ROUTE] + r.U_ITEM])
    stations = m[m[op + r.O_VISIT] + r.V_STATIONS]
    for k in range(m[stations]):
        remind(m, m[stations + 1 + k])
