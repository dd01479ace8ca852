"""The fields of the tables of a plan other than operations: items, stations, crews, shifts, routes, demand, lines."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from linewright.base.units import UNITS
from linewright.plan.amounts import MEASURED
from linewright.plan.durations import DURATION, TIME
from linewright.plan.forms import (
    Currency,
    Flag,
    Form,
    ListOf,
    MapOf,
    Measure,
    OneOf,
    Ref,
    Schema,
    Several,
    Share,
    Text,
    Whole,
    kind_of,
)
from linewright.plan.hours import DAYS, HOURS, SPANS
from linewright.plan.model import (
    Crew,
    Demand,
    Duration,
    Item,
    Line,
    Mass,
    Overhead,
    Route,
    Shift,
    Station,
    Stoppage,
    Store,
    Tool,
)
from linewright.plan.operation_fields import CREW, made_by
from linewright.plan.reading import FAILED, Reading
from linewright.plan.record import Field, Record

NAME = Field("name", Text(), "what it is called in words")
NOTE = Field("note", Text(), "for the reader")
HAZARDS = Field("hazards", Several(Text(filled=True)), "hazards that bring cautions")
PRICE = Measure(("money", *(f"money/{d}" for d in ("count", *MEASURED))))
CHARGE = Measure(PRICE.dimensions, signed=True)


@dataclass(frozen=True)
class UnitForm(Form):
    """The unit of an item: a unit from the list, or a count noun of the plan's own."""

    words: str = 'unit of mass, volume, length, area or energy, or a count noun such as `"sheet"`'
    textual: bool = True

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if not isinstance(value, str) or not value.strip() or value[:1].isdigit() or "/" in value:
            return reading.error(path, "this is not a unit", value, self.words.replace("`", ""))
        known = UNITS.get(value)
        if known is None:
            near = next((u for u in UNITS if u.casefold() == value.casefold() and UNITS[u][1] in MEASURED), None)
            if near is not None:
                return reading.error(path, "this is not a unit known here", value, None, f'did you mean "{near}"?')
            return value
        if known[1] in MEASURED or value == "bar":
            return value
        what = f"this is a unit of {known[1]}; an item is counted or measured"
        return reading.error(path, what, value, self.words.replace("`", ""))

    def _schema(self) -> Schema:
        return {"type": "string", "minLength": 1, "examples": ["each", "kg", "L", "m2"]}


MASS = Record(
    "a mass",
    (
        Field("mean", Measure(("mass",), above=True), "the mean", required=True),
        Field("sd", Measure(("mass",)), "the standard deviation"),
    ),
    made_by(Mass),
    short=lambda value: {"mean": value} if isinstance(value, (int, float, str)) else value,
    short_words='mass `"11.2 kg"`',
    short_schema=Measure(("mass",)).schema(),
)

AMOUNT_KEPT = Measure(("number", "count", *MEASURED), above=True)


