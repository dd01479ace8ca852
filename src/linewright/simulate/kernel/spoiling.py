"""What goes off on hand: at the moment when the oldest units are too old they are scrap, by the name of their item."""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.ages import note_age
from linewright.simulate.kernel.carriers import end_rides
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.heap import schedule
from linewright.simulate.kernel.lists import remind
from linewright.simulate.kernel.parts import add_units, take_lot


def watch_age(m: Whole, h: Whole, item: int) -> None:
    """See that an event comes when the oldest units are too old."""
    oldest = m[item + r.I_OLDEST]
    if oldest != 0 and m[item + r.HEAP] == 0:
        schedule(m, h, item, m[oldest + r.A_BORN] + m[item + r.I_KEEPS], r.FINISHES)


def spoil(m: Whole, x: Real, item: int) -> None:
    """Throw away what is too old, if anything is by now."""
    old = 0.0
    age = m[item + r.I_OLDEST]
    while age != 0 and m[age + r.A_BORN] + m[item + r.I_KEEPS] <= m[r.NOW]:
        old += x[age + r.AMOUNT]
        age = m[age + r.A_NEXT]
    if old > 0.0:
        x[item + r.I_SPOILED] += old
        add_units(m, x, item, -old)
        if m[item + r.I_TRACED] == 1:
            take_lot(m, x, item, old)
            end_rides(m, m[r.RIDES_TAKEN])
            m[r.RIDES_TAKEN] = 0
    remind(m, item)


def note_first_ages(m: Whole, x: Real) -> None:
    """What is on hand at the beginning is fresh."""
    for k in range(m[r.ITEMS + 1]):
        item = m[r.ITEMS] + k * r.ITEM_WIDTH
        if m[item + r.I_KEEPS] != 0 and x[item + r.I_POOL] > 0.0:
            note_age(m, x, item, x[item + r.I_POOL])
