"""Where standing or a crew's going home decides: the exact rate of stations with one kind of visit of fixed times.

Place-time alone is a weak bound where a visit must begin and end in crew hours. One place with fixed times can be
followed exactly (overnight), and its rate times the number of places is a bound for every plan.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from linewright.base.distributions import Shape
from linewright.capacity.hours import both
from linewright.capacity.model import Bound
from linewright.capacity.overnight import Step, orbit
from linewright.capacity.rates import StationRate, Visit, Work
from linewright.capacity.said import figure, name_of
from linewright.capacity.stations import people_of, visits_by_station, visits_of
from linewright.network.model import Cleans, Network, Stops

_BUDGET = 40_000  # steps followed in all, so that a plan of thousands of stations stays quick


def place_bounds(work: Work, rates: Sequence[StationRate], first: float) -> dict[int, Bound]:
    """Bound of every station that one kind of visit has to itself, the fullest first, as far as the budget goes.

    ``first`` is the demand of the first item [units a working day].
    """
    at = visits_by_station(visits_of(work.network))
    out: dict[int, Bound] = {}
    budget = _BUDGET
    for rate in sorted(rates, key=lambda r: r.multiple):
        visits = at[rate.station]
        if budget <= 0 or rate.together or len(visits) != 1 or not _plays(work, visits[0], rate):
            continue
        steps = _steps(work, visits[0], rate.station)
        longest = min(3000, budget // max(1, len(steps)))
        found = orbit(steps, longest)
        budget -= len(steps) * min(longest, found.visits + 1 if found and found.exact else longest)
        if found is None or not found.weeks:
            continue
        bound = _bound(work, visits[0], rate, found.per_week, found.exact, first)
        if bound is not None:
            out[rate.station] = bound
    return out


def _plays(work: Work, visit: Visit, rate: StationRate) -> bool:
    """Fixed times, no piece that leaves the visit early, one load size, and some of it across a closed time."""
    network = work.network
    table = network.operations
    rows = np.array(visit)
    if rate.offered.hours.always or not rate.offered.hours.spans:
        return False
    fixed = (table.time.shape[rows] == Shape.FIXED).all() and (table.stand.shape[rows] == Shape.FIXED).all()
    leaves = (table.survives[rows[:-1]] < 1).any() or any(i.operation in visit[:-1] for i in network.inspections)
    one_load = np.ptp(table.load_most[rows]) == 0
    parts, _ = work.at(math.inf)
    crosses = (parts.alone[rows] + parts.stand[rows] > 0).any() or (table.stop[rows] != Stops.ANYWHERE).any()
    return bool(fixed and not leaves and one_load and crosses)


def _steps(work: Work, visit: Visit, station: int) -> list[Step]:
    """The visit as steps; where only a part of a run is crewed, only its beginning meets the end of a shift."""
    parts, _ = work.at(math.inf)
    table = work.network.operations
    own = work.openings.station(station)
    steps: list[Step] = []
    for o in visit:
        if parts.crewed[o]:
            hours = both(own, work.openings.team(people_of(table.crews, o)))
            steps.append(Step(int(parts.begin[o]), hours, int(table.stop[o])))
            steps.append(Step(int(parts.alone[o])))
            steps.append(Step(int(parts.end[o]), hours))
        else:
            steps.append(Step(int(parts.alone[o])))
        steps.append(Step(int(parts.stand[o])))
        if table.clean_when[o] == Cleans.LOAD and table.clean.shape[o] == Shape.FIXED:
            people = people_of(table.clean_crews, o)
            cleaners = both(own, work.openings.team(people)) if people else None
            steps.append(Step(int(table.clean.mean[o]), cleaners))
    return [step for step in steps if step.length > 0]


def _bound(work: Work, visit: Visit, at: StationRate, per_week: float, exact: bool, first: float) -> Bound | None:
    network = work.network
    needed = float(work.flow.cycles[visit[0]]) * network.days_week
    if needed <= 0:
        return None
    places = int(network.stations.places[at.station])
    multiple = places * per_week / needed
    name = network.stations.ids[at.station]
    a_day = per_week / network.days_week
    rate = f"{figure(a_day)} visits a working day" if a_day >= 1 else f"one visit in {figure(1 / a_day)} working days"
    text = f"One place of {name_of(network, name)} can make {'' if exact else 'at most '}{rate}, because "
    text += _because(network, visit)
    return Bound("calendar cycle", name, multiple, first * multiple, text)


def _because(network: Network, visit: Visit) -> str:
    stops = {int(network.operations.stop[o]) for o in visit}
    if Stops.FITS in stops:
        return "work is not begun unless it fits before the crew goes."
    return "a place waits for the crew to come back whenever standing ends while they are away."
