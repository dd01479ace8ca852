"""The end of a season: what can still come after the last delivery, and what therefore need not be waited for.

Every midnight it is asked anew. More of an item may come as long as a route that gives it has work under way or can
begin another lot of it. What cannot come any more is not waited for: the lot that waits for it becomes as much as there
is, a lot for which there is nothing is taken back, and loads that wait to be filled look again.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.flow_levels import flowing_units
from linewright.simulate.kernel.lists import leave_queue, remind, stop_waiting, take_from_place
from linewright.simulate.kernel.moves import end_piece
from linewright.simulate.kernel.release import remind_family
from linewright.simulate.kernel.short_lots import NO_END, make_smaller, on_hand_for, waiting_outside

END = 1 << 30
"""Beyond every position of a route."""
LAST = -1e9
"""The share of a route that can make no more: the others come before it."""


def look_for_the_end(m: Whole, x: Real, row: int) -> None:
    """Find what more can come, and go on with what there is where nothing can. ``row`` lists what each route gives."""
    for k in range(m[r.ITEMS + 1]):
        item = m[r.ITEMS] + k * r.ITEM_WIDTH
        m[item + r.I_COMES] = m[item + r.I_ENDLESS]
    more = True
    while more:
        more = False
        for k in range(m[r.ROUTES + 1]):
            route = m[r.ROUTES] + k * r.ROUTE_WIDTH
            if _goes_on(m, x, route) and _mark(m, m[m[row + r.N_ITEM] + 1 + k]):
                more = True
    for k in range(m[r.ROUTES + 1]):
        _settle(m, x, m[r.ROUTES] + k * r.ROUTE_WIDTH)
    for k in range(m[r.ITEMS + 1]):
        item = m[r.ITEMS] + k * r.ITEM_WIDTH
        if m[item + r.I_ROUTES] != 0 and m[item + r.I_MODE] >= r.BY_PUSH and _all_ended(m, x, item):
            x[item + r.I_DUE] = x[item + r.I_RATE]
            if m[item + r.I_FAMILY] != 0:
                remind_family(m, m[item + r.I_FAMILY])
        if m[item + r.I_CAMPAIGNS] != 0 and m[item + r.I_COMES] == 0:
            _rest_of_campaigns(m, x, item)
    for k in range(m[r.VISITS + 1]):
        visit = m[r.VISITS] + k * r.VISIT_WIDTH
        if m[visit + r.V_FILLING] != 0:
            remind(m, m[visit + r.V_FILLING])
        stations = m[visit + r.V_STATIONS]
        for j in range(m[stations]):
            remind(m, m[stations + 1 + j])


def _rest_of_campaigns(m: Whole, x: Real, item: int) -> None:
    """What is left of an item of which no more can come is enough for a last lot of a measured route."""
    rest = x[item + r.I_POOL]
    if rest <= 1e-7 * (1.0 + x[item + r.I_USED]):
        return
    rows = m[item + r.I_CAMPAIGNS]
    for k in range(m[rows]):
        row = m[rows + 1 + k]
        if m[row + r.Q_SHORT] == 0 and m[m[m[row + r.Q_ROUTE] + r.U_FIRST] + r.O_COUNTED] == 0:
            x[row + r.Q_NEED] = min(x[row + r.Q_NEED], rest)
    remind(m, item)


def _mark(m: Whole, gives: int) -> bool:
    """More of these may come; True where that is news."""
    news = False
    for k in range(m[gives]):
        if m[m[gives + 1 + k] + r.I_COMES] == 0:
            m[m[gives + 1 + k] + r.I_COMES] = 1
            news = True
    return news


def _goes_on(m: Whole, x: Real, route: int) -> bool:
    """Whether a route has work under way, or can begin a lot."""
    outside = waiting_outside(m, route)
    if m[route + r.U_OPEN] > outside:
        return True
    item = m[route + r.U_ITEM]
    small = _small(x, item)
    if m[r.FLOWS] != 0 and flowing_units(m, x, item, END) > small:
        return True
    if outside == 0 and x[item + r.I_DUE] - x[item + r.I_RATE] <= small:
        return False
    return _suffices(m, x, route) * x[m[route + r.U_FIRST] + r.O_TO_GO] > small


def _small(x: Real, item: int) -> float:
    """Units that count as nothing."""
    return 1e-7 * (1.0 + x[item + r.I_DUE])


def _suffices(m: Whole, x: Real, route: int) -> float:
    """Pieces of a route for which there is what they begin with; without end where more of it may come."""
    op = m[route + r.U_FIRST]
    campaign = m[route + r.U_CAMPAIGN]
    if campaign != 0 and m[campaign + r.Q_RUNS] == 0 and m[campaign + r.Q_WAITS] == 0:
        item = m[campaign + r.Q_ITEM]
        if m[item + r.I_COMES] == 0 and x[item + r.I_POOL] < x[campaign + r.Q_STARTS] * (1.0 - 1e-9):
            return 0.0  # it never begins
    return on_hand_for(m, x, op, 1)


def _settle(m: Whole, x: Real, route: int) -> None:
    """Lots of a route that wait for what cannot come: the first of them becomes what there is, the others go back."""
    op = m[route + r.U_FIRST]
    left = _suffices(m, x, route)
    if left >= NO_END or m[m[route + r.U_ITEM] + r.I_MODE] < r.BY_PUSH:
        return
    small = _small(x, m[route + r.U_ITEM])
    another = m[op + r.O_CHOICES] != 0 and left * x[op + r.O_TO_GO] > small  # there may be something of another feed
    visit = m[op + r.O_VISIT]
    stations = m[visit + r.V_STATIONS]
    for k in range(m[stations]):
        station = m[stations + 1 + k]
        place = m[station + r.S_PLACES]
        for _ in range(m[station + r.S_COUNT] if m[station + r.S_BENCH] == 0 else 0):
            if m[place + r.VISIT] == visit and _waits(m, place):
                piece = m[place + r.HEAD]
                while piece != 0:
                    after = m[piece + r.P_NEXT]
                    if m[piece + r.ROUTE] == route and m[piece + r.BEGINS] == 1:
                        left = _use(m, x, route, piece, left)
                    piece = after
            place += r.WIDTH
    piece = m[visit + r.V_FIRST]
    while piece != 0:
        after = m[piece + r.Q_NEXT]
        if m[piece + r.ROUTE] == route and m[piece + r.BEGINS] == 1:
            left = _use(m, x, route, piece, left)
        piece = after
    if left * x[op + r.O_TO_GO] <= small and not another:
        x[route + r.U_SHARE] = LAST


def _waits(m: Whole, place: int) -> bool:
    """Whether a place has not begun what it does next."""
    status = m[place + r.STATUS]
    return status == r.IDLE or (status == r.WAITING and m[place + r.BEGUN] < 2)


def _use(m: Whole, x: Real, route: int, piece: int, left: float) -> float:
    """What is left after a lot that waits, made smaller or taken back where there is not enough for all of it."""
    amount = x[piece + r.AMOUNT]
    if left >= amount * (1.0 - 1e-9):
        return max(left - amount, 0.0)
    op, item, place = m[piece + r.OPERATION], m[route + r.U_ITEM], m[piece + r.IN_PLACE]
    if place != 0 and m[place + r.STATUS] == r.WAITING:
        stop_waiting(m, place)
        m[place + r.STATUS] = r.IDLE
        remind(m, place)
    goes = left * x[op + r.O_TO_GO] <= _small(x, item)
    make_smaller(m, x, piece, 0.0 if goes else left)
    if not goes:
        return 0.0
    if place != 0:
        take_from_place(m, x, piece)
    else:
        visit = m[op + r.O_VISIT]
        leave_queue(m, visit, piece, r.V_FIRST)
        m[visit + r.V_WAITING] -= 1
    end_piece(m, x, piece)
    return left


def _all_ended(m: Whole, x: Real, item: int) -> bool:
    """Whether no route that makes an item can begin another lot."""
    routes, ended = m[item + r.I_ROUTES], True
    for k in range(m[routes]):
        if x[m[routes + 1 + k] + r.U_SHARE] != LAST:
            ended = False
    return ended
