"""The fields of stations with their stoppages, of stores and of tools."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from linewright.plan.durations import DURATION
from linewright.plan.forms import Measure, OneOf, Text, Whole
from linewright.plan.hazard_fields import HAZARDS
from linewright.plan.item_fields import AMOUNT_KEPT, NAME, NOTE
from linewright.plan.many import ListOf, MapOf, Ref, Several
from linewright.plan.model import Duration, Power, Stoppage
from linewright.plan.operation_fields import CREW, made_by
from linewright.plan.paths import join
from linewright.plan.reading import FAILED, Reading
from linewright.plan.record import Field, Record

STOPPAGE = Record(
    "a stoppage",
    (
        Field("name", Text(filled=True), "what stops", required=True, example='"magnet trips"'),
        Field(
            "between",
            DURATION,
            "mean time from one to the next; exponential unless a spread is written",
            required=True,
            example='"7 h"',
        ),
        Field("repair", DURATION, "time to mend", required=True, example='"5 min"'),
        Field(
            "clock",
            OneOf(("running", "calendar")),
            "whether `between` counts running time (where none is written)",
            example='"calendar"',
        ),
        Field("crew", CREW, "who mends it; on the calendar where none is written", example="{ mender = 1 }"),
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
    return _sized(values, table, path, reading)


SIZE = Measure(("number", "count", "mass", "dry mass", "volume"), above=True, said="size", shown=('"50 hL"', '"2 t"'))
"""How much one vessel holds."""


def _sized(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    """Vessels of several sizes, the smallest first; their number is that of the places."""
    sizes: dict[str, int] = values.get("sizes", {})
    if not sizes:
        return values
    if "places" in table:
        what = "the vessels by size say how many places there are"
        return reading.error(f"{path}.places", what, table["places"], "`sizes` or `places`")
    read = [(SIZE.read(text, join(f"{path}.sizes", text), reading), count) for text, count in sizes.items()]
    if any(size is FAILED for size, _ in read):
        return FAILED
    if len({size.dimension for size, _ in read}) > 1:
        return reading.error(f"{path}.sizes", "the sizes are of several kinds", table["sizes"], "all in one unit")
    values["sizes"] = tuple(sorted(read, key=lambda pair: pair[0].value))
    values["places"] = sum(sizes.values())
    return values


KW = Measure(("power",))

POWER = Record(
    "a power",
    (
        Field("running", KW, "while it works or is set up", required=True, example='"45 kW"'),
        Field("idle", KW, "while its people are in and it does neither; nothing where none is written",
              example='"6 kW"'),
        Field("holding", KW, "while it stands with a piece: heat kept, cold kept; as idle where none is written",
              example='"12 kW"'),
        Field("of", Ref("utilities"), "what it runs on; needed where there are several", example='"electricity"'),
    ),
    made_by(Power),
    short=lambda value: {"running": value} if isinstance(value, str) else value,
    short_words='power `"45 kW"` while it runs',
    short_schema=KW.schema(),
)  # fmt: skip

STATION = Record(
    "a station",
    (
        NAME,
        Field("places", Whole(), "how many of its kind work side by side; 1 where none is written", example="2"),
        Field(
            "sizes",
            MapOf(Whole(), sample='{ "50 hL" = 6, "100 hL" = 4 }'),
            "vessels of several sizes, and how many of each; instead of `places`",
            example='{ "50 hL" = 6, "100 hL" = 4 }',
        ),
        Field(
            "hours",
            Several(Ref("shifts")),
            "when it can work; always where none is written",
            example='["early", "late"]',
        ),
        Field("machine_rate", Measure(("money/time",)), "money for an hour of use", example='"12 EUR/h"'),
        Field("between_stops", DURATION, "mean running time between stoppages; needs `repair`", example='"22 h"'),
        Field("repair", DURATION, "time to mend", example='"35 min"'),
        Field(
            "stoppages",
            ListOf(STOPPAGE),
            "several named stoppages",
            example='[{ name = "magnet trips", between = "7 h", repair = "5 min" }]',
        ),
        Field("cooling", Measure(("power",)), "what cools all its places together, for tanks", example='"5 kW"'),
        Field("power", POWER, "what one place draws", example='{ running = "45 kW", idle = "6 kW" }'),
        HAZARDS,
        NOTE,
    ),
    _station,
)

UTILITY = Record(
    "a utility",
    (NAME, Field("price", Measure(("money/energy",)), "money for a unit of energy", example='"0.24 EUR/kWh"')),
    lambda v, *_: v,
)

STORE = Record(
    "a store",
    (NAME, Field("room", AMOUNT_KEPT, "how much it holds", required=True, example='"40 hL"')),
    lambda v, *_: v,
)

TOOL = Record(
    "a tool", (NAME, Field("count", Whole(), "how many there are", required=True, example="2")), lambda v, *_: v
)
