"""The fields of an operation, declared once: reading, schema and documentation come from them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from linewright.plan.amounts import GIVES, LOSES, TAKES
from linewright.plan.check_fields import CHECK
from linewright.plan.durations import DURATION, SOME_TIME, TIME
from linewright.plan.forms import Measure, Number, OneOf, Schema, Share, Text, Whole
from linewright.plan.hazard_fields import HAZARDS
from linewright.plan.many import ListOf, MapOf, Ref, RefOf, Several
from linewright.plan.model import Clean, During, HandsOn, Load, Move, Operation, Setup, Start
from linewright.plan.option_fields import ByOption, ValuesForm
from linewright.plan.option_model import Varies
from linewright.plan.quality_fields import FAILURE_MODE, LEARNING
from linewright.plan.reading import FAILED, Reading
from linewright.plan.record import Field, Record
from linewright.plan.wait_fields import WAIT

COUNTED = ("number", "count", "mass", "dry mass", "volume", "length", "area")
SOME = Measure(COUNTED, above=True, said="amount", shown=("12", '"4000 L"'))


class CrewForm(MapOf):
    """People by crew; the name of a crew alone is one person of it."""

    @property
    def words(self) -> str:
        """The form in words."""
        return f'`"fitter"` for one person, or `{self.sample}`'

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if not isinstance(value, str):
            return super()._read(value, path, reading)
        crew = Ref("crews").read(value, path, reading)
        return FAILED if crew is FAILED else {crew: 1.0}

    def _schema(self) -> Schema:
        return {"anyOf": [{"type": "string"}, super()._schema()]}


CREW = CrewForm(Number(above=True), "crews", "{ fitter = 1 }")


def made_by(make: Any) -> Any:
    """A finish that only makes the object."""
    return lambda values, *_: make(**values)


def _load(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    if "height" in table:
        if "most" in table or "least" in table:
            return reading.error(path, "a load is limited by height or by most, not both", table)
        return Load(**values) if "height" in values else FAILED
    if "most" not in table:
        return reading.error(path, "a load needs `most` or `height`", table, "{ least = 8, most = 12 }")
    if "most" not in values or ("least" in table and "least" not in values):
        return FAILED
    most = values["most"]
    least = values.setdefault("least", most)
    if _kind(least) != _kind(most):
        what = f"least is a {least.dimension} and most a {most.dimension}"
        return reading.error(path, what, table, "two amounts of one kind")
    if least.value > most.value:
        return reading.error(path, "the least load is more than the most", table, "least <= most")
    return Load(**values)


def _kind(quantity: Any) -> str:
    return "count" if quantity.dimension == "number" else str(quantity.dimension)


LOAD = Record(
    "a load",
    (
        Field(
            "least",
            SOME,
            "starts with this much once `waits` has passed; where none is written, with `most` only",
            example="8",
        ),
        Field("most", SOME, "starts at once with this much", example="12"),
        Field(
            "height", Measure(("length",), above=True), "limits the load by the item's `thickness`", example='"120 mm"'
        ),
        Field("waits", TIME, "how long it waits for more; no time where none is written", example='"30 min"'),
    ),
    _load,
    short=lambda value: {"most": value} if isinstance(value, (int, float, str)) else value,
    short_words='amount `12`, `"4000 L"`',
    short_schema=SOME.schema(),
)

HANDS_ON = Record(
    "hands-on time",
    (
        Field("start", TIME, "labour at the beginning", example='"40 s"'),
        Field("end", TIME, "labour at the end", example='"20 s"'),
    ),
    made_by(HandsOn),
    short=lambda value: {"start": value} if isinstance(value, (int, float, str)) else value,
    short_words='time `"2 min"` at the beginning',
    short_schema=TIME.schema(),
)

BOTH = ("items", "operations", "values")
CHANGES = " changes"


@dataclass(frozen=True)
class WhenForm(OneOf):
    """When a setup is due: by the count, when the item changes, or when an option changes."""

    options: tuple[str, ...] = ("every", "item changes")

    @property
    def words(self) -> str:
        """The form in words."""
        return '"every", "item changes", or an option such as "colour changes"'

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        if isinstance(value, str) and value.endswith(CHANGES) and value.removesuffix(CHANGES) in reading.options:
            return value
        if isinstance(value, str) and value.endswith(CHANGES) and value not in self.options:
            known = [*self.options, *(option + CHANGES for option in reading.options)]
            return reading.error(
                path, "this is not one of the words known here", value, self.words, reading.near(value, known)
            )
        return super()._read(value, path, reading)

    def _schema(self) -> Schema:
        return {"type": "string"}


TABLE_OF_TIMES = MapOf(MapOf(TIME, BOTH, "{ to = time }"), BOTH, sample='{ red = { white = "40 min" } }')


def _setup(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    rows = values.get("table", {})
    values["table"] = {(a, b): time for a, row in rows.items() for b, time in row.items()}
    if "every" in table:
        if str(table.get("when")).endswith(CHANGES):
            return reading.error(path, f'`every` and `when = "{table["when"]}"` are two rules', table, "one of them")
        if "every" not in values:
            return FAILED
    else:
        option = str(values.get("when", "")).removesuffix(CHANGES)
        values["option"] = option if option in reading.options else ""
        values["when"] = "item changes"
        if table.get("when") == "every":
            return reading.error(path, '`when = "every"` needs `every`', table, "every = 80")
    if "time" not in table and not values["table"]:
        return reading.error(path, "a setup needs `time` or `table`", table, 'time = "12 min"')
    return Setup(**values)


SETUP = Record(
    "a setup",
    (
        Field("time", DURATION, "how long it takes", example='"12 min"'),
        Field(
            "when",
            WhenForm(),
            "the rule; `every` where an `every` is written",
            example='"item changes"',
        ),
        Field("every", SOME, "once per so many pieces, or so much", example="80"),
        Field("crew", CREW, "who does it; the operation's crew where none is written", example="{ fitter = 1 }"),
        Field("takes", TAKES, "what it uses up", example="{ rag = 1 }"),
        Field("table", TABLE_OF_TIMES, "time from one item to another", example='{ red = { white = "40 min" } }'),
    ),
    _setup,
    short=lambda value: {"time": value} if isinstance(value, str) else value,
    short_words='time `"12 min"`',
    short_schema=TIME.schema(),
)


def _clean(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    if "every" in table:
        if table.get("after", "every") != "every":
            return reading.error(path, "`every` and `after` are two rules", table, "one of them")
        values["after"] = "every"
    elif table.get("after") == "every":
        return reading.error(path, '`after = "every"` needs `every`', table, 'every = "80 hL"')
    return Clean(**values)


CLEAN = Record(
    "cleaning",
    (
        Field("time", DURATION, "how long it takes", required=True, example='"15 min"'),
        Field(
            "after",
            OneOf(("load", "shift", "day", "every")),
            "when; after every load where none is written",
            example='"shift"',
        ),
        Field("every", SOME, "once per so many pieces, or so much", example='"80 hL"'),
        Field("crew", CREW, "who does it; the operation's crew where none is written", example="{ fitter = 1 }"),
        Field("takes", TAKES, "what it uses up", example='{ water = "40 L" }'),
    ),
    _clean,
)

START = Record(
    "start-up",
    (
        Field("time", DURATION, "time lost", example='"10 min"'),
        Field(
            "scrap", Measure(COUNTED, said="amount", shown=("3", '"20 kg"')), "pieces, or an amount, lost", example="3"
        ),
        Field(
            "after",
            OneOf(("stop", "shift")),
            "after a stop, or at the start of a shift (where none is written)",
            example='"stop"',
        ),
    ),
    made_by(Start),
)

MOVE = Record(
    "a move",
    (
        Field("by", RefOf(("tools", "stations")), "what carries", example='"trolley"'),
        Field("lot", LOAD, "how many go at a time", example="12"),
        Field("time", DURATION, "how long one journey takes", example='"40 s"'),
    ),
    made_by(Move),
)

DURING = Record(
    "work during a stand",
    (
        Field("name", Text(filled=True), "what is done", required=True, example='"pump over"'),
        Field("every", SOME_TIME, "time from one to the next", required=True, example='"6 h"'),
        Field("time", DURATION, "normal time of it", required=True, example='"20 min"'),
        Field("crew", CREW, "who does it; the operation's crew where none is written", example="{ cellar = 1 }"),
    ),
    made_by(During),
)

SYMBOLS = ("operation", "inspection", "transport", "delay", "storage")


def _operation(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    waits = values.pop("waits", None)
    if waits is not None:
        if "load" not in table:
            return reading.error(f"{path}.waits", "only a load waits", table["waits"], "`load` beside `waits`")
        if "load" in values:
            values["load"] = replace(values["load"], waits=waits)
    every = values.pop("every", None)
    if every is not None:
        if "setup" not in table:
            return reading.error(f"{path}.every", "`every` says how often `setup` is done", table["every"], "`setup`")
        if "setup" in values:
            values["setup"] = replace(values["setup"], every=every, when="every")
    return Operation(**_varying(values))


def _varying(values: dict[str, Any]) -> dict[str, Any]:
    """Fields that differ by an option apart; the first of each stands in its place."""
    varying = {key: value for key, value in values.items() if isinstance(value, Varies)}
    faults = values.get("faults", {})
    by_fault = {f"faults.{name}": share for name, share in faults.items() if isinstance(share, Varies)}
    if not varying and not by_fault:
        return values
    values |= {key: one.first for key, one in varying.items()}
    if by_fault:
        values["faults"] = {name: s.first if isinstance(s, Varies) else s for name, s in faults.items()}
    return {**values, "by_option": varying | by_fault}


OPERATION = Record(
    "an operation",
    (
        Field(
            "id",
            Text("word, unique in the plan", filled=True),
            "what the operation is called elsewhere",
            required=True,
            example='"glue"',
        ),
        Field("name", Text(), "the step in words", example='"Run adhesive round both flanges"'),
        Field("telling", Text(), "what to mind, in words", example='"Keep the bead whole at the corners."'),
        Field(
            "only_if",
            ValuesForm(),
            "the variants that it is done to; all where none is written",
            example='{ accessory = "window" }',
        ),
        Field(
            "symbol",
            OneOf(SYMBOLS),
            "its symbol on the process chart; derived where none is written",
            example='"inspection"',
        ),
        Field(
            "station",
            Several(Ref("stations")),
            "where; a list: any one of them; none: an unlimited bench",
            example='["press_a", "press_b"]',
        ),
        Field("crew", CREW, "who, during the hands-on time", example="{ fitter = 1 }"),
        Field("tends", Whole(), "running places that one person minds at once", example="4"),
        Field("time", ByOption(DURATION), "normal time of a cycle", example='{ mean = "5.5 min", cv = 0.15 }'),
        Field(
            "hands_on",
            HANDS_ON,
            "the labour inside `time`; all of it where none is written",
            example='{ start = "40 s", end = "20 s" }',
        ),
        Field(
            "stand",
            ByOption(DURATION),
            "waiting that is part of the work: no crew, the place stays taken",
            example='"15 min"',
        ),
        Field(
            "during",
            ListOf(DURING),
            "work that comes again and again while it stands",
            example='[{ name = "pump over", every = "6 h", time = "20 min", crew = "cellar" }]',
        ),
        Field(
            "ullage",
            Measure(("share/time",), said="share over time", shown=('"0.4 %/month"',)),
            "what is lost of it while it stands",
            example='"0.4 %/month"',
        ),
        Field(
            "wait",
            WAIT,
            "the window in which it must begin after an earlier operation",
            example='{ after = "glue", least = "20 min", most = "40 min", else = "scrap" }',
        ),
        Field("load", LOAD, "what goes through together", example='{ least = 8, most = 12, waits = "30 min" }'),
        Field("waits", TIME, "short for `load.waits`", example='"30 min"'),
        Field("takes", TAKES, "what goes in, per piece", example='{ tub = 1, adhesive = "0.42 kg" }'),
        Field("takes_per_load", TAKES, "what goes in once per load", example="{ paper = 1 }"),
        Field(
            "gives",
            GIVES,
            "by-products per piece; the route's own item: what the piece becomes from here on",
            example='{ offcut = "0.3 kg" }',
        ),
        Field("loses", LOSES, "what leaves the balance, by name", example='{ dust = "2 %" }'),
        Field(
            "uses",
            MapOf(Whole(), "tools", "{ robot = 1 }"),
            "shared tools, taken with the crew",
            example="{ robot = 1 }",
        ),
        Field(
            "yield",
            ByOption(Share(above=True)),
            "the share that survives; all where none is written",
            attribute="yields",
            example='"98 %"',
        ),
        Field(
            "faults",
            MapOf(ByOption(Share()), sample='{ "seam gap" = "2 %" }'),
            "faults made here, each with its share",
            example='{ "seam gap" = "2 %" }',
        ),
        Field(
            "faults_per",
            OneOf(("piece", "load")),
            "whether a fault hits a piece (where none is written) or a load",
            example='"load"',
        ),
        Field("check", CHECK, "the inspection", example='{ finds = { "seam gap" = "97 %" } }'),
        Field("setup", SETUP, "changeover", example='"12 min"'),
        Field("every", SOME, "short for `setup.every`", example="80"),
        Field("clean", CLEAN, "cleaning", example='{ time = "15 min", after = "shift" }'),
        Field("start", START, "start-up loss", example='{ time = "10 min", scrap = 3 }'),
        Field(
            "move",
            MOVE,
            "a transport; it is an operation of its own",
            example='{ by = "trolley", lot = 12, time = "40 s" }',
        ),
        Field(
            "stop",
            OneOf(("anywhere", "finish", "fits")),
            "how it meets the end of a shift; anywhere where none is written",
            example='"fits"',
        ),
        Field(
            "then_to",
            Ref("stores", ("next",)),
            'where the piece goes; `"next"`: handed over directly',
            example='"rack"',
        ),
        Field(
            "after",
            Several(Ref("operations")),
            "what must come before, for balancing; the operation above where none is written",
            example='["glue", "press"]',
        ),
        HAZARDS,
        Field("zone", Text(), "zone of the product, for balancing", example='"left side"'),
        Field("skill", Text(), "skill needed, for balancing", example='"stitching"'),
        Field("learning", LEARNING, "how its time falls to the one written while it is new", example='"85 %"'),
        Field(
            "failure_modes",
            ListOf(FAILURE_MODE),
            "what can go wrong here, how badly, and what is done about it",
            example='[{ mode = "seam gap", severity = 7, effect = "water gets in" }]',
        ),
    ),
    _operation,
    reserved=("power",),
)
"""Fields of ``[[routes.ID.operations]]``."""
