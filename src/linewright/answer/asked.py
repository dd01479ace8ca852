"""What is asked of a plan, in words: ``36 trailers a day``, ``2,000 cases of six a week (400 a day)``."""

from __future__ import annotations

import re

from linewright.base.nouns import so_many
from linewright.base.results import show
from linewright.capacity.model import Wanted
from linewright.plan.model import Demand, Plan

_WRITTEN = re.compile(r"\s*([\d_.,eE+-]+)\s*(.*?)\s*/\s*(\w+)\s*")
_PERIODS = {
    "h": "an hour", "hour": "an hour", "min": "a minute", "week": "a week", "weeks": "a week", "month": "a month",
    "year": "a year",
}  # fmt: skip


def question(plan: Plan, wanted: tuple[Wanted, ...]) -> str:
    """The demand as it was written, and for a working day where it was written for another time."""
    written: dict[str, list[Demand]] = {}
    for demand in plan.demand:
        written.setdefault(demand.item, []).append(demand)
    return " and ".join(_asked(plan, w, written.get(w.item, [])) for w in wanted)


def _asked(plan: Plan, wanted: Wanted, written: list[Demand]) -> str:
    item = plan.items.get(wanted.item)
    name = (item.name if item is not None else "") or wanted.item.replace("_", " ")
    counted = item is None or _is_count(plan, wanted.item)
    found = _WRITTEN.fullmatch(written[0].rate.text) if len(written) == 1 else None
    period = _PERIODS.get(found[3]) if found is not None else None
    if found is None or period is None:
        return f"{so_many(wanted.demand, show(wanted.demand), wanted.unit, name, counted=counted)} a day"
    number = float(found[1].replace("_", "").replace(",", ""))
    unit = wanted.unit if counted else found[2]
    daily = show(wanted.demand) if counted else f"{show(wanted.demand)} {wanted.unit}"
    return f"{so_many(number, show(number), unit, name, counted=counted)} {period} ({daily} a day)"


def _is_count(plan: Plan, item: str) -> bool:
    """Whether an item is counted: its demand is a count for a time, or its unit a word and no measure."""
    for demand in plan.demand:
        if demand.item == item:
            return demand.rate.dimension.startswith("count")
    return True
