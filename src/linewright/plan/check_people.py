"""People and hours: whether those whom an operation needs are ever there together, and enough of them."""

from __future__ import annotations

from collections.abc import Mapping

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
    levels = _with_those_who_can(sound, {crew.id: levels_of(crew, shifts) for crew in sound})
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


def _with_those_who_can(crews: list[Crew], own: Mapping[str, Levels]) -> dict[str, Levels]:
    """How many can do the work of each crew in each minute of the week: its own people, and who can do it besides."""
    able = dict(own)
    for crew in crews:
        for other, skill in crew.can.items():
            if other in able and other != crew.id:
                able[other] = able[other] + np.minimum(own[crew.id], skill.people)
    return able


def _never(
    crew: Mapping[str, float],
    stations: tuple[str, ...],
    plan: Plan,
    shifts: Mapping[str, int],
    levels: Mapping[str, Levels],
) -> str | None:
    """Why the crew can never work at any of the stations, or None where it can."""
    together = np.ones(MINUTES, dtype=bool)
    for id, people in crew.items():
        if id not in levels:
            continue  # a crew that could not be read has its problem already
        if levels[id].max() < people:
            return f'it needs {people:g} of crew "{id}", and there are never more than {levels[id].max()}'
        together &= levels[id] >= people
    if not together.any():
        return f"its crews have no common hours: {', '.join(crew)}"
    if stations and not any((together & _open(plan, station, shifts)).any() for station in stations):
        return f"crew {', '.join(crew)} and station {', '.join(stations)} have no common hours"
    return None


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
                if crew in levels and people > levels[crew].max():
                    path = join(f"{join('stations', id)}.stoppages[{number}].crew", crew)
                    what = f'never more than {levels[crew].max()} of crew "{crew}" are there'
                    reading.error(path, what, people, "people who are there together")
