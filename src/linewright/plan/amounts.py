"""Amounts of items: how a quantity as written becomes units of its item, and the forms of takes, gives and loses.

An item is counted (each, sheet) or measured (kg, L, m2). A quantity is held in base units; ``units_of`` gives it in
the item's own unit, ``price_of`` gives money for one unit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from linewright.base.units import UNITS, Quantity, Unit, UnitError, a, read_unit
from linewright.plan.forms import Form, Measure, Number, Schema, Share, kind_of, read_share
from linewright.plan.model import Amount, Item
from linewright.plan.option_fields import is_varying, known_value, read_varying, values_of, varying_schema
from linewright.plan.option_model import Varies
from linewright.plan.paths import join
from linewright.plan.reading import FAILED, Reading

MEASURED = ("mass", "dry mass", "volume", "length", "area", "energy")
"""Dimensions in which an item may be measured; any other word is a count noun."""

ANY_COUNT = frozenset({"each", "piece", "pieces", "pcs"})
"""Count nouns that fit every counted item."""


@lru_cache(maxsize=4096)
def unit_of(text: str) -> Unit:
    """What the unit of an item means; a word outside the list of units is a count noun."""
    known = UNITS.get(text)
    if known is not None and known[1] in MEASURED:
        return read_unit(text)
    return Unit(1.0, 0.0, "count", text)


def units_of(item: Item, quantity: Quantity) -> float:
    """A quantity in units of its item (pieces, or multiples of the unit it is measured in).

    A mass of a counted item is divided by the mass of one; wet and dry mass are turned into each other by the
    moisture. Raises UnitError where the dimensions do not fit.

    >>> from linewright.base.units import read_quantity
    >>> units_of(Item("glue", "t"), read_quantity("400 kg"))
    0.4
    """
    unit = unit_of(item.unit)
    have = quantity.dimension
    if have == unit.dimension:
        if have == "count" and not _same_noun(quantity.noun, unit.noun):
            raise UnitError(f'"{quantity.text}" of an item counted in {unit.noun}', f'a number, or "{unit.noun}"')
        return quantity.value / unit.factor
    if have == "number" and unit.dimension == "count":
        return quantity.value
    if have in ("mass", "dry mass"):
        one = mass_of(item, dry=have == "dry mass")
        if one is not None:
            return quantity.value / one
    if have == "number":
        raise UnitError("the unit is missing", f'an amount in {item.unit}, such as "{quantity.text} {item.unit}"')
    hint = "give the item a mass, or write the amount in its own unit" if have == "mass" else None
    noun = f"counted in {item.unit}" if unit.dimension == "count" else f"measured by {unit.dimension} ({item.unit})"
    raise UnitError(f'"{quantity.text}" is {a(have)}, where item "{item.id}" is {noun}', None, hint)


def mass_of(item: Item, *, dry: bool = False) -> float | None:
    """Mass of one unit of an item in kg, wet or dry; None where it is not known."""
    unit = unit_of(item.unit)
    wetness = 1.0 + (item.moisture or 0.0)
    if unit.dimension == "mass":
        wet: float | None = unit.factor
    elif unit.dimension == "dry mass":
        wet = unit.factor * wetness
    else:
        wet = item.mass.mean.value if item.mass else None
    return wet if wet is None or not dry else wet / wetness


def price_of(item: Item, price: Quantity) -> float:
    """Money for one unit of an item, from a price per unit (``"96 EUR"``) or per measure (``"1.2 EUR/kg"``).

    >>> from linewright.base.units import read_quantity
    >>> price_of(Item("glue", "t"), read_quantity("1.2 EUR/kg", money="EUR"))
    1200.0
    """
    if price.dimension in ("money", "number"):
        return price.value
    below = price.dimension.partition("/")[2]
    noun = price.text.rpartition("/")[2].strip()
    one = Quantity(1.0, below, f"1 {noun}", noun if below == "count" else "")
    return price.value / units_of(item, one)


def _same_noun(written: str, noun: str) -> bool:
    return written in ANY_COUNT or noun in ANY_COUNT or written == noun or written.rstrip("s") == noun.rstrip("s")


AMOUNT = Measure(("number", "count", *MEASURED), said="amount", shown=("12", '"0.42 kg"'))
"""An amount of an item: a bare number where it is counted."""

MIX = ("any_of", "amount", "shares", "model", "same", "options", "made_of", "limits")

MODELLED: Schema = {
    "type": "object", "properties": {"model": {"type": "string", "minLength": 1}}, "required": ["model"],
    "additionalProperties": False,
}  # fmt: skip
"""An amount that the operation's own model of physics tells, by the name of an outcome."""


