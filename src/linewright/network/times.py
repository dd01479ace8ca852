"""Times of one operation: standard time, allowance and presence counted once and only for people.

Standard time = normal time x (1 + allowance) / present, inside the part that a crew works by hand; a machine's own
time, a rate and a stand are left as they are. Where several crews work together the slowest sets the pace.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from linewright.base.distributions import Distribution, fixed
from linewright.network.carry import Step
from linewright.network.context import Context
from linewright.network.evaluate import evaluate, flowing
from linewright.network.items import ItemFacts
from linewright.network.loads import pieces_of
from linewright.network.rows import SECOND
from linewright.plan.forms import LONGEST
from linewright.plan.model import Duration, Operation


@dataclass(slots=True)
class Times:
    """Distributions in seconds; ``each``, ``hands_start`` and ``hands_end`` in whole ns."""

    time: Distribution
    each: int
    stand: Distribution
    continuous: bool
    hands_all: bool
    hands_start: int
    hands_end: int
    dwell: int = 0


_NOTHING = fixed(0.0)


def stretch_of(crew: dict[str, float], stretches: dict[str, float]) -> float:
    """Standard over normal time for the people who work: the greatest of their stretches; 1 where nobody does."""
    return max((stretches.get(name, 1.0) for name in crew), default=1.0)


def stretched(time: Distribution, factor: float) -> Distribution:
    """A time multiplied, its shape and cv kept."""
    return time if factor == 1.0 or time.mean == 0.0 else time.scaled(factor)


def times_of(
    operation: Operation, step: Step, path: str, facts: list[ItemFacts], stretches: dict[str, float], context: Context
) -> Times:
    """All times of an operation."""
    written = operation.time
    if written is None and operation.move is not None:
        written = operation.move.time
    written = flowing(written, f"{path}.time", context.problems)
    stand = _NOTHING
    if operation.stand is not None:
        stand = evaluate(operation.stand, f"{path}.stand", context.problems, context.plan.folder)
    crewed = bool(operation.crew)
    hands = operation.hands_on if crewed else None
    if written is not None and written.rate is not None:
        pace = _each_at_rate(written, step, f"{path}.time", facts, context)
        start, end = _hands(operation, stretch_of(dict(operation.crew), stretches) if crewed else 1.0)
        dwell = round(written.dwell.value * SECOND) if written.dwell is not None else 0
        return Times(_NOTHING, pace, stand, True, crewed and hands is None, start, end, dwell)
    time = evaluate(written, f"{path}.time", context.problems, context.plan.folder)
    each = written.each.value if written is not None and written.each is not None else 0.0
    if not crewed:
        if operation.hands_on is not None:
            context.problems.error(f"{path}.hands_on", "hands-on time needs a crew", hint="write crew = { fitter = 1 }")
        return Times(time, round(each * SECOND), stand, False, False, 0, 0)
    factor = stretch_of(dict(operation.crew), stretches)
    if hands is None:
        return Times(stretched(time, factor), round(each * factor * SECOND), stand, False, True, 0, 0)
    start, end = _hands(operation, factor)
    return Times(
        _with_hands(time, operation, factor, path, context), round(each * SECOND), stand, False, False, start, end
    )


def _hands(operation: Operation, factor: float) -> tuple[int, int]:
    hands = operation.hands_on
    if hands is None:
        return 0, 0
    start = hands.start.value if hands.start is not None else 0.0
    end = hands.end.value if hands.end is not None else 0.0
    return round(start * factor * SECOND), round(end * factor * SECOND)


def _with_hands(time: Distribution, operation: Operation, factor: float, path: str, context: Context) -> Distribution:
    """The cycle with only its hands-on part stretched."""
    hands = operation.hands_on
    assert hands is not None
    by_hand = sum(part.value for part in (hands.start, hands.end) if part is not None)
    least = time.a if time.is_fixed else time.mean
    if by_hand > least + 1e-9:
        context.problems.error(
            f"{path}.hands_on",
            "the hands-on part is longer than the whole time",
            value=f"{by_hand:g} s of {least:g} s",
            hint="time is the whole cycle, hands_on a part of it",
        )
        return time
    return stretched(time, 1 + by_hand * (factor - 1) / time.mean) if time.mean > 0 else time


def _each_at_rate(written: Duration, step: Step, path: str, facts: list[ItemFacts], context: Context) -> int:
    """Whole ns for a piece at a continuous rate: the piece's amount in the rate's dimension over the rate."""
    rate = written.rate
    assert rate is not None
    if not rate.value > 0:
        context.problems.error(path, "a rate is above zero", value=rate.text)
        return 0
    top = rate.dimension.partition("/")[0]
    amount = _amount_at_rate(written, step, top, path, facts, context)
    if not math.isfinite(amount):
        return 0
    exact = amount / rate.value * SECOND
    if exact > LONGEST * SECOND:
        context.problems.error(path, "at this rate one piece takes more than a hundred years", value=rate.text)
        return 0
    if exact > 0 and abs(round(exact) - exact) > 1e-6 * exact:
        context.problems.warn(
            path,
            f"a piece takes only {exact:.4g} ns at this rate, which rounding to whole ns changes by "
            f"{abs(round(exact) - exact) / exact:.1g}",
            hint="let the route's piece be larger: takes and gives for a tonne instead of a gram",
        )
    return round(exact)


def _amount_at_rate(
    written: Duration, step: Step, dimension: str, path: str, facts: list[ItemFacts], context: Context
) -> float:
    """How much of the rate's dimension one piece is; ``rate_of`` names the taken or given item the rate counts."""
    if written.rate_of is not None:
        index = context.look_up(context.items, written.rate_of, f"{path}.rate_of", "item")
        units = sum(u for i, u in [*step.takes, *step.gives] if i == index)
        units += sum(u for feed in step.feeds for i, u in zip(feed.items, feed.units, strict=True) if i == index)
        if index < 0:
            return math.nan
        if units == 0 and index == step.carried:
            units = step.amount
        if units > 0 and facts[index].dimension == dimension:
            return units
        if units > 0 and dimension == "mass" and facts[index].mass > 0:
            return units * facts[index].mass
        context.problems.error(f"{path}.rate_of", f"the rate counts a {dimension} of what is not taken or given here")
        return math.nan
    from linewright.base.units import Quantity

    if dimension == "count":
        return 1.0
    one = pieces_of(
        Quantity(1.0, dimension, written.rate.text if written.rate else "", ""),
        path,
        step.mass,
        step.carried,
        step.amount,
        facts,
        context,
    )
    return 1.0 / one if one > 0 else math.nan
