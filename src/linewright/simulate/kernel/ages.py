"""How old the units on hand are of an item that goes off: what came first is used first, and what is too old is scrap.

Ages are kept beside the lots that remember faults and carriers, in the same order.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.lists import drop_row, new_row


def note_age(m: Whole, x: Real, item: int, units: float) -> None:
    """Units have come on hand now, or (below zero) have been taken, the oldest first."""
    if units > 0.0:
        fresh = min(units, x[item + r.I_POOL])
        if fresh > 0.0:
            _add(m, x, item, fresh)
        return
    left = -units
    while left > 0.0 and m[item + r.I_OLDEST] != 0:
        age = m[item + r.I_OLDEST]
        if x[age + r.AMOUNT] > left * (1.0 + 1e-12):
            x[age + r.AMOUNT] -= left
            return
        left -= x[age + r.AMOUNT]
        m[item + r.I_OLDEST] = m[age + r.A_NEXT]
        if m[item + r.I_OLDEST] == 0:
            m[item + r.I_NEWEST] = 0
        drop_row(m, age)


def _add(m: Whole, x: Real, item: int, units: float) -> None:
    newest = m[item + r.I_NEWEST]
    if newest != 0 and m[newest + r.A_BORN] == m[r.NOW]:
        x[newest + r.AMOUNT] += units
        return
    age = new_row(m, x, r.AGE)
    m[age + r.A_BORN] = m[r.NOW]
    x[age + r.AMOUNT] = units
    if newest == 0:
        m[item + r.I_OLDEST] = age
    else:
        m[newest + r.A_NEXT] = age
    m[item + r.I_NEWEST] = age
