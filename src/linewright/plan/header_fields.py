"""The fields of ``[plan]``, ``[[demand]]`` and ``[overhead]``."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from linewright.plan.amounts import MEASURED
from linewright.plan.demand import check_rate
from linewright.plan.forms import Currency, Measure, OneOf, Share, Text, Whole
from linewright.plan.item_fields import NOTE
from linewright.plan.many import Ref, Several
from linewright.plan.model import Demand, Overhead
from linewright.plan.operation_fields import made_by
from linewright.plan.option_fields import ValuesForm
from linewright.plan.reading import FAILED, Reading
from linewright.plan.record import Field, Record
from linewright.plan.season_fields import DATE, DAY_SPAN

RATE = Measure(
    tuple(f"{d}/time" for d in ("count", "number", *MEASURED)),
    above=True,
    said="rate",
    shown=('"36 each/day"', '"2 t/h"'),
)


def _demand(values: dict[str, Any], _table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    return Demand(**values) if check_rate(values["item"], values["rate"], f"{path}.rate", reading) else FAILED


DEMAND = Record(
    "a demand",
    (
        Field("item", Ref("items"), "what is wanted", required=True, example='"shell"'),
        Field(
            "rate",
            RATE,
            'how much over time; `"36 each/day"` is per working day',
            required=True,
            example='"36 each/day"',
        ),
        Field(
            "options",
            ValuesForm(shares=True),
            "which variants; the usual mix of every option that is not named",
            example='{ size = { "41" = "20 %", "42" = "80 %" } }',
        ),
    ),
    _demand,
    reserved=("from", "to"),
)

OVERHEAD = Record(
    "overhead",
    (
        Field("of_labour", Share(most=None), "added to labour", example='"40 %"'),
        Field("of_material", Share(most=None), "added to material", example='"3 %"'),
        Field(
            "of_stock",
            Share(most=None),
            "a year of lying in stock, of the value: what lots are weighed against",
            example='"20 %"',
        ),
        Field("per_day", Measure(("money",)), "money for each working day", example='"1900 EUR"'),
    ),
    made_by(Overhead),
)

PLAN = Record(
    "[plan]",
    (
        Field("name", Text(filled=True), "what the plan is called", required=True, example='"Cargo trailer"'),
        Field("money", Currency(), "the currency; needed where a price is written", example='"EUR"'),
        Field("makes", Ref("items"), "the item wanted: short for one `[[demand]]`", example='"trailer"'),
        Field("demand", RATE, "how much of it over time", example='"36 each/day"'),
        Field(
            "release",
            OneOf(("takt", "pull", "flat out")),
            "how work is let in; takt where none is written",
            example='"pull"',
        ),
        Field("open_pieces", Whole(), "pieces open at once; needed with pull and flat out", example="20"),
        Field("tolerance", Share(), "of the mass balance of an operation; 1 % where none is written", example='"2 %"'),
        Field("from", DATE, "the first day of the horizon", attribute="begins", example='"2026-09-14"'),
        Field("to", DATE, "the last day of the horizon", attribute="ends", example='"2027-03-31"'),
        Field(
            "closed",
            Several(DAY_SPAN),
            "days on which nobody works, beside those that the shifts leave out",
            example='"2026-12-24..2027-01-02"',
        ),
        NOTE,
    ),
    lambda v, *_: v,
)
