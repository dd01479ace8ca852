"""How the rate comes up while the work is learned: the bounds of the plan, week by week, with the times of beginners.

Every operation that is learned takes longer by (n / standard_at)^b, n the pieces that each of its people has made.
What it takes longer loads its station and its crews; the week's rate is the least multiple that they then carry.
"""

from __future__ import annotations

from dataclasses import dataclass

from linewright.answer.quality.model import Learner, RampUp
from linewright.base.calendar import HOUR
from linewright.capacity.model import Capacity
from linewright.flow.model import Flow
from linewright.network.model import Network
from linewright.worktime.learning import exponent

STANDARD_AT = 200
"""The piece that first takes the written time, where none is written (our own, no source)."""
FEWEST, MOST = 8, 52
"""Weeks shown: until everything is learned and the demand made, within these."""
STEPS = 16
"""Parts of a day within which the times are taken as they are at its beginning."""
Carries = dict[tuple[str, str], tuple[float, float, float]]
"""(kind, id) of a resource to the hours at hand, the hours loaded at the demand, and the multiple it carries."""


@dataclass(slots=True)
class _Learning:
    """One learner: its hours a working day at the demand on each resource that it loads, and what it has made."""

    operation: str
    rate: float
    standard_at: int
    b: float
    made_a_day: float
    hours: dict[tuple[str, str], float]
    made: float = 0.0
    week: int | None = None

    @property
    def slower(self) -> float:
        """How much longer the next piece takes than the written time; 1 once it is learned."""
        return max(1.0, float(((self.made + 1) / self.standard_at) ** self.b))


def ramp_up(network: Network, flow: Flow, capacity: Capacity, weeks: int | None = None) -> RampUp | None:
    """The rate by week while the plan's ``learning`` goes on; None where nothing is learned or wanted."""
    learners = _learners(network, flow, capacity)
    demand = sum(w.demand for w in capacity.wanted)
    if not learners or demand <= 0:
        return None
    carries: Carries = {(r.kind, r.id): (r.available, r.hours.total, r.most) for r in capacity.resources}
    standard = min(1.0, capacity.multiple)
    days = network.days_week
    rates: list[float] = []
    daily: list[float] = []
    while len(rates) < (weeks or MOST):
        daily += [demand * _day(learners, carries, standard) for _ in range(days)]
        rates.append(sum(daily[-days:]) / days)
        for one in learners:
            if one.week is None and one.slower == 1.0:
                one.week = len(rates)
        settled = all(one.week is not None for one in learners) and rates[-1] >= demand * standard * (1 - 1e-9)
        if weeks is None and settled and len(rates) >= FEWEST:
            break
    first = next((k + 1 for k, rate in enumerate(rates) if rate >= demand * (1 - 1e-9)), None)
    until = first - 1 if first is not None else len(rates)
    short = sum((demand - rate) * days for rate in rates[:until])
    told = tuple(Learner(x.operation, x.rate, x.standard_at, float(x.standard_at**-x.b), x.week) for x in learners)
    return RampUp(tuple(rates), tuple(daily), demand * standard, demand, first, short, told)


def _day(learners: list[_Learning], carries: Carries, standard: float) -> float:
    """The multiple of the demand made on one working day, and what is learned by it."""
    total = 0.0
    for _ in range(STEPS):
        multiple = min(standard, _carried(learners, carries))
        total += multiple / STEPS
        for one in learners:
            one.made += multiple * one.made_a_day / STEPS
    return total


def _carried(learners: list[_Learning], carries: Carries) -> float:
    """The multiple of the demand that the stations and crews carry with the times as they are now."""
    extra: dict[tuple[str, str], float] = {}
    for one in learners:
        for key, hours in one.hours.items():
            extra[key] = extra.get(key, 0.0) + (one.slower - 1.0) * hours
    found = float("inf")
    for key, more in extra.items():
        if key not in carries:
            continue
        available, total, most = carries[key]
        if more > 0 and total + more > 0:
            found = min(found, most, available / (total + more))
    return found


def _learners(network: Network, flow: Flow, capacity: Capacity) -> list[_Learning]:
    operations = network.operations
    found = []
    for route in network.plan.routes.values():
        for operation in route.operations:
            if operation.learning is None:
                continue
            o = operations.ids.index(operation.id)
            runs = float(flow.runs[o])
            at = operation.learning.standard_at or STANDARD_AT
            b = exponent(operation.learning.rate)
            people = _people(network, o, {r.id: r.count for r in capacity.resources if r.kind == "crew"})
            hours = _hours(network, o, float(flow.cycles[o]))
            found.append(_Learning(operation.id, operation.learning.rate, at, b, runs / people, hours))
    return found


def _people(network: Network, o: int, count: dict[str, int]) -> float:
    """Among how many the pieces of an operation are shared: people of its first crew, else places of its station."""
    index, at_once = network.operations.crews.row(o)
    if index.size:
        return max(1.0, count.get(network.crews.ids[int(index[0])], 1) / max(1.0, float(at_once[0])))
    stations = network.operations.stations.row(o)[0]
    return float(max(1, int(network.stations.places[stations].sum())))


def _hours(network: Network, o: int, cycles: float) -> dict[tuple[str, str], float]:
    """Hours a working day that an operation's own time takes of its station and its crews."""
    operations = network.operations
    run = float(operations.time.mean[o]) + float(operations.each[o]) * float(operations.load_most[o])
    hands = run if operations.hands_all[o] else float(operations.hands_start[o] + operations.hands_end[o])
    found: dict[tuple[str, str], float] = {}
    stations = operations.stations.row(o)[0].tolist()
    for s in stations:
        found[("station", network.stations.ids[s])] = cycles * run / HOUR / len(stations)
    for crew, people in zip(*(row.tolist() for row in operations.crews.row(o)), strict=True):
        share = people / max(1, int(operations.tends[o]))
        found[("crew", network.crews.ids[crew])] = cycles * hands * share / HOUR
    return found
