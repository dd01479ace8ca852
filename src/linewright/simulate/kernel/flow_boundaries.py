"""Where flows meet pieces and loads: a load is put together from what has flowed, a flow draws from what a load gave.

Who is not a flow waits at an item or a store for a level; a watch tells when flows will have brought the level there.
"""

from __future__ import annotations

from linewright.simulate.kernel import flow_rows as f
from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.accounts import count_piece, write
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.flow_levels import flowing_units, wanted
from linewright.simulate.kernel.lists import leave_queue, new_row, remind
from linewright.simulate.kernel.moves import ENTERS, ask_for_visit, begins_with, end_piece
from linewright.simulate.kernel.parts import enough
from linewright.simulate.kernel.promised import level_for

NEVER = 1 << 30
NOTHING = -1.0
"""A watch that waits for no level."""


def pour(m: Whole, x: Real, log: Whole, buffer: int) -> bool:
    """Let one load come out of a buffer, or one into it; True where another may follow."""
    if m[buffer + f.U_LOADS] == 1 and enough(x[buffer + f.U_LEVEL], x[buffer + f.U_LOT]):
        _put_together(m, x, log, buffer, x[buffer + f.U_LOT])
        return True
    if m[buffer + f.U_LOADS] == 1 and x[buffer + f.U_LEVEL] > 0.0 and _is_the_last(m, x, buffer):
        _put_together(m, x, log, buffer, x[buffer + f.U_LEVEL])
        return True
    visit = m[buffer + f.U_QUEUE]
    if visit == 0:
        return False
    first = r.V_AHEAD_FIRST if m[visit + r.V_AHEAD_FIRST] != 0 else r.V_FIRST
    piece = m[visit + first]
    if piece == 0:
        return False
    leave_queue(m, visit, piece, first)
    m[visit + r.V_WAITING] -= 1
    x[buffer + f.U_LEVEL] += x[piece + r.AMOUNT]
    end_piece(m, x, piece)
    return True


def _is_the_last(m: Whole, x: Real, buffer: int) -> bool:
    """Whether nothing more of a season can come into a buffer, and what is in it is more than rounding."""
    op = m[buffer + f.U_OP]
    route = m[op + r.O_ROUTE]
    item = m[route + r.U_ITEM]
    small = 1e-7 * (1.0 + x[item + r.I_DUE])
    if m[item + r.I_MODE] < r.BY_PUSH or x[item + r.I_DUE] - x[item + r.I_RATE] > small:
        return False
    if x[buffer + f.U_LEVEL] * x[op + r.O_TO_GO] <= small:
        return False
    if flowing_units(m, x, item, m[op + r.O_POSITION]) > small:
        return False
    # where loads come before the flows, it is the last when nothing else of the item is on its way
    return m[item + r.I_MADE] == 2 or x[item + r.I_OPEN] - x[buffer + f.U_LEVEL] * x[op + r.O_TO_GO] <= small


def _put_together(m: Whole, x: Real, log: Whole, buffer: int, amount: float) -> None:
    """A load of what has flowed: from now on a piece, in the same store."""
    op = m[buffer + f.U_OP]
    route = m[op + r.O_ROUTE]
    piece = new_row(m, x, r.PIECE)
    m[r.SERIAL_COUNT] += 1
    m[piece + r.SERIAL] = m[r.SERIAL_COUNT]
    m[piece + r.ROUTE] = route
    m[piece + r.OPERATION] = op
    m[piece + r.BORN] = m[r.NOW]
    m[piece + r.ENTERED] = m[buffer + f.U_SINCE]
    m[piece + r.REACH] = -1
    m[piece + r.LOW] = NEVER
    m[piece + r.HIGH] = -1
    mode = m[m[route + r.U_ITEM] + r.I_MODE]
    m[piece + r.ORDERED] = 0 if mode == r.BY_STOCK or mode == r.BY_PUSH_PART else 1
    m[piece + r.IN_STORE] = m[buffer + f.U_STORE]
    x[piece + r.AMOUNT] = amount
    x[buffer + f.U_LEVEL] -= amount
    m[buffer + f.U_SINCE] = m[r.NOW]
    count_piece(m, x, route, 1)
    if m[r.TRACING] == 1:
        write(m, log, ENTERS, m[piece + r.SERIAL], op, 0, 0, 0, 0)
    ask_for_visit(m, piece)


