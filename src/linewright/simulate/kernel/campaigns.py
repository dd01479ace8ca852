"""Campaigns: a route lets nothing begin until enough is on hand, and then runs until it is used up."""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.heap import cancel, schedule
from linewright.simulate.kernel.lists import remind
from linewright.simulate.kernel.short_lots import begin_short_lot, look_at_short_lot, waiting_outside


def look_at_campaigns(m: Whole, x: Real, h: Whole, item: int) -> None:
    """Units of an item have come or gone: campaigns begin and end."""
    rows = m[item + r.I_CAMPAIGNS]
    for k in range(m[rows]):
        row = m[rows + 1 + k]
        if m[row + r.Q_SHORT] == 1:
            look_at_short_lot(m, x, h, row)
            continue
        on_hand = x[item + r.I_POOL]
        some = on_hand >= x[row + r.Q_NEED] * (1.0 - 1e-9) and _is_wanted(m, x, row)
        if m[row + r.Q_RUNS] == 1:
            if not some:
                m[row + r.Q_RUNS] = 0
                _let_the_next_begin(m, x, h, row)
        elif some and on_hand >= x[row + r.Q_STARTS] * (1.0 - 1e-9):
            begin_campaign(m, x, h, row)
        elif some and m[row + r.Q_WAITS] > 0 and m[row + r.HEAP] == 0:
            schedule(m, h, row, m[r.NOW] + m[row + r.Q_WAITS], r.RELEASES)


def begin_campaign(m: Whole, x: Real, h: Whole, row: int) -> None:
    """The campaign begins, if there is anything on hand: those who wait outside look again."""
    if m[row + r.Q_SHORT] == 1:
        begin_short_lot(m, x, row)
        return
    item = m[row + r.Q_ITEM]
    if m[row + r.Q_RUNS] == 1 or x[item + r.I_POOL] < x[row + r.Q_NEED] * (1.0 - 1e-9) or not _is_wanted(m, x, row):
        return
    cancel(m, h, row)
    if m[row + r.Q_DUE] == 0:
        m[row + r.Q_DUE] = m[r.NOW] + 1
    if (
        m[row + r.Q_RIVALS] != 0 and _others_run(m, row) >= m[row + r.Q_PLACES]
    ):  # the line is taken: it begins when a campaign there ends
        return
    m[row + r.Q_DUE] = 0
    m[row + r.Q_RUNS] = 1
    m[row + r.Q_COUNT] += 1
    first = m[m[row + r.Q_ROUTE] + r.U_FIRST]
    stations = m[m[first + r.O_VISIT] + r.V_STATIONS]
    for k in range(m[stations]):
        remind(m, m[stations + 1 + k])


def _is_wanted(m: Whole, x: Real, row: int) -> bool:
    """Whether a route of the campaign has more to make. Over a season it may have made all that is wanted of it.

    One that went on then, while its item is on hand, would keep its rivals from the line for good.
    """
    for k in range(m[r.ROUTES + 1]):
        route = m[r.ROUTES] + k * r.ROUTE_WIDTH
        if m[route + r.U_CAMPAIGN] == row:
            item = m[route + r.U_ITEM]
            left = x[item + r.I_DUE] - x[item + r.I_RATE]
            if (
                m[item + r.I_MODE] < r.BY_PUSH
                or left > 1e-7 * (1.0 + x[item + r.I_DUE])
                or waiting_outside(m, route) > 0
            ):
                return True
    return False


def _others_run(m: Whole, row: int) -> int:
    """How many campaigns run at the station at which this one begins."""
    rivals, running = m[row + r.Q_RIVALS], 0
    for k in range(m[rivals]):
        running += m[m[rivals + 1 + k] + r.Q_RUNS]
    return running


def _let_the_next_begin(m: Whole, x: Real, h: Whole, row: int) -> None:
    """A campaign has ended: of those that are due at its station the one that has waited longest begins."""
    rivals = m[row + r.Q_RIVALS]
    while rivals != 0:
        found = 0
        for k in range(m[rivals]):
            other = m[rivals + 1 + k]
            if m[other + r.Q_DUE] != 0 and (found == 0 or m[other + r.Q_DUE] < m[found + r.Q_DUE]):
                found = other
        if found == 0:
            return
        begin_campaign(m, x, h, found)
        if m[found + r.Q_RUNS] == 1:
            return
        m[found + r.Q_DUE] = 0  # what it waited for has gone
