"""People and hours: whether those whom an operation needs are ever there together, and enough of them."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from linewright.plan.hours import MINUTES, minutes_of
from linewright.plan.model import Crew, Plan
from linewright.plan.paths import join
from linewright.plan.reading import Reading
from linewright.plan.whole import Placed, crews_of

Levels = NDArray[np.int64]


def check_people(plan: Plan, placed: list[Placed], reading: Reading) -> None:
    """Note operations whose crews are never there together, or never that many."""
    shifts = {id: minutes_of(shift) for id, shift in plan.shifts.items()}
    sound = [crew for crew in plan.crews.values() if shifts.keys() >= crew.people.keys()]
    levels = {crew.id: levels_of(crew, shifts) for crew in sound}
    seen: dict[tuple[object, ...], str | None] = {}
    for one in placed:
        for field, crew in crews_of(one.operation):
            stations = one.operation.station
            key = (tuple(crew.items()), stations)
            if key not in seen:
                seen[key] = _never(crew, stations, plan, shifts, levels)
            what = seen[key]
            if what is not None:
                reading.error(
                    f"{one.path}.{field}", f"{one.title}: {what}", dict(crew), "people who are there together"
                )
    _check_mending(plan, levels, reading)


def levels_of(crew: Crew, shifts: Mapping[str, int]) -> Levels:
    """How many people of a crew are there in each minute of the week."""
    level = np.zeros(MINUTES, dtype=np.int64)
    for shift, people in crew.people.items():
        there = shifts[shift].to_bytes(MINUTES // 8, "little")
        level += people * np.unpackbits(np.frombuffer(there, dtype=np.uint8), bitorder="little").astype(np.int64)
    return level


def _never(
    crew: Mapping[str, float],
    stations: tuple[str, ...],
    plan: Plan,
    shifts: Mapping[str, int],
    levels: Mapping[str, Levels],
) -> str | None:
    """Why the crew can never work at any of the stations, or None where it can."""
    together = np.ones(MINUTES, dtype=bool)
    needed = {id: people for id, people in crew.items() if id in levels}  # what could not be read has its problem
    for id, people in needed.items():
        able = who_can((id,), plan, levels)
        if able.max() < people:
            return f'it needs {people:g} of crew "{id}", and there are never more than {able.max()}'
    for some in _parts_of(needed, plan):
        together &= who_can(some, plan, levels) >= sum(needed[id] for id in some)
    if not together.any():
        return f"its crews have no common hours: {', '.join(crew)}"
    if stations and not any((together & _open(plan, station, shifts)).any() for station in stations):
        return f"crew {', '.join(crew)} and station {', '.join(stations)} have no common hours"
    return None


def _parts_of(needed: Mapping[str, float], plan: Plan) -> list[tuple[str, ...]]:
    """The groups of crews whose people must suffice: each crew, and where somebody can stand in all groups of them."""
    helped = any(needed.keys() & plan.crews[id].can.keys() for id in plan.crews)
    sizes = range(1, len(needed) + 1 if helped else 2)
    return [some for size in sizes for some in combinations(needed, size)]


def who_can(some: tuple[str, ...], plan: Plan, levels: Mapping[str, Levels]) -> Levels:
    """How many people can do work of some crews in each minute of the week: their own, and who can do it besides."""
    able = sum((levels[id] for id in some), np.zeros(MINUTES, dtype=np.int64))
    for crew in plan.crews.values():
        if crew.id not in some and crew.id in levels:
            lent = sum(skill.people for other, skill in crew.can.items() if other in some)
            able = able + np.minimum(levels[crew.id], lent) if lent else able
    return able


def _open(plan: Plan, station: str, shifts: Mapping[str, int]) -> NDArray[np.bool_]:
    """The minutes of the week at which a station can work."""
    known = plan.stations.get(station)
    if known is None or not known.hours or not shifts.keys() >= set(known.hours):
        return np.ones(MINUTES, dtype=bool)
    own = Crew(station, dict.fromkeys(known.hours, 1))
    return levels_of(own, shifts) > 0


def _check_mending(plan: Plan, levels: Mapping[str, Levels], reading: Reading) -> None:
    for id, station in plan.stations.items():
        for number, stoppage in enumerate(station.stoppages):
            for crew, people in stoppage.crew.items():
                able = int(who_can((crew,), plan, levels).max()) if crew in levels else 0
                if crew in levels and people > able:
                    path = join(f"{join('stations', id)}.stoppages[{number}].crew", crew)
                    what = f'never more than {able} of crew "{crew}" are there'
                    reading.error(path, what, people, "people who are there together")
