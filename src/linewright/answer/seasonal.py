"""What is asked of a season and whether it can be done, in words that claim no more than balance and play do."""

from __future__ import annotations

import numpy as np

from linewright.answer.verdict import percent
from linewright.base.nouns import so_many
from linewright.base.problems import Level, Problem
from linewright.base.results import Interval, show, show_interval
from linewright.plan.called import item_called, thing_called
from linewright.plan.model import Plan
from linewright.season import Season
from linewright.simulate.season_model import SeasonRun


def question(plan: Plan, season: Season) -> str:
    """What is wanted by the end of the horizon: ``all of the harvest, 30,120 cases of six by 2027-03-31``.

    Where one item of the harvest is used up and much of another is over it is no longer all of it: ``as much as sharp
    allows, 8,208 cartons by 2027-08-27, with 1,584,000 kg of dessert left over``.
    """
    amounts = season.wanted if season.wanted is not None else (season.aim,)
    named = [
        amount_called(plan, item, unit, amount)
        for item, unit, amount in zip(season.products, season.units, amounts, strict=False)
    ]
    made = f"{' and '.join(named)} by {season.ends}"
    if season.wanted is not None:
        return made
    if not season.much_over:
        return f"all of the harvest, {made}"
    first = item_called(plan, season.limits_item)
    left = " and ".join(amount_called(plan, *over) for over in season.much_over)
    return f"as much as {first} allows, {made}, with {left} left over"


def amount_called(plan: Plan, item: str, unit: str, amount: float) -> str:
    """So much of an item as a person says it: ``8,159 cartons``, ``400 L of cider``."""
    known = plan.items.get(item)
    counted = known is not None and known.unit == unit and unit not in ("kg", "L", "m", "m2", "kWh")
    return so_many(amount, show(round(amount)), unit, item_called(plan, item), counted=counted)


def makes(season: Season, run: SeasonRun | None) -> bool | None:
    """Whether it is made: False where the balance rules it out or the play clearly misses it, None where luck decides.

    Of several products each must be made, of variants that are wanted each. Half a percent may be missing: the last
    vessels of a season are seldom full.
    """
    if not season.fits:
        return False
    if run is None:
        return None
    played = _each(season, run)
    if any(found.high < aim * (1 - ALMOST) for found, aim in played):
        return False
    return True if all(found.low >= aim * (1 - ALMOST) for found, aim in played) else None


def _played(season: Season, run: SeasonRun) -> list[tuple[Interval, float]]:
    """What was finished and what was to be: of each product where so much of each is wanted, else of all together."""
    if season.wanted is None:
        return [(run.total, season.aim)]
    return [(found, aim) for found, aim in zip(run.finished, season.wanted, strict=True) if aim > 0]


def _each(season: Season, run: SeasonRun) -> list[tuple[Interval, float]]:
    """The same for every variant where so much of each is wanted.

    What the harvest gives is judged in all: none of its variants is made beyond its part, so none can be short by more.
    """
    if season.wanted is None or not season.variants:
        return _played(season, run)
    pairs = zip(run.variants, season.variants, strict=True)
    return [(found, one.aim) for (_, found), one in pairs if one.aim > 0]


ALMOST = 0.005
"""The part of a season that may be missing at its end."""


def verdict(season: Season, run: SeasonRun | None, unplayed: str) -> str:
    """The phrase: begins with its verdict and a comma."""
    played = _played(season, run) if run is not None else []
    seen = f"played {' and '.join(show_interval(found) for found, _ in played)}" if played else ""
    if not season.fits:
        return f"no, at most {percent(season.share)} of it" + (f"; {seen}" if seen else "")
    if run is None:
        return f"perhaps, no bound rules it out, but it could not be played: {unplayed}" if unplayed else BOUND
    made = makes(season, run)
    if made is False:
        each = _each(season, run)
        least = percent(min(found.mean / aim for found, aim in each))
        of = "it" if len(each) == 1 else _worst(season, run) or "one of them"
        return f"no, {seen}, {least} of {of}, although no bound rules it out"
    return f"yes, {seen}" if made else f"perhaps, {seen}, which does not settle it"


def _worst(season: Season, run: SeasonRun) -> str:
    """The variant that is furthest behind, where they are judged one by one."""
    if season.wanted is None or not season.variants:
        return ""
    behind = [found.mean / one.aim for (_, found), one in zip(run.variants, season.variants, strict=True)]
    return season.variants[int(np.argmin(behind))].name


BOUND = "yes by every bound"


def why(plan: Plan, season: Season, run: SeasonRun | None = None) -> str:
    """What keeps the season from finishing more, in the words of the plan's author.

    Where no bound does and yet the play missed it: what lay unfinished when the horizon ended.
    """
    if run is None or not season.fits or makes(season, run) is not False:
        return season.because(lambda id: thing_called(plan, id))
    lay = [_lay(plan, *row) for row in run.unfinished]
    if not lay:
        return "No bound does. Nothing lay unfinished at the end: what is missing was lost on the way or never begun."
    return f"No bound does. At the end of the horizon there lay unfinished, as played: {'; '.join(lay)}."


def _lay(plan: Plan, item: str, unit: str, station: str, amount: Interval) -> str:
    where = f"in {thing_called(plan, station)}" if station else "waiting to be used"
    return f"{show_interval(amount)} {unit} of {thing_called(plan, item)} {where}"


def too_much(plan: Plan, season: Season) -> Problem:
    """A warning where more is wanted, or comes, than the plant can work up."""
    amount = f"{show(round(season.aim))} {season.units[0]}"
    what = f"the harvest would give {amount}" if season.wanted is None else f"{amount} are wanted"
    hint = "more or larger vessels, or less at a time; `linewright improve` counts the vessels that it takes"
    return Problem("intake[0]", f"{what}. {why(plan, season).removesuffix('.')}", level=Level.WARNING, hint=hint)