def _item(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    if values.get("free") and "buy" in table:
        reading.error(f"{path}.free", "an item is free or bought, not both", table["buy"])
    components = values.get("components", {})
    if sum(components.values()) > 1 + 1e-9:
        total = f"{sum(components.values()):.4g}"
        reading.error(f"{path}.components", f"the components add up to {total}, over 100 %", table["components"])
    return values


ITEM = Record(
    "an item",
    (
        Field("unit", UnitForm(), "how it is counted or measured", required=True),
        NAME,
        Field("buy", PRICE, "price of one unit, or of a measure of it, bought in"),
        Field("sell", PRICE, "what it earns when it leaves"),
        Field("disposal", CHARGE, "what it costs when it leaves as waste"),
        Field("free", Flag(), "costs nothing and never runs out: air, water"),
        Field("mass", MASS, "mass of one unit"),
        Field("moisture", Share(most=None), "water over dry mass"),
        Field("components", MapOf(Share(), sample='{ sugar = "12 %" }'), "shares of its mass"),
        Field("thickness", Measure(("length",), above=True), "of one, for loads limited by height"),
        Field("stock", AMOUNT_KEPT, "how much of it circulates"),
        Field("store", Ref("stores"), "where it waits; unlimited where none is written"),
        HAZARDS,
        NOTE,
    ),
    _item,
    reserved=("options", "made_of", "carriers", "season"),
)

STOPPAGE = Record(
    "a stoppage",
    (
        Field("name", Text(filled=True), "what stops", required=True),
        Field(
            "between", DURATION, "mean time from one to the next; exponential unless a spread is written", required=True
        ),
        Field("repair", DURATION, "time to mend", required=True),
        Field("clock", OneOf(("running", "calendar")), "whether `between` counts running time (where none is written)"),
        Field("crew", CREW, "who mends it; on the calendar where none is written"),
    ),
    made_by(Stoppage),
)


def _station(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    between, repair = values.pop("between_stops", None), values.pop("repair", None)
    if ("between_stops" in table) != ("repair" in table):
        missing = "repair" if "between_stops" in table else "between_stops"
        return reading.error(f"{path}.{missing}", "`between_stops` and `repair` belong together", None, "a time")
    stoppages: tuple[Stoppage, ...] = values.get("stoppages", ())
    if isinstance(between, Duration) and isinstance(repair, Duration):
        stoppages = (Stoppage("stoppage", between, repair), *stoppages)
    values["stoppages"] = stoppages
    return values


STATION = Record(
    "a station",
    (
        NAME,
        Field("places", Whole(), "how many of its kind work side by side; 1 where none is written"),
        Field("hours", Several(Ref("shifts")), "when it can work; always where none is written"),
        Field("machine_rate", Measure(("money/time",)), "money for an hour of use"),
        Field("between_stops", DURATION, "mean running time between stoppages; needs `repair`"),
        Field("repair", DURATION, "time to mend"),
        Field("stoppages", ListOf(STOPPAGE), "several named stoppages"),
        HAZARDS,
        NOTE,
    ),
    _station,
    reserved=("sizes", "power", "carriers"),
)

STORE = Record("a store", (NAME, Field("room", AMOUNT_KEPT, "how much it holds", required=True)), lambda v, *_: v)
TOOL = Record("a tool", (NAME, Field("count", Whole(), "how many there are", required=True)), lambda v, *_: v)


@dataclass(frozen=True)
class PeopleForm(Form):
    """People of a crew: a number (with a shift beside it) or a number for each shift."""

    words: str = "whole number with `shift`, or `{ day = 6, late = 3 }`"
    textual: bool = False

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if isinstance(value, dict):
            if not value:
                return reading.error(path, "a crew of nobody", value, self.words.replace("`", ""))
            return MapOf(Whole(), "shifts", "{ day = 6 }").read(value, path, reading)
        return Whole().read(value, path, reading)

    def _schema(self) -> Schema:
        one = Whole().schema()
        return {"anyOf": [one, {"type": "object", "additionalProperties": one}]}


def _crew(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    shift, people = values.pop("shift", None), values["people"]
    if isinstance(people, dict):
        if "shift" in table:
            return reading.error(f"{path}.shift", "the shifts are named in `people` already", table["shift"])
        return values
    if "shift" not in table:
        known = ", ".join(list(reading.names.get("shifts", ()))[:6]) or "none is declared"
        return reading.error(f"{path}.shift", "a crew needs its shift", None, "the id of a shift", f"shifts: {known}")
    if shift is None:
        return FAILED
    values["people"] = {shift: people}
    return values


CREW_TABLE = Record(
    "a crew",
    (
        NAME,
        Field("people", PeopleForm(), "how many there are", required=True),
        Field("shift", Ref("shifts"), "when they work"),
        Field("wage", Measure(("money/time",)), "money for an hour, paid"),
        Field("allowance", Share(most=None), "added to normal time: rest, small delays"),
        Field("present", Share(above=True), "share of the paid people who are there"),
    ),
    _crew,
)


def _shift(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    from linewright.plan.hours import check_shift

    return values if check_shift(values, table, path, reading) else FAILED


SHIFT = Record(
    "a shift",
    (
        Field("hours", HOURS, "from when to when; past midnight where the end is before the start", required=True),
        Field("breaks", SPANS, "from when to when, inside the hours"),
        Field("days", DAYS, "on which days; Mon-Fri where none is written"),
        Field("paid_breaks", Flag(), "whether breaks are paid"),
    ),
    _shift,
)


@dataclass(frozen=True)
class OperationsForm(Form):
    """Operations of a route, read by read.py: rows, or a table elsewhere."""

    words: str = 'array of tables, or `{ table = "boot.xlsx", sheet = "route" }`'
    textual: bool = False

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        from linewright.plan.operation_fields import OPERATION

        if isinstance(value, tuple):
            return ()  # a table that could not be read; its problem is noted
        if not isinstance(value, list):
            return reading.error(path, f"this is {kind_of(value)}", value, self.words.replace("`", ""))
        if not value:
            return reading.error(path, "a route without operations", None, self.words.replace("`", ""))
        rows = [OPERATION.read(row, f"{path}[{number}]", reading) for number, row in enumerate(value)]
        return tuple(row for row in rows if row is not FAILED)

    def _schema(self) -> Schema:
        from linewright.plan.operation_fields import OPERATION

        table: Schema = {
            "type": "object",
            "properties": {"table": {"type": "string"}, "sheet": {"type": "string"}},
            "required": ["table"],
            "additionalProperties": False,
        }
        return {"anyOf": [{"type": "array", "items": OPERATION.schema(), "minItems": 1}, table]}


ROUTE = Record(
    "a route",
    (
        Field("gives", Ref("items"), "the item it makes", required=True),
        NAME,
        Field("share", Share(), "its part where several routes make the item"),
        Field("prefer", Whole(0), "order of preference where several routes make the item; the smaller first"),
        Field("operations", OperationsForm(), "the operations in order", required=True),
    ),
    lambda v, *_: v,
    reserved=("options", "only_if"),
)

OPERATION_IDS: Form = ListOf(Ref("operations"))
LINE = Record(
    "a line",
    (
        Field("routes", Several(Ref("routes")), "whole routes whose operations are shared out", required=True),
        NAME,
        Field("takt", TIME, "the time for one piece; from the demand where none is written"),
        Field("stations", Whole(), "how many stations; the fewest where none is written"),
        Field("together", ListOf(OPERATION_IDS), "groups of operations that stay at one station"),
        Field("apart", ListOf(OPERATION_IDS), "groups of operations that must not share a station"),
        Field("fixed", MapOf(Whole(), "operations", "{ glue = 2 }"), "operations tied to a station number"),
        Field(
            "sides", MapOf(OneOf(("left", "right", "either")), "operations", '{ glue = "left" }'), "side of the line"
        ),
    ),
    lambda v, *_: v,
)

RATE = Measure(tuple(f"{d}/time" for d in ("count", "number", *MEASURED)), above=True)


def _demand(values: dict[str, Any], _table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    from linewright.plan.demand import check_rate

    return Demand(**values) if check_rate(values["item"], values["rate"], f"{path}.rate", reading) else FAILED


DEMAND = Record(
    "a demand",
    (
        Field("item", Ref("items"), "what is wanted", required=True),
        Field("rate", RATE, 'how much over time; `"36 each/day"` is per working day', required=True),
    ),
    _demand,
    reserved=("options", "from", "to"),
)

OVERHEAD = Record(
    "overhead",
    (
        Field("of_labour", Share(most=None), "added to labour"),
        Field("of_material", Share(most=None), "added to material"),
        Field("per_day", Measure(("money",)), "money for each working day"),
    ),
    made_by(Overhead),
)

PLAN = Record(
    "[plan]",
    (
        Field("name", Text(filled=True), "what the plan is called", required=True),
        Field("money", Currency(), "the currency; needed where a price is written"),
        Field("makes", Ref("items"), "the item wanted: short for one `[[demand]]`"),
        Field("demand", RATE, "how much of it over time"),
        Field("release", OneOf(("takt", "pull", "flat out")), "how work is let in; takt where none is written"),
        Field("open_pieces", Whole(), "pieces open at once; needed with pull and flat out"),
        Field("tolerance", Share(), "of the mass balance of an operation; 1 % where none is written"),
        NOTE,
    ),
    lambda v, *_: v,
)

CLASSES: Mapping[str, type] = {
    "items": Item,
    "stations": Station,
    "stores": Store,
    "tools": Tool,
    "crews": Crew,
    "shifts": Shift,
    "routes": Route,
    "lines": Line,
}
RECORDS: Mapping[str, Record] = {
    "items": ITEM,
    "shifts": SHIFT,
    "stores": STORE,
    "tools": TOOL,
    "crews": CREW_TABLE,
    "stations": STATION,
    "routes": ROUTE,
    "lines": LINE,
}
"""Tables of named things, in the order in which they are read: what is named by others comes first."""

RESERVED = ("carriers", "intake", "utilities", "options")
"""Tables whose names are kept for later."""