@dataclass(frozen=True)
class TakesForm(Form):
    """What an operation takes: items (or a free name with ``any_of``) to amounts."""

    words: str = '`{ tub = 1, glue = "0.42 kg" }`'
    textual: bool = False

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if not isinstance(value, dict):
            return reading.error(path, f"this is {kind_of(value)}", value, "a table such as { tub = 1 }")
        amounts = (_taken(key, part, join(path, key), reading) for key, part in value.items())
        return tuple(amount for amount in amounts if amount is not FAILED)

    def _schema(self) -> Schema:
        mix: Schema = {
            "type": "object",
            "properties": {
                "any_of": {"type": "array", "items": {"type": "string"}, "minItems": 1},
                "amount": {"anyOf": [AMOUNT.schema(), varying_schema(AMOUNT.schema())]},
                "shares": {"type": "object", "additionalProperties": Share().schema()},
                "model": {"type": "string", "minLength": 1},
                "same": {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]},
                "options": {"type": "object", "additionalProperties": {"type": "string"}},
                "made_of": {
                    "type": "object",
                    "additionalProperties": {"type": "object", "additionalProperties": {"type": "number"}},
                },
            },
            "minProperties": 1,
            "additionalProperties": False,
        }
        forms = [AMOUNT.schema(), mix]
        return {"type": "object", "additionalProperties": {"anyOf": [*forms, varying_schema({"anyOf": forms})]}}


def _taken(key: str, part: object, path: str, reading: Reading) -> Any:
    if isinstance(part, dict) and is_varying(part):
        beside = next((word for word in MIX if word in part), "")
        if beside:
            what = f"`{beside}` cannot stand beside a table of amounts"
            said = f"{{ {beside} = ..., amount = {{ by = ..., table = {{ ... }} }} }}"
            return reading.error(join(path, beside), what, part[beside], said, "put the table under `amount`")
        return varying_amount(part, path, reading, lambda one, place: _taken(key, one, place, reading))
    if isinstance(part, dict):
        return _mix(key, part, path, reading)
    if not reading.known("items", key, path):
        return FAILED
    quantity = amount_of(key, part, path, reading)
    return FAILED if quantity is FAILED else Amount(key, quantity)


def varying_amount(value: Any, path: str, reading: Reading, read: Any) -> Any:
    """An Amount with an Amount for each value of an option; the first stands in its place."""
    varies = read_varying(value, path, reading, read)
    return FAILED if varies is FAILED else replace(varies.first, varies=varies)


def amount_of(item: str, value: object, path: str, reading: Reading) -> Any:
    """A quantity checked against the unit of its item; FAILED with a problem where it does not fit."""
    if isinstance(value, str) and value.strip().endswith("%"):
        hint = "shares belong to gives and loses; here write how much of the item goes in"
        return reading.error(path, "this is a share, where an amount is wanted", value, None, hint)
    quantity = AMOUNT.read(value, path, reading)
    known = reading.items.get(item)
    if quantity is FAILED or known is None:
        return quantity
    try:
        units_of(known, quantity)
    except UnitError as wrong:
        return reading.error(path, wrong.what, value, wrong.expected, wrong.hint)
    return quantity


def _mix(key: str, part: dict[str, Any], path: str, reading: Reading) -> Any:
    if not part:
        return reading.error(path, "this table is empty", part, '1, "0.4 kg", or what is to be minded of the item')
    for other in part:
        if other not in MIX:
            reading.error(join(path, other), f"no field `{other}` here", part[other], hint=reading.near(other, MIX))
    items = part.get("any_of", [key])
    if not isinstance(items, list) or not items or not all(isinstance(i, str) for i in items):
        return reading.error(f"{path}.any_of", "this is not a list of items", items, '["oversize", "chips"]')
    known = [reading.known("items", item, f"{path}.any_of[{number}]") for number, item in enumerate(items)]
    if not all(known):
        return FAILED
    if len(set(items)) < len(items):
        return reading.error(f"{path}.any_of", "an item is named twice", items)
    model = _model_named(part, path, reading) if "model" in part else ""
    shares = _mix_shares(items, part.get("shares", {}), f"{path}.shares", reading)
    options = _options_of(part, path, reading)
    quantity = None if model or options is FAILED else _mix_amount(items, part, path, reading)
    limits = _limits(part.get("limits", {}), f"{path}.limits", reading)
    if FAILED in (quantity, shares, model) or options is FAILED or limits is FAILED:
        return FAILED
    if limits and "any_of" not in part:
        return reading.error(f"{path}.limits", "a blend has several items", part["limits"], "`any_of` beside `limits`")
    some = tuple(items) if "any_of" in part or "shares" in part else ()
    if model:
        return Amount(key, any_of=some, shares=shares, model=model, **options)
    if isinstance(quantity, Varies):
        base = Amount(key, quantity.first, any_of=some, shares=shares, limits=limits, **options)
        table = {value: replace(base, quantity=one) for value, one in quantity.table.items()}
        otherwise = None if quantity.otherwise is None else replace(base, quantity=quantity.otherwise)
        return replace(base, varies=replace(quantity, table=table, otherwise=otherwise))
    return Amount(key, quantity, any_of=some, shares=shares, limits=limits, **options)


