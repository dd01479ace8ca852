"""Pieces move: into a place, on to the next place or store, out of the plant.

A piece takes its place by moving and leaves the old one only when there is room further on. Everyone who waits for a
visit stands in its queue, wherever he is: on a shelf, in a store, or still in the place he came from.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.accounts import count_piece, set_state, write
from linewright.simulate.kernel.carriers import behind_on_a_carrier, copied_rides, end_rides, no_carrier_for
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.holding import hold
from linewright.simulate.kernel.lists import (
    drop_row,
    join_queue,
    leave_queue,
    new_row,
    put_in_place,
    remind,
    take_from_place,
)
from linewright.simulate.kernel.parts import (
    add_lot,
    add_units,
    change_level,
    enough,
    lacking_choice,
    lacking_part,
    room_for,
)
from linewright.simulate.kernel.promised import parts_not_promised
from linewright.simulate.kernel.ullage import air_out
from linewright.simulate.kernel.vessels import choose_vessel, room_in
from linewright.simulate.kernel.windows import comes_up, copy_windows, end_all_windows, is_open

ENTERS = 2
MOVES = 5
FINISHED = 6
"""The log's words."""


def ask_for_visit(m: Whole, piece: int) -> None:
    """Stand in the queue for the visit in which the piece's operation is, and remind its stations."""
    visit = m[m[piece + r.OPERATION] + r.O_VISIT]
    m[r.ORDER] += 1
    m[piece + r.TURN] = m[r.ORDER]
    m[piece + r.WHERE] = r.QUEUES
    if m[r.RINGS] != 0:
        m[r.RINGS] = 2
    join_queue(m, visit, piece, r.V_AHEAD_FIRST if m[piece + r.REWORKED] == 1 else r.V_FIRST)
    stations = m[visit + r.V_STATIONS]
    for k in range(m[stations]):
        remind(m, m[stations + 1 + k])


def depart(m: Whole, x: Real, log: Whole, piece: int, done: int) -> None:
    """A piece has done operation ``done``, the last of its visit: it goes on, or waits in its place for room."""
    m[piece + r.WHERE] = r.LEAVES
    if m[done + r.O_NEXT] == 0:
        _leave_route(m, x, log, piece, done)
        return
    m[piece + r.OPERATION] = m[done + r.O_NEXT]
    store = m[done + r.O_THEN]
    if store > 0:
        if m[store + r.FIRST] != 0 or not room_for(x, store, x[piece + r.AMOUNT]):
            join_store_queue(m, store, piece)
            return
        enter_store(m, x, store, piece)
    elif store == 0:
        take_from_place(m, x, piece)
    ask_for_visit(m, piece)


def join_store_queue(m: Whole, store: int, piece: int) -> None:
    """Wait in one's place for room in a store."""
    last = m[store + r.LAST]
    m[piece + r.WANTS] = store
    if m[r.RINGS] != 0:
        m[r.RINGS] = 2
    m[piece + r.Q_BEFORE] = last
    m[piece + r.Q_NEXT] = 0
    if last == 0:
        m[store + r.FIRST] = piece
    else:
        m[last + r.Q_NEXT] = piece
    m[store + r.LAST] = piece


def enter_store(m: Whole, x: Real, store: int, piece: int) -> None:
    """Out of the place, into the store."""
    if m[piece + r.AIRS] != 0:
        air_out(m, x, piece)
    take_from_place(m, x, piece)
    m[piece + r.IN_STORE] = store
    change_level(m, x, store, x[piece + r.AMOUNT])


def _leave_route(m: Whole, x: Real, log: Whole, piece: int, done: int) -> None:
    """The last operation is done: out of the plant, or on hand for other routes as soon as their store has room."""
    item = m[m[done + r.O_ROUTE] + r.U_ITEM]
    store = m[item + r.I_STORE]
    if m[piece + r.ORDERED] == 0 and store != 0:
        units = x[piece + r.AMOUNT] * x[done + r.O_OUT]
        if m[store + r.FIRST] != 0 or not room_for(x, store, units):
            m[piece + r.WHERE] = r.EXITS
            if m[store + r.FIRST] == 0:
                leave_in_part(m, x, log, store, piece)
            join_store_queue(m, store, piece)
            return
    finish_route(m, x, log, piece)


