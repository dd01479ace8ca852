"""What is asked of a season and whether it can be done, in words that claim no more than balance and play do."""

from __future__ import annotations

from linewright.answer.verdict import percent
from linewright.base.nouns import so_many
from linewright.base.results import show
from linewright.plan.model import Plan
from linewright.season import Season


def question(plan: Plan, season: Season) -> str:
    """What is wanted by the end of the horizon: ``all of the harvest, 30,120 cases of six by 2027-03-31``."""
    amounts = season.wanted if season.wanted is not None else (season.aim,)
    named = [
        _so_many(plan, item, unit, amount)
        for item, unit, amount in zip(season.products, season.units, amounts, strict=False)
    ]
    made = f"{' and '.join(named)} by {season.ends}"
    return made if season.wanted is not None else f"all of the harvest, {made}"


def _so_many(plan: Plan, item: str, unit: str, amount: float) -> str:
    known = plan.items.get(item)
    name = (known.name if known is not None else "") or item.replace("_", " ")
    counted = known is not None and known.unit == unit and unit not in ("kg", "L", "m", "m2", "kWh")
    return so_many(amount, show(round(amount)), unit, name, counted=counted)


def verdict(season: Season) -> str:
    """The phrase: begins with its verdict and a comma."""
    if not season.fits:
        return f"no, at most {percent(season.share)} of it"
    return "yes by every bound"
