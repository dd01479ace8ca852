"""Places of several sizes: what a load may be in each, and which one a load is put into.

Where a load fills a vessel at once, it goes into the largest that can be filled with what is at hand, else into the
smallest. Where a vessel is filled little by little it is the largest that is empty, for more will come.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.flow_levels import flowing_units
from linewright.simulate.kernel.parts import enough

NO_END = 1e300


def most_in(x: Real, place: int, op: int) -> float:
    """The most pieces of a cycle of an operation in a place."""
    if x[op + r.O_PER_SIZE] == 0.0:
        return x[op + r.O_MOST]
    return min(x[op + r.O_MOST], x[op + r.O_PER_SIZE] * x[place + r.SIZE])


def least_in(x: Real, place: int, op: int) -> float:
    """The least pieces of a cycle of an operation in a place."""
    if x[op + r.O_PER_SIZE] == 0.0:
        return x[op + r.O_LEAST]
    return min(x[op + r.O_LEAST], most_in(x, place, op))


def room_in(x: Real, place: int, op: int) -> float:
    """Pieces that a place takes when a visit begins with an operation."""
    if x[op + r.O_PER_SIZE] == 0.0:
        return x[op + r.O_ROOM]
    return min(x[op + r.O_ROOM], x[op + r.O_PER_SIZE] * x[place + r.SIZE])


def is_the_last(m: Whole, x: Real, op: int, group: float) -> bool:
    """Whether nothing more of a season can come to a load: then it goes as it is."""
    item = m[m[op + r.O_ROUTE] + r.U_ITEM]
    if m[item + r.I_MODE] < r.BY_PUSH:
        return False
    small = 1e-7 * (1.0 + x[item + r.I_DUE])
    if x[item + r.I_DUE] - x[item + r.I_RATE] > small:
        return False
    if m[r.FLOWS] != 0 and flowing_units(m, x, item, m[op + r.O_POSITION] + 1) > small:
        return False
    return x[item + r.I_OPEN] - group * x[op + r.O_TO_GO] <= small or _nobody_comes(m, op)


def _nobody_comes(m: Whole, op: int) -> bool:
    """Whether nobody of the route of an operation is on the way to its visit."""
    own, step = m[op + r.O_VISIT], m[m[op + r.O_ROUTE] + r.U_FIRST]
    while m[step + r.O_VISIT] != own:
        visit = m[step + r.O_VISIT]
        stations = m[visit + r.V_STATIONS]
        if m[visit + r.V_WAITING] != 0:
            return False
        for k in range(m[stations]):
            station = m[stations + 1 + k]
            if m[station + r.S_BENCH] == 1:  # who is there is not known
                return False
            place = m[station + r.S_PLACES]
            for _ in range(m[station + r.S_COUNT]):
                if m[place + r.VISIT] == visit and m[place + r.COUNT] != 0:
                    return False
                place += r.WIDTH
        step = m[step + r.O_NEXT]
    return m[own + r.V_WAITING] == 0


def choose_vessel(m: Whole, x: Real, station: int, piece: int) -> int:
    """The empty place into which the load of a piece goes; those that are down only where all are."""
    op = m[piece + r.OPERATION]
    at_hand = NO_END if x[op + r.O_MOST] < x[op + r.O_ROOM] else _at_hand(m, x, piece, op)
    best, best_size, fits, up = 0, 0.0, False, False
    place = m[station + r.S_PLACES]
    for _ in range(m[station + r.S_COUNT]):
        if m[place + r.VISIT] == 0:
            size = x[place + r.SIZE]
            is_up = m[place + r.DOWN] == 0
            filled = enough(at_hand, room_in(x, place, op))
            if best == 0 or (is_up and not up) or (is_up == up and _better(size, filled, best_size, fits)):
                best, best_size, fits, up = place, size, filled, is_up
        place += r.WIDTH
    return best


def _better(size: float, filled: bool, best: float, fits: bool) -> bool:
    """A vessel that is filled before one that is not; of those the larger, of the others the smaller."""
    if filled != fits:
        return filled
    return size > best if filled else size < best


def _at_hand(m: Whole, x: Real, piece: int, op: int) -> float:
    """Pieces that could go in now: of the queue, or for new ones what their first parts suffice for."""
    if m[piece + r.BEGINS] == 1:
        pieces = NO_END
        parts = m[op + r.O_TAKES]
        if parts != 0:
            for k in range(m[parts]):
                item = m[parts + 1 + k]
                if m[item + r.I_ENDLESS] == 0:
                    pieces = min(pieces, x[item + r.I_POOL] / x[parts + 1 + k])
        return pieces
    total = 0.0
    visit = m[op + r.O_VISIT]
    waiting = m[visit + r.V_FIRST]
    while waiting != 0:
        total += x[waiting + r.AMOUNT]
        waiting = m[waiting + r.Q_NEXT]
    return total
