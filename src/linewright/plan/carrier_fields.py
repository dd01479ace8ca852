"""The fields of ``[carriers.ID]``: forms, pallets, racks and jigs that go along with a piece and come back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from linewright.plan.durations import DURATION
from linewright.plan.forms import Measure, Whole
from linewright.plan.item_fields import NAME, NOTE
from linewright.plan.many import Ref, Several
from linewright.plan.option_fields import ByOption
from linewright.plan.option_model import Varies
from linewright.plan.reading import Reading
from linewright.plan.record import Field, Record

MONEY = Measure(("money",))


def _carrier(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    for one, other in (("between_losses", "repair"), ("repair", "between_losses")):
        if one in table and other not in table:
            return reading.error(f"{path}.{other}", "`between_losses` and `repair` belong together", None, "a time")
    for one, other in (("price", "lasts_for"), ("lasts_for", "price")):
        if one in table and other not in table:
            return reading.error(f"{path}.{other}", "wear needs `price` and `lasts_for`", None, f"`{other}`")
    for key in ("from", "to"):
        if table[key] == []:
            return reading.error(f"{path}.{key}", f"no operation: nothing is `{key}` here", [], "an operation")
    count, options = values["count"], values.get("options", ())
    if isinstance(count, Varies):
        values["by_option"] = {"count": count}
        values["count"] = count.first
        values["options"] = (*options, *(option for option in count.options if option not in options))
    return values


CARRIER = Record(
    "a carrier",
    (
        NAME,
        Field(
            "count",
            ByOption(Whole()),
            "how many there are; with `options`, of each kind, or a table by one or two of them",
            required=True,
            example="180",
        ),
        Field(
            "options",
            Several(Ref("options")),
            "there is one kind for each combination of these: a left 39 goes on a left 39",
            example='["size", "side"]',
        ),
        Field(
            "from",
            Several(Ref("operations")),
            "the operation that puts a piece on it; with a list, any of them",
            attribute="joins",
            required=True,
            example='"pull_on"',
        ),
        Field(
            "to",
            Several(Ref("operations")),
            "the operation at whose end the piece comes off it; with a list, any of them",
            attribute="leaves",
            required=True,
            example='"slip"',
        ),
        Field("way_back", DURATION, "until it can be used again; no time where none is written", example='"2 min"'),
        Field("holds", Whole(), "pieces on one of them; 1 where none is written", example="12"),
        Field(
            "between_losses",
            DURATION,
            "mean time in use of one of them until it is lost or broken; needs `repair`",
            example='"400 h"',
        ),
        Field("repair", DURATION, "time until it is mended or replaced", example='"2 h"'),
        Field("price", MONEY, "price of one, for its wear; needs `lasts_for`", example='"38 EUR"'),
        Field("lasts_for", Whole(), "uses that one lasts for", example="4000"),
        NOTE,
    ),
    _carrier,
)