HELD = Measure(
    ("mass/volume", "alcohol", "share", "number"), said="content", shown=('"5.5 g/L"', '"6.2 % vol"', '"12 %"')
)
"""How much of something is in an item."""


def _limits(value: object, path: str, reading: Reading) -> Any:
    """Least and most of what a blend may hold, by name."""
    if not isinstance(value, dict):
        return reading.error(path, f"this is {kind_of(value)}", value, '{ acid = { least = "5 g/L", most = "6 g/L" } }')
    found: dict[str, tuple[Quantity | None, Quantity | None]] = {}
    for name, ends in value.items():
        here = join(path, name)
        if not isinstance(ends, dict) or not ends or set(ends) - {"least", "most"}:
            return reading.error(
                here, "a limit says `least`, `most` or both", ends, '{ least = "5 g/L", most = "6 g/L" }'
            )
        read = {end: HELD.read(part, f"{here}.{end}", reading) for end, part in ends.items()}
        if any(part is FAILED for part in read.values()):
            return FAILED
        least, most = read.get("least"), read.get("most")
        if least is not None and most is not None and (least.dimension != most.dimension or least.value > most.value):
            return reading.error(here, "least is more than most, or of another kind", ends, "least <= most")
        found[name] = (least, most)
    return found


def _options_of(part: dict[str, Any], path: str, reading: Reading) -> Any:
    """What is said of the options of the item: ``same``, ``chosen`` and ``made_of``."""
    found: dict[str, Any] = {}
    if "same" in part:
        names = part["same"] if isinstance(part["same"], list) else [part["same"]]
        if not names or not all(isinstance(n, str) for n in names):
            what = f"this is {kind_of(part['same'])}" if names and names == part["same"] else "this names no option"
            return reading.error(f"{path}.same", what, part["same"], 'an option or a list of them, ["size"]')
        if not all(reading.known("options", n, f"{path}.same") for n in names):
            return FAILED
        found["same"] = tuple(names)
    for key, attribute in (("options", "chosen"), ("made_of", "made_of")):
        if key not in part:
            continue
        if not isinstance(part[key], dict):
            what = '{ colour = "red" }' if key == "options" else "{ side = { left = 1, right = 1 } }"
            return reading.error(f"{path}.{key}", f"this is {kind_of(part[key])}", part[key], what)
        read = _chosen if key == "options" else _made_of
        one = {name: read(name, value, join(f"{path}.{key}", name), reading) for name, value in part[key].items()}
        if any(value is FAILED for value in one.values()):
            return FAILED
        found[attribute] = one
    return found


def _chosen(option: str, value: object, path: str, reading: Reading) -> Any:
    if not reading.known("options", option, path):
        return FAILED
    if not isinstance(value, str):
        return reading.error(path, f"this is {kind_of(value)}", value, "one value of the option, in quotes")
    names = values_of(option, reading)
    return value if known_value(value, names, path, reading, f'option "{option}"') else FAILED


def _made_of(option: str, value: object, path: str, reading: Reading) -> Any:
    """How many of each value of an option make one."""
    if not reading.known("options", option, path):
        return FAILED
    if not isinstance(value, dict) or not value:
        return reading.error(path, f"this is {kind_of(value)}", value, "{ left = 1, right = 1 }")
    counts: dict[str, float] = {}
    for name, part in value.items():
        place = join(path, name)
        count = Number(above=True).read(part, place, reading)
        known = known_value(name, values_of(option, reading), place, reading, f'option "{option}"')
        if count is FAILED or not known:
            return FAILED
        counts[name] = count
    return counts


