"""The fields that say how a plan will be good: ``learning``, ``failure_modes``, ``first_pieces``, ``scale``, fits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from linewright.plan.forms import Form, Measure, Number, OneOf, Schema, Share, Text, Whole
from linewright.plan.many import MapOf, Ref
from linewright.plan.quality_model import CheckScale, FailureMode, FirstPieces, FitDimension, Learning
from linewright.plan.reading import FAILED, Reading
from linewright.plan.record import Field, Record

LENGTH = Measure(("length",))
MONEY = Measure(("money",))
MASS_ABOVE = Measure(("mass",), above=True, shown=('"0.1 g"',))
SHARE = Share()


@dataclass(frozen=True)
class Rank(Form):
    """A rank of a failure-mode table."""

    words: str = "whole number from 1 (best) to 10 (worst)"
    textual: bool = False

    def _read(self, value: object, path: str, reading: Reading) -> Any:
        rank = Whole().read(value, path, reading)
        if rank is not FAILED and rank > 10:
            return reading.error(path, f"{rank} is no rank", value, f"a {self.words}")
        return rank

    def _schema(self) -> Schema:
        return {"type": "integer", "minimum": 1, "maximum": 10}


def _learning(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    if not 0.5 <= values["rate"] <= 1.0:
        what = "a doubling leaves less than half of the time, or more than all of it"
        return reading.error(path, what, table["rate"], "a learning rate from 50 % to 100 %")
    return Learning(**values)


LEARNING = Record(
    "learning",
    (
        Field("rate", SHARE, "what a doubling of the pieces made leaves of the time", required=True, example='"85 %"'),
        Field(
            "standard_at",
            Whole(),
            "the piece of one person that first takes the time written here; 200 where none is written",
            example="400",
        ),
    ),
    _learning,
    short=lambda value: {"rate": value} if isinstance(value, (int, float, str)) else value,
    short_words='rate `"85 %"`',
    short_schema=SHARE.schema(),
)

FAILURE_MODE = Record(
    "a failure mode",
    (
        Field("mode", Text(filled=True), "what goes wrong; a name among `faults` ties it to them", required=True,
              example='"seam gap"'),
        Field("severity", Rank(), "how bad it is; 9 and 10 where someone may be hurt or the law broken", required=True,
              example="7"),
        Field("effect", Text(), "what the customer notices", example='"water gets in"'),
        Field("cause", Text(), "why it happens", example='"bead too thin at a corner"'),
        Field("occurrence", Rank(), "how often; from the share in `faults` where none is written", example="6"),
        Field("detection", Rank(), "1 surely noticed, 10 never; from the checks where none is written", example="3"),
        Field("action", Text(), "what is to be done about it", example='"robot for the bead"'),
        Field("costs", MONEY, "what one that reaches the customer costs", example='"180 EUR"'),
    ),
    lambda values, *_: FailureMode(**values),
)  # fmt: skip

FIRST_PIECES = Record(
    "first pieces",
    (
        Field("pieces", Whole(), "how many must pass; 1 where none is written", example="3"),
        Field("setup_wrong", SHARE, "the share of setups that are wrong", example='"2 %"'),
        Field("faulty_when_wrong", SHARE, "pieces faulty after a wrong setup; all where none is written",
              example='"60 %"'),
    ),
    lambda values, *_: FirstPieces(**values),
    short=lambda value: {"pieces": value} if isinstance(value, (int, float)) else value,
    short_words="whole number `3`",
    short_schema=Whole().schema(),
)  # fmt: skip

SCALE = Record(
    "a scale",
    (
        Field("step", MASS_ABOVE, "the step that it shows", required=True, example='"0.1 g"'),
        Field("repeatability", Measure(("mass",), shown=('"0.3 g"',)), "standard deviation of its readings",
              required=True, example='"0.3 g"'),
    ),
    lambda values, *_: CheckScale(**values),
)  # fmt: skip


def _dimension(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    within = values.pop("within", None)
    if "within" in table:
        if "plus" in table or "minus" in table:
            return reading.error(path, "`within` says both limits already", table, "`within`, or `plus` and `minus`")
        if within is None:
            return FAILED
        values["plus"] = values["minus"] = within
    for key in ("plus", "minus"):
        if key not in values:
            if key not in table:
                reading.error(path, f"nothing says how far `{key}` it may be", table, 'within = "0.5 mm"')
            return FAILED
    return FitDimension(**values)


def _short_dimension(value: object) -> object:
    """``"1204 mm +/- 0.8 mm"`` as a table."""
    if not isinstance(value, str):
        return value
    size, sign, within = value.replace("\N{PLUS-MINUS SIGN}", "+/-").partition("+/-")
    return {"size": size.strip(), "within": within.strip()} if sign else {"size": value.strip()}


DIMENSION = Record(
    "a dimension",
    (
        Field("size", LENGTH, "the nominal size", required=True, example='"1204 mm"'),
        Field("within", LENGTH, "the tolerance on either side", example='"0.8 mm"'),
        Field("plus", LENGTH, "the tolerance above, where the two differ", example='"0.5 mm"'),
        Field("minus", LENGTH, "the tolerance below", example='"0.2 mm"'),
        Field("times", Whole(), "how many of them lie in the stack; 1 where none is written", example="2"),
        Field("cp", Number(above=True), "half the tolerance over 3 standard deviations; 1 where none is written",
              example="1.33"),
        Field("shape", OneOf(("normal", "uniform")), "how it varies; normal where none is written",
              example='"uniform"'),
    ),
    _dimension,
    short=_short_dimension,
    short_words='`"1204 mm +/- 0.8 mm"`',
    short_schema={"type": "string", "examples": ["1204 mm +/- 0.8 mm"]},
)  # fmt: skip

_DIMENSIONS = MapOf(DIMENSION, sample='{ "door opening" = "1204 mm +/- 0.8 mm" }')


def _fit(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    least, most = values.get("least"), values.get("most")
    if "least" not in table and "most" not in table:
        reading.error(path, "nothing says which gap is good", None, '`least`, `most` or both, such as least = "3 mm"')
    if least is not None and most is not None and least.value >= most.value:
        reading.error(path, "the limits are reversed", f"{least.text}, {most.text}", "least below most")
    twice = values["opens"].keys() & values.get("closes", {}).keys()
    for name in sorted(twice):
        reading.error(f"{path}.closes", f'"{name}" both opens and closes the gap', name, "one of the two")
    every = [*values["opens"].values(), *values.get("closes", {}).values()]
    if not values["opens"]:
        reading.error(f"{path}.opens", "nothing opens the gap", None, DIMENSION.short_words)
    elif all(d.plus.value + d.minus.value == 0 for d in every):
        reading.error(path, "no dimension has a tolerance", None, 'such as "1204 mm +/- 0.8 mm"')
    return values


FIT = Record(
    "a fit",
    (
        Field("opens", _DIMENSIONS, "dimensions that make the gap wider", required=True,
              example='{ "door opening" = "1204 mm +/- 0.8 mm" }'),
        Field("closes", _DIMENSIONS, "dimensions that make it narrower", example='{ door = "1196 mm +/- 0.5 mm" }'),
        Field("least", Measure(("length",), signed=True), "the least gap that is good", example='"3 mm"'),
        Field("most", Measure(("length",), signed=True), "the greatest gap that is good", example='"5 mm"'),
        Field("operation", Ref("operations"), "where it is put together", example='"door_on"'),
        Field("name", Text(), "what it is called in words", example='"Gap of the rear door"'),
        Field("note", Text(), "for the reader", example='"Numbers of last spring."'),
    ),
    _fit,
)  # fmt: skip
"""Fields of ``[fits.ID]``."""
