"""What is wanted: the rate of a demand checked against the unit of its item, and turned into units over time."""

from __future__ import annotations

from linewright.base.units import Quantity, UnitError, a, read_unit
from linewright.plan.amounts import unit_of, units_of
from linewright.plan.model import Item
from linewright.plan.reading import Reading


def units_per_second(item: Item, rate: Quantity) -> float:
    """A rate in units of its item for each second of the clock (a day counts 86,400 s). Raises UnitError.

    >>> from linewright.base.units import read_quantity
    >>> round(86400 * units_per_second(Item("tub", "each"), read_quantity("36 each/day")), 9)
    36.0
    """
    above = rate.dimension.rpartition("/")[0]
    return units_of(item, Quantity(rate.value, above, rate.text, rate.noun))


def check_rate(item: str, rate: Quantity, path: str, reading: Reading) -> bool:
    """Whether a rate fits the unit of its item; a problem is noted where it does not."""
    known = reading.items.get(item)
    if known is None:
        return True
    try:
        each = units_per_second(known, rate)
    except UnitError as wrong:
        reading.error(path, wrong.what, rate.text, wrong.expected or f'such as "36 {known.unit}/day"', wrong.hint)
        return False
    if unit_of(known.unit).dimension == "count" and rate.dimension not in ("count/time", "number/time"):
        period = rate.text.rpartition("/")[2].strip()
        what = f'"{rate.text}" is {a(rate.dimension.rpartition("/")[0])} over time; {item} is counted in {known.unit}'
        hint = f'by the mass of one this is "{each * read_unit(period).factor:.6g} {known.unit}/{period}"'
        reading.error(path, what, rate.text, f'pieces over time, such as "36 {known.unit}/day"', hint)
        return False
    return True
