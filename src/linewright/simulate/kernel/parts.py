"""Items on hand: what a start needs, what it takes, what operations give, and the finite stores that keep them.

A list of parts is a row that says how many entries follow: ``m`` has the item, ``x`` the units a piece. A choice is a
row of options, with shares and what has been taken of each, so that the mix follows its quota.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.accounts import settle_item, settle_store, settle_tool
from linewright.simulate.kernel.ages import note_age
from linewright.simulate.kernel.carriers import copied_rides, gathered_rides
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.holding import draw_off
from linewright.simulate.kernel.lists import drop_row, new_row, remind

TINY = 1e-9


def enough(have: float, need: float) -> bool:
    """Whether an amount is there, up to one part in 1e9 of rounding."""
    return have >= need - TINY * (1.0 + need)


def add_units(m: Whole, x: Real, item: int, units: float) -> None:
    """Put units of an item on hand (below zero: take them) and remind those whom it concerns."""
    settle_item(m, x, item)
    x[item + r.I_POOL] += units
    if units < 0.0:
        x[item + r.I_USED] -= units
        if m[item + r.I_HELD] != 0:
            draw_off(m, x, item, -units)
    else:
        x[item + r.I_MADE_UNITS] += units
    if m[item + r.I_KEEPS] != 0:
        note_age(m, x, item, units)
    store = m[item + r.I_STORE]
    if store != 0:
        change_level(m, x, store, units)
    if m[item + r.I_MATES] != 0:
        count_orphans(m, x, m[item + r.I_MATES])
    remind(m, item)
    leaders = m[item + r.I_LEADERS]
    if units > 0.0 and leaders != 0:
        for k in range(m[leaders]):
            remind(m, m[leaders + 1 + k])
    openers = m[item + r.I_OPENERS]
    if units > 0.0 and openers != 0:
        for k in range(m[openers]):
            remind(m, m[openers + 1 + k])


def count_orphans(m: Whole, x: Real, mates: int) -> None:
    """Book the units of a set that lay without a mate since the last change, and count them anew."""
    x[mates + r.M_TIME] += x[mates + r.M_ORPHANS] * (m[r.NOW] - m[mates + r.M_SINCE])
    m[mates + r.M_SINCE] = m[r.NOW]
    sets, on_hand, needed = 0.0, 0.0, 0.0
    for k in range(m[mates]):
        have, need = x[m[mates + r.M_ITEMS + k] + r.I_POOL], x[mates + r.M_ITEMS + k]
        whole = float(int(have / need + TINY))
        if k == 0 or whole < sets:
            sets = whole
        on_hand += have
        needed += need
    x[mates + r.M_ORPHANS] = on_hand - sets * needed


def change_level(m: Whole, x: Real, store: int, amount: float) -> None:
    """Put an amount into a store (below zero: take it out, and remind those who wait for room)."""
    settle_store(m, x, store)
    level = x[store + r.W_LEVEL] + amount
    x[store + r.W_LEVEL] = level
    if level > x[store + r.W_MOST]:
        x[store + r.W_MOST] = level
    if amount < 0.0 and m[store + r.FIRST] != 0:
        remind(m, store)


def room_for(x: Real, store: int, amount: float) -> bool:
    """Whether a store has room for an amount."""
    return enough(x[store + r.W_ROOM] - x[store + r.W_LEVEL], amount)


def has_units(m: Whole, x: Real, item: int, need: float) -> bool:
    """Whether so many units of an item are on hand; what is bought always is."""
    return m[item + r.I_ENDLESS] == 1 or enough(x[item + r.I_POOL], need)


def lacking_part(m: Whole, x: Real, parts: int, pieces: float) -> int:
    """The first item of a list that is not there for so many pieces; 0 where all are."""
    if parts == 0 or pieces == 0.0:
        return 0
    for k in range(m[parts]):
        if not has_units(m, x, m[parts + 1 + k], x[parts + 1 + k] * pieces):
            return m[parts + 1 + k]
    return 0


def take_parts(m: Whole, x: Real, parts: int, pieces: float) -> None:
    """Take a list of parts for so many pieces."""
    if parts == 0 or pieces == 0.0:
        return
    for k in range(m[parts]):
        take_units(m, x, m[parts + 1 + k], x[parts + 1 + k] * pieces)


def take_units(m: Whole, x: Real, item: int, units: float) -> None:
    """Take units of an item: from those on hand, or bought."""
    if m[item + r.I_ENDLESS] == 1 and not enough(x[item + r.I_POOL], units):
        x[item + r.I_USED] += units
        x[item + r.I_MADE_UNITS] += units
    else:
        add_units(m, x, item, -units)


def option(m: Whole, x: Real, choice: int, pieces: float) -> int:
    """Which option of a choice is taken for so many pieces; -1: none.

    Of those on hand it is the one furthest behind its share. Equal ones go by order of preference, as they are listed.
    """
    n = m[choice]
    best, found = 0.0, -1
    for k in range(n):
        if not has_units(m, x, m[choice + 1 + k], x[choice + 1 + k] * pieces):
            continue
        behind = x[choice + 1 + n + k] * (x[choice] + pieces) - x[choice + 1 + 2 * n + k]
        if found < 0 or behind > best + TINY * (1.0 + x[choice]):
            best, found = behind, k
    return found


def lacking_choice(m: Whole, x: Real, choices: int, pieces: float) -> int:
    """The item at which to wait for a choice that has no option on hand: its first; 0 where every choice has one."""
    if choices == 0 or pieces == 0.0:
        return 0
    for k in range(m[choices]):
        choice = m[choices + 1 + k]
        if option(m, x, choice, pieces) < 0:
            return m[choice + 1]
    return 0


def take_choices(m: Whole, x: Real, choices: int, pieces: float) -> None:
    """Take one option of each choice for so many pieces."""
    if choices == 0 or pieces == 0.0:
        return
    for k in range(m[choices]):
        choice = m[choices + 1 + k]
        n = m[choice]
        chosen = option(m, x, choice, pieces)
        if chosen < 0:  # two choices may want the same item
            chosen = 0
        m[choice + 1 + n] = chosen
        x[choice] += pieces
        x[choice + 1 + 2 * n + chosen] += pieces
        take_units(m, x, m[choice + 1 + chosen], x[choice + 1 + chosen] * pieces)


def lacking_tool(m: Whole, tools: int) -> int:
    """The first tool of a list that is not free; 0 where all are."""
    if tools == 0:
        return 0
    for k in range(m[tools]):
        if m[m[tools + 1 + 2 * k] + r.G_FREE] < m[tools + 2 + 2 * k]:
            return m[tools + 1 + 2 * k]
    return 0


def move_tools(m: Whole, x: Real, tools: int, sign: int) -> None:
    """Take the tools of a list (-1) or put them back (+1)."""
    if tools == 0:
        return
    for k in range(m[tools]):
        tool = m[tools + 1 + 2 * k]
        settle_tool(m, x, tool)
        m[tool + r.G_FREE] += sign * m[tools + 2 + 2 * k]
        if sign > 0:
            remind(m, tool)


def add_lot(m: Whole, x: Real, item: int, faults: int, units: float, rides: int) -> None:
    """Units on hand that carry faults, or are on carriers, stand behind those that came before."""
    last = m[item + r.I_LAST_LOT]
    if last != 0 and m[last + r.T_FAULTS] == faults and rides == 0 and m[last + r.T_RIDES] == 0:
        x[last + r.AMOUNT] += units
        return
    lot = new_row(m, x, r.LOT)
    m[lot + r.T_FAULTS] = faults
    m[lot + r.T_RIDES] = rides
    x[lot + r.AMOUNT] = units
    if last == 0:
        m[item + r.I_FIRST_LOT] = lot
    else:
        m[last + r.T_NEXT] = lot
    m[item + r.I_LAST_LOT] = lot


def take_lot(m: Whole, x: Real, item: int, units: float) -> int:
    """Take units from the front; the faults that come with them. Their rides are added to RIDES_TAKEN."""
    faults = 0
    while units > TINY and m[item + r.I_FIRST_LOT] != 0:
        lot = m[item + r.I_FIRST_LOT]
        faults |= m[lot + r.T_FAULTS]
        rides = m[lot + r.T_RIDES]
        if x[lot + r.AMOUNT] > units + TINY:
            x[lot + r.AMOUNT] -= units
            if rides != 0:
                m[r.RIDES_TAKEN] = gathered_rides(m, copied_rides(m, x, rides), m[r.RIDES_TAKEN])
            break
        if rides != 0:
            m[r.RIDES_TAKEN] = gathered_rides(m, rides, m[r.RIDES_TAKEN])
        units -= x[lot + r.AMOUNT]
        m[item + r.I_FIRST_LOT] = m[lot + r.T_NEXT]
        if m[item + r.I_FIRST_LOT] == 0:
            m[item + r.I_LAST_LOT] = 0
        drop_row(m, lot)
    return faults


def faults_taken(m: Whole, x: Real, op: int, pieces: float) -> int:
    """The faults that come with the parts of a piece, choices as they have just been made."""
    faults = 0
    parts = m[op + r.O_TAKES]
    if parts != 0:
        for k in range(m[parts]):
            if m[m[parts + 1 + k] + r.I_TRACED] == 1:
                faults |= take_lot(m, x, m[parts + 1 + k], x[parts + 1 + k] * pieces)
    choices = m[op + r.O_CHOICES]
    if choices != 0:
        for k in range(m[choices]):
            choice = m[choices + 1 + k]
            chosen = m[choice + 1 + m[choice]]
            if m[m[choice + 1 + chosen] + r.I_TRACED] == 1:
                faults |= take_lot(m, x, m[choice + 1 + chosen], x[choice + 1 + chosen] * pieces)
    return faults
