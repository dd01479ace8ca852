"""Two plans side by side: what the engines say of each, and the difference that is simulated under the same luck.

What is worked out exactly differs exactly. What is sampled comes with the interval of its difference, paired by
replication under common random numbers; a bound and an estimate say that they are one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from linewright.answer.model import Answer
from linewright.answer.play import Stop
from linewright.answer.simulated import FLAT_OUT
from linewright.base.problems import ProblemsError
from linewright.base.results import Honesty, Shown, Table
from linewright.cost.model import ProductCost
from linewright.plan.called import item_called
from linewright.simulate import Comparison, Quotas, compare

Sort = Literal["exact", "bound", "estimate", "simulated", "words"]
HOURS = 3600.0


@dataclass(frozen=True, slots=True)
class Difference:
    """One measure of both plans. ``a`` and ``b`` are numbers in ``unit``, or words where ``sort`` is "words".

    ``difference`` is b less a; ``low`` and ``high`` the ends of its 95 % interval where it is simulated. ``better`` is
    1 where more is better, -1 where less is, 0 where neither.
    """

    what: str
    unit: str
    a: float | str | None
    b: float | str | None
    sort: Sort
    better: int = 0
    difference: float | None = None
    low: float | None = None
    high: float | None = None

    @property
    def sure(self) -> bool | None:
        """Whether it is a difference beyond chance: False where luck could make it, None where nobody knows."""
        if self.low is not None and self.high is not None:
            return not self.low <= 0 <= self.high
        return None if self.difference is None or self.sort == "estimate" else self.difference != 0


@dataclass(frozen=True, slots=True)
class Differences(Shown):
    """Every measure of two plans, and what was simulated as planned and flat out (None where it was not)."""

    a: str
    b: str
    rows: tuple[Difference, ...]
    honesty: Honesty
    as_planned: Comparison | None = None
    flat_out: Comparison | None = None
    notes: tuple[str, ...] = ()

    def to_table(self) -> Table:
        """One row a measure."""
        rows = tuple((d.what, d.unit, d.a, d.b, d.difference, d.low, d.high) for d in self.rows)
        return Table("Side by side", ("measure", "unit", self.a, self.b, "difference", "from", "to"), rows)


def differences(a: Answer, b: Answer, names: tuple[str, str] = ("a", "b")) -> Differences:
    """What the fast engines say of two plans, measure by measure; measures that neither has are left out."""
    rows = [row for row in _measures(a, b) if row.a is not None or row.b is not None]
    return Differences(*names, tuple(_subtracted(row) for row in rows), Honesty("exact and bounds"))


def simulated_differences(
    a: Answer,
    b: Answer,
    names: tuple[str, str] = ("a", "b"),
    *,
    seed: int = 0,
    replications: int = 10,
    budget_seconds: float = 20.0,
    threads: int | None = None,
    progress: Callable[[str, int, int], None] | None = None,
    stop: Stop | None = None,
) -> Differences:
    """As ``differences``, with the rate of both as planned and flat out, played under the same luck.

    By takt no rate can be above the demand, so only flat out shows what a change brings to a plan that makes it.
    Raises ProblemsError where the first cannot be played at all.
    """
    found = differences(a, b, names)
    played_as = (a.to_play, b.to_play)
    played: dict[str, Comparison] = {}
    notes: list[str] = []
    ways = {"as planned": None, FLAT_OUT: FLAT_OUT} if a.network.plan.release != FLAT_OUT else {FLAT_OUT: FLAT_OUT}
    for way, release in ways.items():
        if stop is not None and stop() and played:
            break
        try:
            played[way] = compare(
                [network for network, _ in played_as], seed, names=names,
                quotas=[Quotas(flow.mix, flow.choice_mix) for _, flow in played_as], release=release,
                replications=replications, budget_seconds=budget_seconds / len(ways), threads=threads, stop=stop,
                progress=_telling(progress, way),
            )  # fmt: skip
        except ProblemsError as wrong:
            if way == FLAT_OUT and not played:
                raise
            notes += [f"{way}: not played, for {problem.what}" for problem in wrong.problems]
    rows = [row for way, one in played.items() for row in _played(way, one, a)]
    notes += [f"{way}: {note}" for way, one in played.items() for note in one.honesty.notes]
    stopped = any(one.honesty.status == "stopped" for one in played.values())
    return replace(
        found, rows=(*rows, *found.rows), as_planned=played.get("as planned"), flat_out=played.get(FLAT_OUT),
        honesty=Honesty("stopped" if stopped else "sampled", replications=replications), notes=tuple(notes),
    )  # fmt: skip


def _telling(progress: Callable[[str, int, int], None] | None, way: str) -> Callable[[int, int], None] | None:
    if progress is None:
        return None
    return lambda done, of: progress(way, done, of)


def _played(way: str, found: Comparison, a: Answer) -> Iterator[Difference]:
    first, second = found.networks
    wanted = a.capacity.wanted
    unit = f"{wanted[0].unit}/day" if len(wanted) == 1 else "units/day"
    if first.rate is None or second.rate is None or second.gain is None:
        if second.problem is not None:
            yield Difference(f"rate, {way}", unit, _mean(first.rate), second.problem.what, "words")
        return
    gain = second.gain
    known = math.isfinite(gain.half_width)
    yield Difference(
        f"rate, {way}", unit, first.rate.mean, second.rate.mean, "simulated", 1, gain.mean,
        gain.low if known else None, gain.high if known else None,
    )  # fmt: skip


def _mean(rate: object) -> float | None:
    mean = getattr(rate, "mean", None)
    return float(mean) if isinstance(mean, float) else None


def _subtracted(row: Difference) -> Difference:
    if row.sort == "words" or not isinstance(row.a, (int, float)) or not isinstance(row.b, (int, float)):
        return row
    return replace(row, difference=float(row.b) - float(row.a))


def _measures(a: Answer, b: Answer) -> Iterator[Difference]:
    yield from _rates(a, b)
    yield Difference("bottleneck", "", a.bottleneck_name or None, b.bottleneck_name or None, "words")
    yield from _costs(a, b)
    yield from _people(a, b)
    pieces, times = [[one.capacity.work_in_process for one in (a, b)], [one.capacity.lead_time for one in (a, b)]]
    yield _row("open pieces", "pieces", pieces, "estimate", -1)
    yield _row("time through", "h", times, "estimate", -1)
    faults = [one.quality.any_fault if one.quality.ways else None for one in (a, b)]
    yield _row("reach the customer with a fault", "of a million", faults, "exact", -1)
    hazards = [", ".join(c.hazard for c in one.cautions) or "none named" for one in (a, b)]
    yield Difference("hazards named", "", hazards[0], hazards[1], "words")


def _row(what: str, unit: str, both: Sequence[float | None], sort: Sort, better: int = 0) -> Difference:
    known = [value if value is not None and math.isfinite(value) else None for value in both]
    return Difference(what, unit, known[0], known[1], sort, better)


def _called(a: Answer, b: Answer, item: str) -> str:
    """What the authors call an item; the second is asked where the first has it not."""
    return item_called((a if item in a.plan.items else b).plan, item)


def _rates(a: Answer, b: Answer) -> Iterator[Difference]:
    """Demand and greatest rate of every item that is wanted by one of them."""
    wants = [{w.item: w for w in one.capacity.wanted} for one in (a, b)]
    for item in {**wants[0], **wants[1]}:
        here = [want.get(item) for want in wants]
        unit = next(w.unit for w in here if w is not None)
        name, unit = _called(a, b, item), f"{unit}/day"
        yield _row(f"{name}: asked for", unit, [w.demand if w else None for w in here], "exact")
        yield _row(f"{name}: at most, by the bounds", unit, [w.rate if w else None for w in here], "bound", 1)


def _costs(a: Answer, b: Answer) -> Iterator[Difference]:
    """What one of each product costs, and the parts of it that differ."""
    prices: list[dict[str, ProductCost]] = [{p.item: p for p in one.cost.products} for one in (a, b)]
    money = a.cost.money if a.cost.money == b.cost.money else f"{a.cost.money} and {b.cost.money}"
    for item in {**prices[0], **prices[1]}:
        here = [price.get(item) for price in prices]
        name = _called(a, b, item)
        unit = f"{money}/{next(p.unit for p in here if p is not None)}"
        yield _row(f"{name}: one costs", unit, [p.total if p else None for p in here], "exact", -1)
        if here[0] is None or here[1] is None:
            continue
        for (part, one), (_, other) in zip(here[0].parts.items(), here[1].parts.items(), strict=True):
            if abs(one - other) > 1e-9:
                yield _row(f"{name}: {part.replace('_', ' ')}", unit, [one, other], "exact", -1)


def _people(a: Answer, b: Answer) -> Iterator[Difference]:
    crews = [[r for r in one.capacity.resources if r.kind == "crew"] for one in (a, b)]
    yield _row("people", "people", [float(sum(r.count for r in some)) for some in crews], "exact")
    yield _row("work of people", "h/day", [sum(r.hours.total for r in some) for some in crews], "exact", -1)
