"""How much can crews do that stand in for each other? Their hours shared out as well as can be: an upper bound.

A linear program over the person-hours of a group of crews. Packing (teams that do not fit the number of people) is
counted crew by crew, with everybody there who can do its work. Who is exact to the minute, who waits for whom and which
of a team is the slowest is left out: all of that only lowers the rate.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from linewright.capacity.packing import greatest_multiple
from linewright.network.lending import Lends
from linewright.network.model import Floats

_LARGE = 1e9
"""Hours a week that stand for no limit."""

Jobs = Mapping[float, float]
Manned = Mapping[int, float]


@dataclass(frozen=True, slots=True)
class Shared:
    """The greatest ``multiple`` of the work of a group, the hours ``lent`` [n_lends] for it, and who ``limits`` it."""

    multiple: float
    lent: Floats
    limits: tuple[int, ...]


def groups(lends: Lends) -> list[tuple[int, ...]]:
    """Crews that are tied together by who can do whose work, each group sorted.

    >>> import numpy as np
    >>> whole, share = np.array([1, 1, 1]), np.ones(3)
    >>> groups(Lends(np.array([0, 2, 5]), np.array([1, 1, 6]), whole, share))
    [(0, 1, 2), (5, 6)]
    """
    found: list[set[int]] = []
    for a, b in zip(lends.lender.tolist(), lends.to.tolist(), strict=True):
        touched = [g for g in found if g & {a, b}]
        found = [g for g in found if g not in touched]
        found.append(set[int]().union({a, b}, *touched))
    return sorted(tuple(sorted(g)) for g in found)


def person_hours(manned: Manned, most: float = math.inf) -> float:
    """Person-hours of people who are there, at most so many of them at once."""
    return min(sum(min(people, most) * hours for people, hours in manned.items()), _LARGE)


def share_out(
    group: Sequence[int], lends: Lends, work: Mapping[int, float], manned: Mapping[int, Manned], at: float | None = None
) -> Shared | None:
    """The most of the ``work`` (person-hours at the pace of its own crew) that a group of crews can do together.

    maximise m: own_c + sum over lends k to c of pace_k lent_k >= m work_c; own_c + sum over lends k of c of lent_k <=
    person-hours of c; lent_k <= person-hours of so many of them. With ``at`` (a multiple) the least hours lent at it;
    None where it cannot be reached.
    """
    from scipy.optimize import linprog

    n, place = len(group), {c: k for k, c in enumerate(group)}
    rows = [k for k in range(len(lends)) if int(lends.to[k]) in place]
    wanted = np.array([work.get(c, 0.0) for c in group])
    if at is None and not wanted.any():
        return Shared(math.inf, np.zeros(len(lends)), ())
    covers, within = np.zeros((n, n + len(rows) + 1)), np.zeros((n, n + len(rows) + 1))
    covers[range(n), range(n)], within[range(n), range(n)] = -1.0, 1.0
    covers[:, -1] = wanted
    for j, k in enumerate(rows):
        covers[place[int(lends.to[k])], n + j] = -lends.pace[k]
        within[place[int(lends.lender[k])], n + j] = 1.0
    goal = np.zeros(n + len(rows) + 1)
    if at is None:
        goal[-1] = -1.0
    else:
        goal[n:-1] = 1.0
    free: tuple[float, float | None] = (0.0, None)
    most = [(0.0, person_hours(manned[int(lends.lender[k])], float(lends.people[k]))) for k in rows]
    bounds = [*[free] * n, *most, free if at is None else (at, at)]
    hours = [person_hours(manned[c]) for c in group]
    answer = linprog(goal, np.vstack([covers, within]), [*[0.0] * n, *hours], bounds=bounds, method="highs")
    if answer.status != 0:
        return None
    found, lent = np.asarray(answer.x), np.zeros(len(lends))
    lent[rows] = found[n:-1]
    limits = tuple(c for k, c in enumerate(group) if answer.ineqlin.marginals[k] < -1e-9 and wanted[k] > 0)
    return Shared(float(found[-1]), lent, limits)


def greatest_together(
    group: Sequence[int],
    lends: Lends,
    jobs: Mapping[int, Jobs],
    manned: Mapping[int, Manned],
    able: Callable[[int, Mapping[int, Manned]], Manned],
) -> Shared:
    """The greatest multiple of the jobs of a group: by hours shared out, and by packing all who can do the work."""
    work = {c: sum(size * hours for size, hours in jobs[c].items()) for c in group}
    found = share_out(group, lends, work, manned)
    assert found is not None, "nothing done and nothing lent is always possible"
    for crew in group:
        packed = greatest_multiple(jobs[crew], able(crew, manned))
        if packed < found.multiple:
            found = Shared(packed, found.lent, (crew,))
    return found
