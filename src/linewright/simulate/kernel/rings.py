"""A closed ring of blocked pieces moves at once: each into the place or store that the next one leaves.

Where places are handed over directly, or stores are full, pieces can wait for each other in a circle. Nobody can go
first, but all can go together, as people on a full roundabout do.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.lists import leave_queue, put_in_place, remind, take_from_place
from linewright.simulate.kernel.moves import ask_for_visit, settle_in
from linewright.simulate.kernel.parts import change_level
from linewright.simulate.kernel.ullage import air_out


def turn_ring(m: Whole, x: Real, log: Whole) -> bool:
    """Find one ring and let it move; False where there is none."""
    for k in range(m[r.STATIONS + 1]):
        start = m[r.STATIONS] + k * r.STATION_WIDTH
        if _waits_inside(m, start) and _reaches_itself(m, x, start):
            _move(m, x, log, start)
            return True
    return False


def _waits_inside(m: Whole, station: int) -> bool:
    place = m[station + r.S_PLACES]
    for _ in range(m[station + r.S_COUNT]):
        if _waiting(m, place) != 0:
            return True
        place += r.WIDTH
    return False


def _waiting(m: Whole, place: int) -> int:
    """The piece that is alone in a place and waits to go on from it; 0: none."""
    if m[place + r.COUNT] != 1:
        return 0
    piece = m[place + r.HEAD]
    where = m[piece + r.WHERE]
    return piece if where == r.QUEUES or where == r.LEAVES else 0


def _reaches_itself(m: Whole, x: Real, start: int) -> bool:
    """Search breadth first from a station along the pieces that wait; True where the way leads back."""
    m[r.RING_SEARCH] += 1
    mark = m[r.RING_SEARCH]
    m[start + r.N_FROM] = 0
    m[start + r.N_NEXT] = 0
    node, last = start, start
    while node != 0:
        if m[node + r.KIND] == r.STATION:
            place = m[node + r.S_PLACES]
            for _ in range(m[node + r.S_COUNT]):
                piece = _waiting(m, place)
                if piece != 0:
                    last = _spread(m, x, node, piece, mark, last)
                place += r.WIDTH
        else:
            for k in range(m[r.VISITS + 1]):
                visit = m[r.VISITS] + k * r.VISIT_WIDTH
                piece = m[visit + r.V_AHEAD_FIRST] if m[visit + r.V_AHEAD_FIRST] != 0 else m[visit + r.V_FIRST]
                if piece != 0 and m[piece + r.IN_STORE] == node:
                    last = _spread(m, x, node, piece, mark, last)
        if m[start + r.N_MARK] == mark:
            return True
        node = m[node + r.N_NEXT]
    return False


def _spread(m: Whole, x: Real, node: int, piece: int, mark: int, last: int) -> int:
    """Note where a waiting piece leads; the last of the nodes still to be looked at."""
    if m[piece + r.WHERE] == r.LEAVES:
        return _reach(m, node, piece, m[piece + r.WANTS], mark, last)
    op = m[piece + r.OPERATION]
    if x[op + r.O_ROOM] > 0.0:
        return last
    stations = m[m[op + r.O_VISIT] + r.V_STATIONS]
    for k in range(m[stations]):
        if m[m[stations + 1 + k] + r.S_BENCH] == 0:
            last = _reach(m, node, piece, m[stations + 1 + k], mark, last)
    return last


def _reach(m: Whole, node: int, piece: int, other: int, mark: int, last: int) -> int:
    if m[other + r.N_MARK] == mark:
        return last
    m[other + r.N_MARK] = mark
    m[other + r.N_PIECE] = piece
    m[other + r.N_FROM] = node
    m[other + r.N_NEXT] = 0
    m[last + r.N_NEXT] = other
    return other


def _move(m: Whole, x: Real, log: Whole, start: int) -> None:
    """Every piece of the ring takes the place that the next one leaves; the ring is walked backwards from its end.

    The piece that leads to the start waits outside until the walk has come round and freed a place there.
    """
    last = m[start + r.N_PIECE]
    freed = m[last + r.IN_PLACE]
    _take_out(m, x, last)
    node = m[start + r.N_FROM]
    while node != start:
        piece, before = m[node + r.N_PIECE], m[node + r.N_FROM]
        place = m[piece + r.IN_PLACE]
        _take_out(m, x, piece)
        _put_in(m, x, log, node, freed, piece)
        freed, node = place, before
    _put_in(m, x, log, start, freed, last)


def _take_out(m: Whole, x: Real, piece: int) -> None:
    """Out of its queue and its place or store."""
    if m[piece + r.WHERE] == r.LEAVES:
        leave_queue(m, m[piece + r.WANTS], piece, r.FIRST)
    else:
        visit = m[m[piece + r.OPERATION] + r.O_VISIT]
        leave_queue(m, visit, piece, r.V_AHEAD_FIRST if m[piece + r.REWORKED] == 1 else r.V_FIRST)
        m[visit + r.V_WAITING] -= 1
    if m[piece + r.IN_PLACE] != 0:
        if m[piece + r.AIRS] != 0:
            air_out(m, x, piece)
        take_from_place(m, x, piece)
    if m[piece + r.IN_STORE] != 0:
        store = m[piece + r.IN_STORE]
        m[piece + r.IN_STORE] = 0
        change_level(m, x, store, -x[piece + r.AMOUNT])


def _put_in(m: Whole, x: Real, log: Whole, node: int, place: int, piece: int) -> None:
    """Into a store, or into the place just left."""
    if m[node + r.KIND] == r.STORE:
        m[piece + r.IN_STORE] = node
        change_level(m, x, node, x[piece + r.AMOUNT])
        ask_for_visit(m, piece)
        return
    m[place + r.VISIT] = m[m[piece + r.OPERATION] + r.O_VISIT]
    m[place + r.OPEN] = 0
    m[place + r.WAIT_FROM] = m[r.NOW]
    put_in_place(m, x, place, piece)
    settle_in(m, log, place, piece)
    remind(m, place)