def _model_named(part: dict[str, Any], path: str, reading: Reading) -> Any:
    """The name of an outcome; that the operation's model has it is checked where the model is asked."""
    name = part["model"]
    if "amount" in part:
        return reading.error(f"{path}.amount", "an amount is written or comes from the model, not both", part["amount"])
    if not isinstance(name, str) or not name.strip():
        return reading.error(f"{path}.model", "this is not the name of an outcome", name, '"carbon dioxide"')
    return name


def _mix_amount(items: list[str], part: dict[str, Any], path: str, reading: Reading) -> Any:
    counts = [sum(of.values()) for of in part["made_of"].values()] if "made_of" in part else []
    value = part.get("amount", math.prod(counts) if counts else 1)
    if is_varying(value) and not counts:
        return read_varying(value, f"{path}.amount", reading, lambda one, at: _amount_of_each(items, one, at, reading))
    if counts and isinstance(value, (int, float)) and abs(value - math.prod(counts)) > 1e-9:
        what = f"`made_of` adds up to {math.prod(counts):g}, and the amount is {value:g}"
        return reading.error(f"{path}.made_of", what, part["made_of"], "counts that add up to the amount")
    return _amount_of_each(items, value, f"{path}.amount", reading)


def _amount_of_each(items: list[str], value: object, path: str, reading: Reading) -> Any:
    """One amount that has to fit every item that may be taken."""
    sound: Any = FAILED
    for item in items:
        sound = amount_of(item, value, path, reading)
        if sound is FAILED:
            return FAILED
    return sound


def _mix_shares(items: list[str], value: object, path: str, reading: Reading) -> Any:
    if not isinstance(value, dict):
        return reading.error(path, f"this is {kind_of(value)}", value, '{ chips = "70 %", oversize = "30 %" }')
    shares: dict[str, float] = {}
    for item, part in value.items():
        if item not in items:
            return reading.error(
                join(path, item), f'"{item}" is not among any_of', item, hint=reading.near(item, items)
            )
        share = Share().read(part, join(path, item), reading)
        if share is FAILED:
            return FAILED
        shares[item] = share
    if shares and abs(sum(shares.values()) - 1) > 1e-9:
        total = f"{sum(shares.values()):.4g}"
        return reading.error(path, f"the shares add up to {total}, not 1", value, "shares that add up to 100 %")
    return shares


@dataclass(frozen=True)
class OutForm(Form):
    """What an operation gives or loses: amounts, shares of the mass going in, or ``"rest"``.

    ``items``: the names are items (gives), else free names (loses).
    """

    items: bool
    words: str = ""
    textual: bool = False

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if not isinstance(value, dict):
            return reading.error(path, f"this is {kind_of(value)}", value, f"a table such as {self.words}")
        amounts = [self._one(key, part, join(path, key), reading) for key, part in value.items()]
        return tuple(amount for amount in amounts if amount is not FAILED)

    def _one(self, key: str, part: object, path: str, reading: Reading) -> Any:
        if self.items and not reading.known("items", key, path):
            return FAILED
        if part == "rest":
            return Amount(key, rest=True)
        if is_varying(part):
            return varying_amount(part, path, reading, lambda one, place: self._one(key, one, place, reading))
        if isinstance(part, dict) and part.keys() == {"model"}:
            model = _model_named(part, path, reading)
            return FAILED if model is FAILED else Amount(key, model=model)
        if isinstance(part, str) and part.strip().endswith(("%", "ppm")):
            share = Share(most=1.0).limited(part, read_share(part, path, reading), path, reading)
            return FAILED if share is FAILED else Amount(key, share=share)
        if self.items:
            quantity = amount_of(key, part, path, reading)
        else:
            quantity = Measure(("mass",)).read(part, path, reading)
        return FAILED if quantity is FAILED else Amount(key, quantity)

    def _schema(self) -> Schema:
        forms = [AMOUNT.schema(), MODELLED]
        return {"type": "object", "additionalProperties": {"anyOf": [*forms, varying_schema({"anyOf": forms})]}}


TAKES = TakesForm()
GIVES = OutForm(True, '`{ offcut = "0.3 kg", must = "68 %", pomace = "rest" }`')
LOSES = OutForm(False, '`{ water = "rest", dust = "2 %", gas = { model = "carbon dioxide" } }`')
