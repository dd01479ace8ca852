"""The horizon of a plan as numbers: its days, who works on them, and what is delivered on each.

Days are counted from the first day of the horizon, 0. A delivery is on hand from the midnight that begins its day.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from linewright.base.calendar import DAY, WEEK, Calendar
from linewright.network.context import Context
from linewright.network.items import ItemFacts, units_of
from linewright.network.model import Bools, Floats, Ints
from linewright.network.rows import bools, floats, ints
from linewright.plan.season_model import Intake


@dataclass(frozen=True, slots=True)
class Season:
    """``days`` from ``begins``, whose weekday is ``weekday`` (0 Monday).

    ``works`` [days]: whether anybody works; ``closed`` [days]: whether nobody may, whatever the shifts say.
    ``intake`` [n_lots] item and day, rising, and ``amount`` in the item's base unit: everything that is delivered.
    """

    begins: date
    days: int
    weekday: int
    works: Bools
    closed: Bools
    intake_item: Ints
    intake_day: Ints
    intake_amount: Floats

    @property
    def working_days(self) -> int:
        """Days on which anybody works."""
        return int(self.works.sum())

    @property
    def weeks(self) -> int:
        """Weeks of the calendar, Monday to Sunday, that the horizon touches."""
        return -(-(self.weekday + self.days) // 7)

    @property
    def week_of(self) -> Ints:
        """[days] the calendar week of each day, from 0."""
        return (np.arange(self.days, dtype=np.int64) + self.weekday) // 7

    def monday(self, week: int) -> date:
        """The Monday of a calendar week of the horizon; of the first it may be before the horizon."""
        return self.begins + timedelta(days=7 * week - self.weekday)

    def day(self, number: int) -> date:
        """The date of a day of the horizon."""
        return self.begins + timedelta(days=number)

    def harvest(self, n_items: int) -> Floats:
        """[n_items] all that is delivered of each item."""
        return np.bincount(self.intake_item, self.intake_amount, minlength=n_items).astype(np.float64)

    def arrivals(self, n_items: int) -> Floats:
        """[days, n_items] what is delivered on each day."""
        out = np.zeros((self.days, n_items))
        np.add.at(out, (self.intake_day, self.intake_item), self.intake_amount)
        return out


def compile_season(context: Context, facts: list[ItemFacts], week: Calendar) -> Season | None:
    """The season of a plan; None where a steady state is asked for."""
    plan = context.plan
    if plan.begins is None or plan.ends is None:
        return None
    days = (plan.ends - plan.begins).days + 1
    weekday = plan.begins.weekday()
    closed = np.zeros(days, dtype=np.bool_)
    for first, last in plan.closed:
        one, other = (first - plan.begins).days, (last - plan.begins).days
        if other < 0 or one >= days:
            context.problems.warn("plan.closed", "days that are closed lie outside the horizon", hint=f"{first}")
        closed[max(one, 0) : max(other + 1, 0)] = True
    by_weekday = [works_on(week, d) for d in range(7)]
    works = np.array([by_weekday[(weekday + d) % 7] for d in range(days)], dtype=np.bool_) & ~closed
    if not works.any():
        context.problems.error("plan.to", "nobody works on any day of the horizon", value=str(plan.ends))
    lots: list[tuple[int, int, float]] = []
    for number, intake in enumerate(plan.intake):
        lots += _lots(intake, f"intake[{number}]", facts, closed, context)
    lots.sort(key=lambda lot: (lot[0], lot[1]))
    return Season(
        begins=plan.begins,
        days=days,
        weekday=weekday,
        works=bools(works.tolist()),
        closed=bools(closed.tolist()),
        intake_item=ints([item for _, item, _ in lots]),
        intake_day=ints([day for day, _, _ in lots]),
        intake_amount=floats([amount for _, _, amount in lots]),
    )


def works_on(week: Calendar, weekday: int) -> bool:
    """Whether anybody is there at any time of a weekday."""
    ends = np.append(week.at[1:], WEEK)
    here = (week.level > 0) & (week.at < (weekday + 1) * DAY) & (ends > weekday * DAY)
    return bool(here.any())


def _lots(
    intake: Intake, path: str, facts: list[ItemFacts], closed: Bools, context: Context
) -> list[tuple[int, int, float]]:
    """(day, item, amount) of every delivery of one intake."""
    begins = context.plan.begins
    assert begins is not None
    index = context.look_up(context.items, intake.item, f"{path}.item", "item")
    if index < 0:
        return []
    amounts = [units_of(facts[index], weekly, f"{path}.weekly", context.problems) for weekly in intake.weekly]
    lots = []
    for day in range((intake.begins - begins).days, (intake.ends - begins).days + 1):
        if not 0 <= day < len(closed) or closed[day] or (begins.weekday() + day) % 7 not in intake.days:
            continue
        week = (day - (intake.begins - begins).days) // 7
        amount = amounts[min(week, len(amounts) - 1)] / len(intake.days)
        if amount > 0:
            lots.append((day, index, amount))
    if not lots:
        context.problems.error(
            path, f"nothing of {intake.item} ever comes: no day of delivery lies in its weeks", value=str(intake.begins)
        )
    return lots
