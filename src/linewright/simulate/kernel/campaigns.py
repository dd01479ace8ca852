"""Campaigns: a route lets nothing begin until enough is on hand, and then runs until it is used up."""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.heap import cancel, schedule
from linewright.simulate.kernel.lists import remind


def look_at_campaigns(m: Whole, x: Real, h: Whole, item: int) -> None:
    """Units of an item have come or gone: campaigns begin and end."""
    rows = m[item + r.I_CAMPAIGNS]
    for k in range(m[rows]):
        row = m[rows + 1 + k]
        on_hand = x[item + r.I_POOL]
        some = on_hand >= x[row + r.Q_NEED] * (1.0 - 1e-9)
        if m[row + r.Q_RUNS] == 1:
            if not some:
                m[row + r.Q_RUNS] = 0
        elif on_hand >= x[row + r.Q_STARTS] * (1.0 - 1e-9):
            begin_campaign(m, x, h, row)
        elif some and m[row + r.Q_WAITS] > 0 and m[row + r.HEAP] == 0:
            schedule(m, h, row, m[r.NOW] + m[row + r.Q_WAITS], r.RELEASES)


def begin_campaign(m: Whole, x: Real, h: Whole, row: int) -> None:
    """The campaign begins, if there is anything on hand: those who wait outside look again."""
    item = m[row + r.Q_ITEM]
    if m[row + r.Q_RUNS] == 1 or x[item + r.I_POOL] < x[row + r.Q_NEED] * (1.0 - 1e-9):
        return
    cancel(m, h, row)
    m[row + r.Q_RUNS] = 1
    m[row + r.Q_COUNT] += 1
    first = m[m[row + r.Q_ROUTE] + r.U_FIRST]
    stations = m[m[first + r.O_VISIT] + r.V_STATIONS]
    for k in range(m[stations]):
        remind(m, m[stations + 1 + k])
