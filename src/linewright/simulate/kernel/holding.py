"""A place that is a store too: it holds what it made until the users of the item have drawn it off, oldest first."""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.lists import drop_row, new_row, remind


def hold(m: Whole, x: Real, item: int, place: int, units: float) -> None:
    """What a place has just made stays in it."""
    lot = m[place + r.HOLDS]
    if lot != 0:
        x[lot + r.AMOUNT] += units
        return
    lot = new_row(m, x, r.HELD_LOT)
    m[lot + r.X_PLACE] = place
    x[lot + r.AMOUNT] = units
    m[place + r.HOLDS] = lot
    last = m[item + r.I_LAST_HELD]
    if last == 0:
        m[item + r.I_HELD] = lot
    else:
        m[last + r.X_NEXT] = lot
    m[item + r.I_LAST_HELD] = lot


def draw_off(m: Whole, x: Real, item: int, units: float) -> None:
    """Units of an item are taken: out of the places that hold it; one that is empty may be cleaned and filled again."""
    left = units
    while left > 0.0 and m[item + r.I_HELD] != 0:
        lot = m[item + r.I_HELD]
        if x[lot + r.AMOUNT] > left * (1.0 + 1e-9):
            x[lot + r.AMOUNT] -= left
            return
        left -= x[lot + r.AMOUNT]
        place = m[lot + r.X_PLACE]
        m[place + r.HOLDS] = 0
        m[item + r.I_HELD] = m[lot + r.X_NEXT]
        if m[item + r.I_HELD] == 0:
            m[item + r.I_LAST_HELD] = 0
        drop_row(m, lot)
        remind(m, place)