def level_of(m: Whole, x: Real, watch: int) -> float:
    """What a watch looks at: units on hand of an item, room in a store."""
    of = m[watch + f.W_OF]
    if m[of + r.KIND] == r.STORE:
        return x[of + r.W_ROOM] - x[of + r.W_LEVEL]
    return x[of + r.I_POOL]


def look(m: Whole, x: Real, watch: int) -> None:
    """Remind those who wait, where the level has come; let makers look whose item flows have drawn."""
    of = m[watch + f.W_OF]
    if x[watch + f.W_NEEDS] >= 0.0 and enough(level_of(m, x, watch), x[watch + f.W_NEEDS]):
        x[watch + f.W_NEEDS] = NOTHING
        remind(m, of)
        if m[of + r.KIND] == r.ITEM:
            _remind_list(m, m[of + r.I_LEADERS])
            _remind_list(m, m[of + r.I_OPENERS])


def _remind_list(m: Whole, rows: int) -> None:
    if rows != 0:
        for k in range(m[rows]):
            remind(m, m[rows + 1 + k])


def watch_anew(m: Whole, x: Real, watch: int) -> float:
    """Set the level that is waited for next; ns until it comes at the present rate, below zero for never."""
    of = m[watch + f.W_OF]
    have, rate = level_of(m, x, watch), x[watch + f.W_RATE]
    x[watch + f.W_NEEDS] = NOTHING
    wait = NOTHING
    if rate > 0.0:
        need = _room_needed(m, x, of) if m[of + r.KIND] == r.STORE else _units_needed(m, x, of, have)
        if need > 0.0 and not enough(have, need):
            x[watch + f.W_NEEDS] = need
            wait = (need - have) / rate
    if x[watch + f.W_WANTED] > 0.0:
        until = _until_wanted(m, x, of, x[watch + f.W_WANTED])
        if until >= 0.0:
            wait = until if wait < 0.0 else min(wait, until)
    return wait


def _until_wanted(m: Whole, x: Real, item: int, rate: float) -> float:
    """ns until another piece of an item is wanted, below 0 for never; ``release`` looks when the item is reminded."""
    if m[item + r.I_MODE] >= r.BY_PUSH and x[item + r.I_DUE] - x[item + r.I_RATE] <= 1e-9 * (1.0 + x[item + r.I_DUE]):
        return NOTHING
    missing = 2e-9 * (1.0 + x[item + r.I_DUE]) - wanted(m, x, item)
    if missing <= 0.0:
        remind(m, item)
        return 0.0
    return missing / rate


def _room_needed(m: Whole, x: Real, store: int) -> float:
    """The room that the first who waits for a store needs."""
    piece = m[store + r.FIRST]
    if piece == 0:
        return NOTHING
    op, amount = m[piece + r.OPERATION], x[piece + r.AMOUNT]
    if m[piece + r.WHERE] == r.EXITS:
        return amount * x[op + r.O_OUT]
    if m[piece + r.WHERE] != r.GIVES:
        return amount
    gives, need = m[op + r.O_GIVES], 0.0
    for k in range(m[gives]):
        if m[m[gives + 1 + k] + r.I_STORE] == store:
            need = max(need, x[gives + 1 + k] * amount)
    return need


def _units_needed(m: Whole, x: Real, item: int, have: float) -> float:
    """The least that somebody waits for of an item, above what is on hand."""
    need = _needed_by_waiters(m, x, item, item, have, 1e300)
    leaders = m[item + r.I_LEADERS]
    if leaders != 0:
        for k in range(m[leaders]):
            need = _needed_by_waiters(m, x, m[leaders + 1 + k], item, have, need)
    openers = m[item + r.I_OPENERS]
    if openers != 0:
        for k in range(m[openers]):
            need = _needed_outside(m, x, m[openers + 1 + k], item, have, need)
    if m[item + r.I_CAMPAIGNS] != 0:
        need = _needed_by_campaigns(m, x, m[item + r.I_CAMPAIGNS], have, need)
    return need if need < 1e300 else NOTHING


