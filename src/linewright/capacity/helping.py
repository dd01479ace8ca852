"""Crews that stand in for each other, as resources of the plan: hours at the demand, people needed, and their bound."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from linewright.base.calendar import Calendar
from linewright.capacity.lending import Shared, greatest_together, groups, person_hours, share_out
from linewright.capacity.loads import CrewWork
from linewright.capacity.model import Bound, Hours, Resource
from linewright.capacity.rates import Work, crew_hours
from linewright.capacity.said import figure, name_of
from linewright.network.lending import able_to
from linewright.network.model import Floats


@dataclass(frozen=True, slots=True)
class Helping:
    """All crews, the bounds of those that stand in for each other, and the share [n_lends] of a crew's work lent."""

    resources: tuple[Resource, ...]
    bounds: tuple[Bound, ...]
    lent: Floats


@dataclass(frozen=True, slots=True)
class _Group:
    """Crews that are tied together, their jobs in a week, and operations whose runs may end after a shift."""

    work: Work
    crews: tuple[int, ...]
    jobs: Mapping[int, Mapping[float, float]]
    late: Sequence[int]

    def greatest(self, instead: Mapping[int, Calendar]) -> Shared:
        """The greatest multiple of the jobs, with other calendars in place of some crews' own."""
        network = self.work.network
        manned = {c: crew_hours(self.work, c, self.late, instead.get(c)) for c in self.crews}

        def able(crew: int, _: object) -> dict[int, float]:
            return crew_hours(self.work, crew, self.late, able_to(network, crew, instead))

        return greatest_together(self.crews, network.crews.lends, self.jobs, manned, able)

    def needed(self, crew: int, alone: int | None) -> int | None:
        """The least number of the crew's people at the fullest time, everybody else as planned."""
        calendar = self.work.network.calendars[int(self.work.network.crews.calendar[crew])]
        most = alone if alone is not None else calendar.most

        def enough(people: int) -> bool:
            level = np.ceil(calendar.level * people / calendar.most - 1e-9).astype(np.int64)
            return self.greatest({crew: Calendar(calendar.at, level)}).multiple >= 1 - 1e-9

        found = 1 + bisect_left(range(1, most + 1), True, key=enough)  # more people never make it less
        return found if found <= most else alone


def help_each_other(
    work: Work, resources: Sequence[Resource], late: Sequence[Sequence[int]], whole: Sequence[CrewWork],
    cut: Sequence[CrewWork], first: float,
) -> Helping:  # fmt: skip
    """Crews as they are alone (``resources``), changed by whom they can stand in for.

    ``late`` are the operations of each crew that may end after its shift, ``whole`` and ``cut`` the work of each with
    times in full and cut off; ``first`` the demand of the first item wanted.
    """
    network, days = work.network, work.network.days_week
    lends = network.crews.lends
    out, bounds, lent = list(resources), list[Bound](), np.zeros(len(lends))
    for crews in groups(lends):
        finishing = sorted({o for c in crews for o in late[c]})
        jobs = {c: {size: h * days for size, h in (cut if finishing else whole)[c].jobs.items()} for c in crews}
        group = _Group(work, crews, jobs, finishing)
        found = group.greatest({})
        lent += _shares(work, crews, whole)
        for c in crews:
            most = found.multiple if c in found.limits else max(found.multiple, resources[c].most)
            out[c] = replace(resources[c], most=most, needed=group.needed(c, resources[c].needed))
        if math.isfinite(found.multiple):
            limits = [network.crews.ids[c] for c in found.limits]
            why = _why(work, group, found)
            bounds.append(Bound("shared people", ", ".join(limits), found.multiple, first * found.multiple, why))
    return Helping(tuple(_moved(work, out, lent)), tuple(bounds), lent)


def _shares(work: Work, crews: tuple[int, ...], whole: Sequence[CrewWork]) -> Floats:
    """[n_lends] the part of a crew's work that others do at the demand, where its own people do all they can."""
    lends, days = work.network.crews.lends, work.network.days_week
    wanted = {c: whole[c].hours.total * days for c in crews}
    manned = {c: crew_hours(work, c, ()) for c in crews}
    most = share_out(crews, lends, wanted, manned)
    if most is None or math.isinf(most.multiple):
        return np.zeros(len(lends))
    at = min(1.0, most.multiple) * (1 - 1e-12)
    least = share_out(crews, lends, wanted, manned, at)
    lent = (least or most).lent * lends.pace
    of = np.array([wanted.get(int(c), 0.0) for c in lends.to]) * at
    return np.divide(lent, of, out=np.zeros(len(lends)), where=of > 0)


def _moved(work: Work, resources: Sequence[Resource], lent: Floats) -> list[Resource]:
    """Hours at the demand with those who stand in: theirs are longer where they are slower."""
    lends, out = work.network.crews.lends, list(resources)
    for c in dict.fromkeys([*lends.lender.tolist(), *lends.to.tolist()]):
        given = float(lent[lends.to == c].sum())
        hours = Hours(*((1 - given) * getattr(resources[c].hours, name) for name in Hours.__dataclass_fields__))
        rows = np.flatnonzero(lends.lender == c).tolist()
        extra = sum(float(lent[k] / lends.pace[k]) * resources[int(lends.to[k])].hours.total for k in rows)
        hours = replace(hours, working=hours.working + extra)
        available = resources[c].available
        use = 0.0 if hours.total <= 0 else hours.total / available if available > 0 else math.inf
        out[c] = replace(resources[c], hours=hours, use=use)
    return out


def _why(work: Work, group: _Group, found: Shared) -> str:
    """One sentence: the hours wanted, and the hours of those who can do it."""
    network, days = work.network, work.network.days_week
    lends = network.crews.lends
    names = ", ".join(name_of(network, network.crews.ids[c]) for c in found.limits)
    if found.multiple <= 0:
        return f"{names} can never do it: a job needs more people at once than can ever do it."
    wanted = sum(size * hours for c in found.limits for size, hours in group.jobs[c].items()) / days
    own = sum(person_hours(crew_hours(work, c, group.late)) for c in found.limits) / days
    lenders = dict.fromkeys(int(lends.lender[k]) for c in found.limits for k in lends.for_crew(c))
    others = ", ".join(name_of(network, network.crews.ids[c]) for c in lenders if c not in found.limits)
    helped = f", with what {others} can do of it" if others else ""
    return (
        f"{names}: {figure(own)} person-hours a working day{helped}; the demand takes {figure(wanted)} h at the pace "
        "of their own people."
    )
