"""Quantities with units, read from text such as ``"4 min"``, ``"2.4 t/h"`` or ``"96 EUR/each"``.

The list of accepted units is closed and documented (docs/units.md): a bare library parse would read ``pin`` as a
length and ``bar`` as a pressure. Conversion factors come from pint, one look-up for each distinct unit text, after
which reading a quantity is a dictionary look-up. Count nouns (each, pair, sheet) and currencies are words of the
plan and stand for themselves.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

# Accepted simple units: our spelling -> (pint spelling, dimension). Base units of each dimension are in BASE.
UNITS: Mapping[str, tuple[str, str]] = {
    "ns": ("nanosecond", "time"),
    "ms": ("millisecond", "time"),
    "s": ("second", "time"),
    "sec": ("second", "time"),
    "min": ("minute", "time"),
    "h": ("hour", "time"),
    "hour": ("hour", "time"),
    "hours": ("hour", "time"),
    "day": ("day", "time"),
    "days": ("day", "time"),
    "d": ("day", "time"),
    "week": ("week", "time"),
    "weeks": ("week", "time"),
    "month": ("year/12", "time"),
    "year": ("year", "time"),
    "mg": ("milligram", "mass"),
    "g": ("gram", "mass"),
    "kg": ("kilogram", "mass"),
    "t": ("metric_ton", "mass"),
    "lb": ("pound", "mass"),
    "g dry": ("gram", "dry mass"),
    "kg dry": ("kilogram", "dry mass"),
    "t dry": ("metric_ton", "dry mass"),
    "oz": ("ounce", "mass"),
    "mL": ("milliliter", "volume"),
    "ml": ("milliliter", "volume"),
    "cL": ("centiliter", "volume"),
    "L": ("liter", "volume"),
    "l": ("liter", "volume"),
    "hL": ("hectoliter", "volume"),
    "hl": ("hectoliter", "volume"),
    "m3": ("meter**3", "volume"),
    "ft3": ("foot**3", "volume"),
    "gal": ("gallon", "volume"),
    "bdft": ("foot**3/12", "volume"),
    "um": ("micrometer", "length"),
    "mm": ("millimeter", "length"),
    "cm": ("centimeter", "length"),
    "m": ("meter", "length"),
    "km": ("kilometer", "length"),
    "in": ("inch", "length"),
    "ft": ("foot", "length"),
    "mm2": ("millimeter**2", "area"),
    "cm2": ("centimeter**2", "area"),
    "m2": ("meter**2", "area"),
    "ft2": ("foot**2", "area"),
    "degC": ("degree_Celsius", "temperature"),
    "degF": ("degree_Fahrenheit", "temperature"),
    "K": ("kelvin", "temperature"),
    "W": ("watt", "power"),
    "kW": ("kilowatt", "power"),
    "MW": ("megawatt", "power"),
    "J": ("joule", "energy"),
    "kJ": ("kilojoule", "energy"),
    "MJ": ("megajoule", "energy"),
    "GJ": ("gigajoule", "energy"),
    "Wh": ("watt_hour", "energy"),
    "kWh": ("kilowatt_hour", "energy"),
    "MWh": ("megawatt_hour", "energy"),
    "N": ("newton", "force"),
    "kN": ("kilonewton", "force"),
    "MN": ("meganewton", "force"),
    "Pa": ("pascal", "pressure"),
    "kPa": ("kilopascal", "pressure"),
    "MPa": ("megapascal", "pressure"),
    "bar": ("bar", "pressure"),
    "mbar": ("millibar", "pressure"),
    "%": ("percent", "share"),
    "ppm": ("ppm", "share"),
    "brix": ("percent", "sugar"),
    "%vol": ("percent", "alcohol"),
    "% vol": ("percent", "alcohol"),
}
"""The closed list of simple units. ``t dry`` is dry matter: the mass of an item without its water."""

BASE: Mapping[str, str] = {
    "time": "s",
    "mass": "kg",
    "dry mass": "kg dry",
    "volume": "L",
    "length": "m",
    "area": "m2",
    "temperature": "degC",
    "power": "kW",
    "energy": "kWh",
    "force": "kN",
    "pressure": "kPa",
    "share": "",
    "sugar": "brix",
    "alcohol": "%vol",
    "count": "",
    "money": "",
    "number": "",
}
"""The unit in which a quantity of each dimension is held; a share is held as a fraction of one."""

# fmt: off
COUNT_NOUNS: frozenset[str] = frozenset({
    "each", "pair", "piece", "pieces", "pcs", "sheet", "side", "board", "panel", "mat", "stack", "roll", "bag", "box",
    "kit", "bottle", "pallet", "tub", "reel", "set", "case", "crate", "tank", "load", "lot", "sack", "pot", "batch",
    "plate", "tray",
})
# fmt: on
"""Count nouns understood without declaration; an item's ``unit`` may declare any other word."""