def leave_in_part(m: Whole, x: Real, log: Whole, store: int, piece: int) -> None:
    """Over a season as much of an amount goes into a store as there is room for: its user may wait for just that."""
    done = m[piece + r.OPERATION]
    pushed = m[m[m[piece + r.ROUTE] + r.U_ITEM] + r.I_MODE] >= r.BY_PUSH
    if m[done + r.O_COUNTED] == 1 or m[done + r.O_HOLDS] == 1 or not pushed:
        return
    room = x[store + r.W_ROOM] - x[store + r.W_LEVEL]
    if room > 1e-7 * (1.0 + x[store + r.W_ROOM]):
        part = _cut(m, x, piece, room / x[done + r.O_OUT])
        finish_route(m, x, log, part)


def finish_route(m: Whole, x: Real, log: Whole, piece: int) -> None:
    """The piece becomes units of the route's item."""
    if m[piece + r.AIRS] != 0:
        air_out(m, x, piece)
    route = m[piece + r.ROUTE]
    item, done = m[route + r.U_ITEM], m[piece + r.OPERATION]
    units = x[piece + r.AMOUNT] * x[done + r.O_OUT]
    if m[done + r.O_HOLDS] == 1 and m[piece + r.ORDERED] == 0:
        hold(m, x, item, m[piece + r.IN_PLACE], units)
    take_from_place(m, x, piece)
    x[item + r.I_OPEN] -= units
    x[route + r.U_FINISHED] += units
    write(
        m, log, FINISHED, m[piece + r.SERIAL], done, 0, m[piece + r.ENTERED], m[piece + r.FAULTS], m[piece + r.ORDERED]
    )
    if m[piece + r.ORDERED] == 1 and m[item + r.I_MODE] != r.BY_PULL:
        x[item + r.I_FINISHED] += units
        remind(m, item)
    else:
        add_units(m, x, item, units)
        if m[item + r.I_TRACED] == 1:
            rides = 0
            if m[piece + r.ORDERED] == 0:
                rides = m[piece + r.RIDES]
                m[piece + r.RIDES] = 0
            add_lot(m, x, item, m[piece + r.FAULTS], units, rides)
    end_piece(m, x, piece)


def end_piece(m: Whole, x: Real, piece: int) -> None:
    """A piece exists no more."""
    route = m[piece + r.ROUTE]
    if m[piece + r.RIDES] != 0:
        end_rides(m, m[piece + r.RIDES])
    if m[piece + r.WINDOWS] != 0:
        end_all_windows(m, piece)
    count_piece(m, x, route, -1)
    m[route + r.U_DIED] = (m[route + r.U_DIED] + m[r.NOW] - m[piece + r.BORN]) & 0x3FFFFFFFFFFFFFFF
    drop_row(m, piece)


def admit(m: Whole, x: Real, log: Whole, station: int) -> bool:
    """Let one piece into a place of the station; True where another may follow.

    First a load that is being filled takes more; then an empty place takes the first in order of arrival, rework ahead.
    """
    visits = m[station + r.S_VISITS]
    chosen, ahead, turn, uncarried = 0, 0, 0, False
    for k in range(m[visits]):
        visit = m[visits + 1 + k]
        first = r.V_AHEAD_FIRST if m[visit + r.V_AHEAD_FIRST] != 0 else r.V_FIRST
        piece = m[visit + first]
        if piece == 0:
            continue
        filling = m[visit + r.V_FILLING]
        if m[piece + r.BEGINS] == 1 and not _parts_are_there(m, x, piece, filling):
            continue
        if m[piece + r.WINDOWS] != 0 and not is_open(m, piece):
            continue
        if m[m[piece + r.OPERATION] + r.O_JOINS] != 0 and no_carrier_for(m, x, piece, filling):
            uncarried = True
            piece = behind_on_a_carrier(m, visit, piece)
            if piece == 0 or (m[piece + r.WINDOWS] != 0 and not is_open(m, piece)):
                continue
        if filling != 0 and x[m[piece + r.OPERATION] + r.O_ROOM] > 0.0:
            if _join(m, x, log, filling, visit, piece):
                return True
            if m[visit + r.V_FILLING] != 0:
                continue
        if m[station + r.S_EMPTY] == 0 and m[station + r.S_BENCH] == 0:
            continue
        is_ahead = m[piece + r.REWORKED]
        if chosen == 0 or is_ahead > ahead or (is_ahead == ahead and m[piece + r.TURN] < turn):
            chosen, ahead, turn = piece, is_ahead, m[piece + r.TURN]
    if chosen == 0:
        if uncarried and m[station + r.S_EMPTY] > 0 and m[station + r.S_BENCH] == 0:
            _wait_for_carrier(m, station)
        return False
    visit = m[m[chosen + r.OPERATION] + r.O_VISIT]
    _open_place(m, x, log, station, chosen)
    return m[station + r.S_EMPTY] > 0 or m[station + r.S_BENCH] == 1 or m[visit + r.V_FILLING] != 0


