"""Skills: a crew can do another crew's work, not its own, with no more people than are ever there."""

from __future__ import annotations

from linewright.plan.check_people import levels_of
from linewright.plan.hours import minutes_of
from linewright.plan.model import Plan
from linewright.plan.paths import join
from linewright.plan.reading import Reading


def check_skills(plan: Plan, reading: Reading) -> None:
    """Note what a crew says it can do and cannot."""
    shifts = {id: minutes_of(shift) for id, shift in plan.shifts.items()}
    for crew in plan.crews.values():
        if not crew.can or not shifts.keys() >= crew.people.keys():
            continue
        most = int(levels_of(crew, shifts).max())
        for other, skill in crew.can.items():
            path = join(f"{join('crews', crew.id)}.can", other)
            if other == crew.id:
                reading.error(path, "a crew does its own work anyway", other, "another crew")
            elif skill.people > most:
                what = f'never more than {most} of crew "{crew.id}" are there'
                reading.error(path, what, skill.people, f"at most {most}")