_NUMBER = re.compile(r"([+-]?(?:\d[\d_]*\.?\d*|\.\d+)(?:[eE][+-]?\d+)?|[+-]?nan|[+-]?inf)\s*(.*)")
LONGEST = 80
"""Characters of a quantity; longer texts are none."""


class UnitError(ValueError):
    """A text that is no quantity, or has the wrong dimension. ``expected`` and ``hint`` go into the problem."""

    def __init__(self, what: str, expected: str | None = None, hint: str | None = None) -> None:
        super().__init__(what)
        self.what, self.expected, self.hint = what, expected, hint


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number in the base unit of its dimension, with the text it was read from.

    ``dimension`` is a word of BASE, or two joined by a slash (``mass/time``, ``money/count``). ``noun`` is the count
    noun or currency where the dimension has one, else empty. Equality ignores the text: 60 s equals 1 min.
    """

    value: float
    dimension: str
    text: str
    noun: str = ""

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Quantity):
            return NotImplemented
        return (self.value, self.dimension, self.noun) == (other.value, other.dimension, other.noun)

    def __hash__(self) -> int:
        return hash((self.value, self.dimension, self.noun))

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True, slots=True)
class Unit:
    """What one unit text means: ``base = value * factor + offset``."""

    factor: float
    offset: float
    dimension: str
    noun: str = ""


@lru_cache(maxsize=1)
def _registry() -> Any:
    """The pint registry; made once, and only when a unit is first read (importing pint costs 0.2 s)."""
    import pint

    try:
        return pint.UnitRegistry(cache_folder=":auto:", autoconvert_offset_to_baseunit=True)
    except OSError:  # no folder to keep the parsed definitions in: read them anew each time, 0.3 s slower
        return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@lru_cache(maxsize=512)
def _simple(text: str) -> Unit | None:
    known = UNITS.get(text)
    if known is None:
        return None
    spelling, dimension = known
    if dimension == "temperature":
        return _temperature(text)
    if dimension in ("sugar", "alcohol"):
        return Unit(1.0, 0.0, dimension)
    if dimension == "share":
        return Unit(0.01 if text == "%" else 1e-6, 0.0, dimension)
    base = UNITS[BASE[dimension]][0]
    registry = _registry()
    factor = float((1.0 * registry.parse_expression(spelling)).to(base).magnitude)
    return Unit(float(f"{factor:.15g}"), 0.0, dimension)  # 15 digits: 60 and not 59.99999999999999


def _temperature(text: str) -> Unit:
    """Temperatures are points on an offset scale, held in degC."""
    registry = _registry()
    zero = float(registry.Quantity(0.0, UNITS[text][0]).to("degree_Celsius").magnitude)
    hundred = float(registry.Quantity(100.0, UNITS[text][0]).to("degree_Celsius").magnitude)
    return Unit(float(f"{(hundred - zero) / 100.0:.15g}"), float(f"{zero:.15g}"), "temperature")


@lru_cache(maxsize=4096)
def read_unit(text: str, nouns: frozenset[str] = frozenset(), money: str = "") -> Unit:
    """What a unit text means; nouns of the plan are matched before the closed list.

    Raises UnitError for a text outside the closed list.

    >>> read_unit("t/h").dimension, round(read_unit("t/h").factor, 6)
    ('mass/time', 0.277778)
    """
    text = text.strip()
    if text == "":
        return Unit(1.0, 0.0, "number")
    if text.count("/") > 1:
        raise UnitError(f'"{text}" divides more than once', hint="write one unit over another, as t/h")
    if "/" in text:
        top, _, bottom = text.partition("/")
        above, below = read_unit(top, nouns, money), read_unit(bottom, nouns, money)
        if "temperature" in (above.dimension, below.dimension):
            raise UnitError(f'"{text}" divides a temperature', hint="write a temperature alone, as 17 degC")
        return Unit(above.factor / below.factor, 0.0, f"{above.dimension}/{below.dimension}", above.noun or below.noun)
    if text in nouns:
        return Unit(1.0, 0.0, "count", text)
    if money and text == money:
        return Unit(1.0, 0.0, "money", text)
    simple = _simple(text)
    if simple is not None:
        return simple
    if text in COUNT_NOUNS:
        return Unit(1.0, 0.0, "count", text)
    from linewright.base.problems import did_you_mean

    hint = did_you_mean(text, [*UNITS, *nouns, *COUNT_NOUNS, *([money] if money else [])])
    raise UnitError(f'"{text}" is not a unit known here', hint=hint)


def read_quantity(
    text: object,
    dimensions: Collection[str] = (),
    *,
    nouns: frozenset[str] = frozenset(),
    money: str = "",
    said: str = "",
) -> Quantity:
    """A quantity from text, converted to base units.

    ``dimensions`` are those accepted (empty: any), ``said`` a name for them together where they are many. ``nouns`` are
    the count nouns of the plan, ``money`` its currency.
    Raises UnitError naming both dimensions where they differ, and for a bare number where a unit is needed.

    >>> read_quantity("4 min", ["time"]).value
    240.0
    >>> read_quantity("17 degC").value
    17.0
    >>> read_quantity("0.5 hL", ["time"])
    Traceback (most recent call last):
    ...
    linewright.base.units.UnitError: "0.5 hL" is a volume, where a time is wanted
    """
    wanted = said or " or ".join(sorted(dimensions))
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise UnitError(f"this is a {type(text).__name__}, not a quantity", expected=example(dimensions))
    written = str(text).strip()
    match = _NUMBER.fullmatch(written) if len(written) <= LONGEST else None
    if match is None:
        raise UnitError(f'"{_cut(written)}" is not a number with a unit', expected=example(dimensions))
    value = float(match[1].replace("_", ""))
    if not math.isfinite(value):
        raise UnitError(f'"{text}" is not a finite number', expected=example(dimensions))
    if match[2][:1] == ",":
        raise UnitError(f'"{text}" has a comma', expected=example(dimensions), hint="write a decimal point: 5.5 min")
    unit = read_unit(match[2], nouns, money)
    if dimensions and unit.dimension not in dimensions:
        if unit.dimension == "number":
            raise UnitError("the unit is missing", expected=example(dimensions))
        what = f'"{text}" is {a(unit.dimension)}, where {a(wanted)} is wanted'
        raise UnitError(what, expected=example(dimensions))
    base = float(f"{value * unit.factor + unit.offset:.15g}")  # so that "70 %" is 0.7, not 0.7000000000000001
    if not math.isfinite(base):
        raise UnitError(f'"{text}" is too large', expected=example(dimensions))
    return Quantity(base, unit.dimension, str(text), unit.noun)


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST else text[:LONGEST] + "…"


def a(word: str) -> str:
    """A dimension with its article, a quotient in words.

    >>> a("area"), a("mass"), a("money/time")
    ('an area', 'a mass', 'an amount of money over time')
    """
    top, slash, below = word.partition("/")
    if slash:
        return f"an amount of {top} over {below}"
    return f"an {word}" if word[:1] in "aeiou" else f"a {word}"


_EXAMPLES: Mapping[str, str] = {
    "time": '"4 min"',
    "mass": '"0.42 kg"',
    "dry mass": '"2 t dry"',
    "volume": '"18 L"',
    "length": '"120 mm"',
    "area": '"2.4 m2"',
    "temperature": '"17 degC"',
    "share": '"2 %"',
    "number": "12",
    "count": '"12 each"',
    "money": '"96 EUR"',
    "money/time": '"27 EUR/h"',
    "mass/time": '"2.4 t/h"',
    "volume/time": '"900 L/h"',
    "count/time": '"36 each/day"',
    "power": '"5 kW"',
    "money/energy": '"0.24 EUR/kWh"',
}


def example(dimensions: Collection[str]) -> str | None:
    """Words for what was expected, with an example: ``a time such as "4 min"``."""
    if not dimensions:
        return None
    return " or ".join(f"{a(d)} such as {_EXAMPLES[d]}" if d in _EXAMPLES else a(d) for d in sorted(dimensions))