def _wait_for_carrier(m: Whole, station: int) -> None:
    """A piece waits outside for a carrier, an empty place with it."""
    place = _empty_place(m, station)
    if m[place + r.DOWN] == 0:
        set_state(m, place, r.NO_TOOL)


def _parts_are_there(m: Whole, x: Real, piece: int, filling: int) -> bool:
    """Whether what a new piece begins with is on hand; before that it is nothing that could take up a place.

    With a load that is being filled, for all of it together.
    """
    op = m[piece + r.OPERATION]
    campaign = m[m[piece + r.ROUTE] + r.U_CAMPAIGN]
    if campaign != 0 and m[campaign + r.Q_RUNS] == 0:
        return False
    if m[m[m[piece + r.ROUTE] + r.U_ITEM] + r.I_MODE] >= r.BY_PUSH:
        return parts_not_promised(m, x, piece) and lacking_choice(m, x, m[op + r.O_CHOICES], x[piece + r.AMOUNT]) == 0
    amount = begins_with(m, x, piece, filling)
    if lacking_part(m, x, m[op + r.O_TAKES], amount) != 0:
        return False
    return lacking_choice(m, x, m[op + r.O_CHOICES], amount) == 0


def begins_with(m: Whole, x: Real, piece: int, filling: int) -> float:
    """The pieces for which parts must be there before a new one comes in: itself, and who waits for parts inside."""
    op, amount = m[piece + r.OPERATION], x[piece + r.AMOUNT]
    if filling != 0 and m[op + r.O_POSITION] == m[m[m[filling + r.HEAD] + r.OPERATION] + r.O_POSITION]:
        amount += x[filling + r.AMOUNT]
    elif filling != 0:  # those before it have gone further, but for the last who still wait for their parts
        before = m[filling + r.TAIL]
        while before != 0 and m[before + r.OPERATION] == op and m[before + r.BEGINS] == 1:
            amount += x[before + r.AMOUNT]
            before = m[before + r.P_BEFORE]
    return amount


def _room_left(x: Real, place: int, op: int) -> float:
    return room_in(x, place, op) - x[place + r.AMOUNT]


def _join(m: Whole, x: Real, log: Whole, place: int, visit: int, piece: int) -> bool:
    """Join a load that is being filled; of an amount, as much as fits."""
    if m[piece + r.AIRS] != 0:
        air_out(m, x, piece)
    op = m[piece + r.OPERATION]
    left = _room_left(x, place, op)
    if not enough(left, x[piece + r.AMOUNT]):
        if m[op + r.O_COUNTED] == 1 or left <= 1e-9 * room_in(x, place, op):
            _close(m, place, visit)
            return False
        piece = _cut(m, x, piece, left)
        put_in_place(m, x, place, piece)
        settle_in(m, log, place, piece)
    else:
        _step_in(m, x, log, place, visit, piece)
    if _room_left(x, place, op) <= 1e-9 * room_in(x, place, op):
        _close(m, place, visit)
    return True


def _close(m: Whole, place: int, visit: int) -> None:
    m[place + r.OPEN] = 0
    m[visit + r.V_FILLING] = 0
    remind(m, place)


def _cut(m: Whole, x: Real, piece: int, amount: float) -> int:
    """Cut an amount off a piece that waits: a new piece."""
    part = twin(m, x, piece, amount)
    m[part + r.AIRS] = 0
    x[piece + r.AMOUNT] -= amount
    place, store = m[piece + r.IN_PLACE], m[piece + r.IN_STORE]
    if place != 0:
        x[place + r.AMOUNT] -= amount
    if store != 0:
        change_level(m, x, store, -amount)
    return part