def _needed_by_campaigns(m: Whole, x: Real, campaigns: int, have: float, need: float) -> float:
    """What campaigns wait for: enough to begin, and the first lot from which they wait no longer than is written."""
    for k in range(m[campaigns]):
        campaign = m[campaigns + 1 + k]
        if m[campaign + r.Q_RUNS] == 1:
            continue
        if m[campaign + r.Q_WAITS] > 0 and not enough(have, x[campaign + r.Q_NEED]):
            need = min(need, x[campaign + r.Q_NEED])
        elif not enough(have, x[campaign + r.Q_STARTS]):
            need = min(need, x[campaign + r.Q_STARTS])
    return need


def _needed_by_waiters(m: Whole, x: Real, owner: int, item: int, have: float, need: float) -> float:
    work = m[owner + r.FIRST]
    while work != 0:
        if m[work + r.KIND] == r.PLACE:
            op, phase, fresh = m[work + r.STAGE], m[work + r.PHASE], x[work + r.FRESH]
            if phase == r.HANDS:
                need = _least(m, x, m[op + r.O_TAKES], item, fresh, have, need)
                need = _least(m, x, m[op + r.O_TAKES_LOAD], item, 1.0, have, need)
                need = _least_of_choices(m, x, m[op + r.O_CHOICES], item, fresh, have, need)
            elif phase == r.SETTING:
                need = _least(m, x, m[op + r.O_SETUP_TAKES], item, 1.0, have, need)
            elif phase == r.CLEANING:
                need = _least(m, x, m[op + r.O_CLEAN_TAKES], item, 1.0, have, need)
        work = m[work + r.NEXT]
    return need


def _needed_outside(m: Whole, x: Real, station: int, item: int, have: float, need: float) -> float:
    """What new pieces that wait outside begin with, together with a load that is being filled."""
    visits = m[station + r.S_VISITS]
    for k in range(m[visits]):
        visit = m[visits + 1 + k]
        piece = m[visit + r.V_FIRST]
        if piece == 0 or m[piece + r.BEGINS] == 0:
            continue
        op, amount = m[piece + r.OPERATION], begins_with(m, x, piece, m[visit + r.V_FILLING])
        if m[m[m[piece + r.ROUTE] + r.U_ITEM] + r.I_MODE] >= r.BY_PUSH:
            level, amount = level_for(m, x, piece, item), x[piece + r.AMOUNT]
            if level > 0.0 and not enough(have, level):
                need = min(need, level)
            need = _least_of_choices(m, x, m[op + r.O_CHOICES], item, amount, have, need)
            continue
        need = _least(m, x, m[op + r.O_TAKES], item, amount, have, need)
        need = _least_of_choices(m, x, m[op + r.O_CHOICES], item, amount, have, need)
        if m[visit + r.V_FILLING] != 0:  # or it begins a place of its own
            need = _least(m, x, m[op + r.O_TAKES], item, x[piece + r.AMOUNT], have, need)
            need = _least_of_choices(m, x, m[op + r.O_CHOICES], item, x[piece + r.AMOUNT], have, need)
    return need


def _least(m: Whole, x: Real, parts: int, item: int, pieces: float, have: float, need: float) -> float:
    """The lesser of ``need`` and what a list of parts asks of an item, where that is not on hand."""
    if parts == 0:
        return need
    for k in range(m[parts]):
        if m[parts + 1 + k] == item and not enough(have, x[parts + 1 + k] * pieces):
            need = min(need, x[parts + 1 + k] * pieces)
    return need


def _least_of_choices(m: Whole, x: Real, choices: int, item: int, pieces: float, have: float, need: float) -> float:
    if choices == 0:
        return need
    for c in range(m[choices]):
        choice = m[choices + 1 + c]
        for k in range(m[choice]):
            if m[choice + 1 + k] == item and not enough(have, x[choice + 1 + k] * pieces):
                need = min(need, x[choice + 1 + k] * pieces)
    return need
