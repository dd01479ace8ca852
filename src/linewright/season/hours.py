"""Hours of people and stations on every day of the horizon."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from linewright.base.calendar import DAY, HOUR, WEEK, Calendar
from linewright.capacity.hours import Hours, both, either
from linewright.capacity.segments import segments
from linewright.capacity.stations import Openings, people_of, uncrewed_runs
from linewright.network.lending import able_to
from linewright.network.model import Floats, Network
from linewright.season.legs import Leg


def by_weekday(calendar: Calendar) -> Floats:
    """[7] the integral of a calendar's level over each day of the week, in hours."""
    ends = np.append(calendar.at[1:], WEEK)
    begins = np.arange(7, dtype=np.int64)[:, None] * DAY
    inside = np.clip(np.minimum(ends, begins + DAY) - np.maximum(calendar.at, begins), 0, None)
    return np.asarray((inside * calendar.level).sum(axis=1) / HOUR, dtype=np.float64)


def open_by_weekday(hours: Hours) -> Floats:
    """[7] open hours of each day of the week."""
    return np.array(
        [
            sum(max(min(end, (d + 1) * DAY) - max(begin, d * DAY), 0) for begin, end in hours.spans) / HOUR
            for d in range(7)
        ]
    )


def over_horizon(network: Network, week: Floats, *, closes: bool = True) -> Floats:
    """[days] a day of the week's hours on every day of the horizon; none on closed days where it ``closes``."""
    season = network.season
    assert season is not None
    out = week[(np.arange(season.days) + season.weekday) % 7]
    return np.where(season.closed, 0.0, out) if closes else out


def crew_days(network: Network) -> list[Floats]:
    """Person-hours of those who can do the work of every crew on every day: not too few, if somebody can do several."""
    return [over_horizon(network, by_weekday(able_to(network, c))) for c in range(len(network.crews.ids))]


def station_days(network: Network, legs: Iterable[Leg]) -> dict[tuple[int, ...], Floats]:
    """Place-hours on every day, of stations that share work and hold no load for days."""
    legs = list(legs)
    held = {s for leg in legs for s in leg.stations}
    groups = _components([a for leg in legs if not leg.is_vessel for a in leg.enter.stations])
    return {group: _place_hours(network, legs, group) for group in groups if not held & set(group)}


def _components(alternatives: Iterable[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Stations tied together by alternatives."""
    groups: list[set[int]] = []
    for stations in alternatives:
        joined = set(stations)
        apart = []
        for group in groups:
            if group & joined:
                joined |= group
            else:
                apart.append(group)
        groups = [*apart, joined]
    return [tuple(sorted(group)) for group in groups]


def _place_hours(network: Network, legs: list[Leg], group: tuple[int, ...]) -> Floats:
    """Open hours of those who work there, and as much of the closed ones as the longest run with nobody by can use."""
    openings, parts = Openings(network), segments(network)
    manned: list[Hours] = []
    alone = 0.0
    free = False
    for leg in legs:
        for visit in _visits(network, leg):
            stations = network.operations.stations.row(visit[0])[0].tolist()
            if leg.is_vessel or not set(stations) & set(group):
                continue
            for station in stations:
                for o in visit:
                    if parts.crewed[o]:
                        team = openings.team(people_of(network.operations.crews, o))
                        manned.append(both(openings.station(station), team))
            head, tail, within, whole = uncrewed_runs(visit, parts)
            if whole is not None:
                own = [openings.station(station) for station in stations]
                free = free or any(hours.always for hours in own)
                manned += own
            else:
                alone = max(alone, head + tail, within)
    week = open_by_weekday(either(manned)) if manned else np.zeros(7)
    week = np.where(week > 0, np.minimum(week + alone / HOUR, 24.0), 0.0)
    places = float(network.stations.places[list(group)].sum())
    return places * over_horizon(network, np.full(7, 24.0) if free else week, closes=not free)


def _visits(network: Network, leg: Leg) -> list[tuple[int, ...]]:
    found: list[tuple[int, ...]] = []
    for v in sorted(set(network.operations.visit[leg.first : leg.last + 1].tolist())):
        found.append(tuple(range(int(network.visits.first[v]), int(network.visits.last[v]) + 1)))
    return found