def twin(m: Whole, x: Real, piece: int, amount: float) -> int:
    """A new piece like another one, in no place, store or queue."""
    new = new_row(m, x, r.PIECE)
    for k in range(r.ROUTE, r.WIDTH):
        m[new + k] = m[piece + k]
    m[r.SERIAL_COUNT] += 1
    m[new + r.SERIAL] = m[r.SERIAL_COUNT]
    m[new + r.BORN] = m[r.NOW]
    m[new + r.IN_PLACE] = 0
    m[new + r.IN_STORE] = 0
    if m[piece + r.RIDES] != 0:
        m[new + r.RIDES] = copied_rides(m, x, m[piece + r.RIDES])
    if m[piece + r.WINDOWS] != 0:
        copy_windows(m, x, piece, new)
    x[new + r.AMOUNT] = amount
    count_piece(m, x, m[new + r.ROUTE], 1)
    return new


def _step_in(m: Whole, x: Real, log: Whole, place: int, visit: int, piece: int) -> None:
    """Out of the queue, out of store or old place, into the new place."""
    leave_queue(m, visit, piece, r.V_AHEAD_FIRST if m[piece + r.REWORKED] == 1 else r.V_FIRST)
    m[visit + r.V_WAITING] -= 1
    store = m[piece + r.IN_STORE]
    if store != 0:
        m[piece + r.IN_STORE] = 0
        change_level(m, x, store, -x[piece + r.AMOUNT])
    if m[piece + r.IN_PLACE] != 0:
        take_from_place(m, x, piece)
    put_in_place(m, x, place, piece)
    settle_in(m, log, place, piece)


def settle_in(m: Whole, log: Whole, place: int, piece: int) -> None:
    """A piece has come into its place and wants to be worked on."""
    comes_up(m, piece)
    m[piece + r.REWORKED] = 0
    if m[r.TRACING] == 1:
        write(m, log, MOVES, m[piece + r.SERIAL], m[piece + r.OPERATION], place, 0, 0, 0)
    remind(m, place)


def _open_place(m: Whole, x: Real, log: Whole, station: int, piece: int) -> None:
    """Take an empty place: the first that is up, else the first; a vessel by its size."""
    if m[piece + r.AIRS] != 0:
        air_out(m, x, piece)
    op = m[piece + r.OPERATION]
    visit = m[op + r.O_VISIT]
    if m[station + r.S_SIZED] == 1:
        place = choose_vessel(m, x, station, piece)
    else:
        place = new_row(m, x, r.PLACE) if m[station + r.S_BENCH] == 1 else _empty_place(m, station)
    if m[station + r.S_BENCH] == 1:
        m[place + r.AT] = station
    else:
        m[station + r.S_EMPTY] -= 1
    m[place + r.VISIT] = visit
    m[place + r.WAIT_FROM] = m[r.NOW]
    x[place + r.AMOUNT] = 0.0
    room = room_in(x, place, op)
    if room > 0.0 and x[piece + r.AMOUNT] > room * (1.0 + 1e-9) and m[op + r.O_ANY] == 0:
        piece = _cut(m, x, piece, room)
        put_in_place(m, x, place, piece)
        settle_in(m, log, place, piece)
    else:
        _step_in(m, x, log, place, visit, piece)
    if m[visit + r.V_FILLING] == 0 and room > 0.0 and _room_left(x, place, op) > 1e-9 * room:
        m[place + r.OPEN] = 1
        m[visit + r.V_FILLING] = place


def _empty_place(m: Whole, station: int) -> int:
    place = m[station + r.S_PLACES]
    first = 0
    for _ in range(m[station + r.S_COUNT]):
        if m[place + r.VISIT] == 0:
            if m[place + r.DOWN] == 0:
                return place
            if first == 0:
                first = place
        place += r.WIDTH
    return first


def vacate(m: Whole, place: int) -> None:
    """The place is empty and clean: the next may come."""
    station = m[place + r.AT]
    visit = m[place + r.VISIT]
    if m[visit + r.V_FILLING] == place:
        m[visit + r.V_FILLING] = 0
    m[place + r.VISIT] = 0
    m[place + r.OPEN] = 0
    m[place + r.ASKED] = 0
    m[place + r.PHASE] = r.NOTHING
    m[place + r.STAGE] = 0
    if m[station + r.S_BENCH] == 1:
        drop_row(m, place)
        return
    m[station + r.S_EMPTY] += 1
    set_state(m, place, r.IS_DOWN if m[place + r.DOWN] > 0 else r.SHORT)
    remind(m, station)
