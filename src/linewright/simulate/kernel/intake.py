"""What comes by the calendar: deliveries in season, what of them spoils, what may be made, the end of it all."""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.flow_levels import book
from linewright.simulate.kernel.heap import schedule
from linewright.simulate.kernel.lists import remind
from linewright.simulate.kernel.parts import add_units
from linewright.simulate.kernel.season_ends import look_for_the_end


def schedule_delivery(m: Whole, h: Whole, row: int) -> None:
    """The event of the next delivery, if there is one."""
    done = m[row + r.N_DONE]
    if done < m[row + r.N_COUNT]:
        schedule(m, h, row, m[row + r.INTAKE_WIDTH + done], r.RELEASES)


def delivered(m: Whole, x: Real, h: Whole, row: int) -> None:
    """A delivery comes."""
    if m[r.FLOWS] != 0:
        book(m, x)  # what has been used by now tells what is too old
    item = m[row + r.N_ITEM]
    amount = x[row + r.INTAKE_WIDTH + m[row + r.N_DONE]]
    m[row + r.N_DONE] += 1
    if m[row + r.N_ALLOWS] == 1:
        x[item + r.I_DUE] += amount
        remind(m, item)
    elif m[row + r.N_ALLOWS] == 2:
        _spoil(m, x, item, amount)
    elif m[row + r.N_ALLOWS] == 3:
        look_for_the_end(m, x, row)
    else:
        add_units(m, x, item, amount)
    schedule_delivery(m, h, row)


def _spoil(m: Whole, x: Real, item: int, had_come: float) -> None:
    """What came longest ago is used first; of all that had come by then, what is not used by now is too old."""
    old = min(had_come - x[item + r.I_USED], x[item + r.I_POOL])
    if old > 1e-9 * (1.0 + had_come):
        x[item + r.I_SPOILED] += old
        add_units(m, x, item, -old)
