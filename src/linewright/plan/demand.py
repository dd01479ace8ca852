"""What is wanted: the rate of a demand checked against the unit of its item, and turned into units over time."""

from __future__ import annotations

from linewright.base.units import Quantity, UnitError
from linewright.plan.amounts import units_of
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
        units_per_second(known, rate)
    except UnitError as wrong:
        reading.error(path, wrong.what, rate.text, wrong.expected or f'such as "36 {known.unit}/day"', wrong.hint)
        return False
    return True
