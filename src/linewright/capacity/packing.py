"""How much work can so many people do when jobs need several at once? Six people at four each is one job at a time.

The people who are there at one time are shared out as a pattern: how many jobs of each size run together. The greatest
rate is a linear program over the patterns of every level of manning, which is exact for the packing alone.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

_MOST_PATTERNS = 4000


def greatest_multiple(work: Mapping[float, float], manned: Mapping[int, float]) -> float:
    """Greatest multiple of the work that can be done.

    ``work`` maps people needed at once to hours of such jobs, ``manned`` people who are there to hours. Returns inf
    where there is no work and 0 where a job needs more people than are ever there.

    >>> greatest_multiple({4: 10.0}, {6: 10.0})  # person-hours alone would say 1.5
    1.0
    >>> greatest_multiple({4: 10.0, 2: 10.0}, {6: 10.0})
    1.0
    """
    wanted = {size: hours for size, hours in work.items() if size > 0 and hours > 0}
    if not wanted:
        return math.inf
    levels = {people: hours for people, hours in manned.items() if people > 0 and hours > 0}
    if max(wanted) > max(levels, default=0) + 1e-9:
        return 0.0
    if len(wanted) == 1:
        ((size, hours),) = wanted.items()
        return sum(fit(people, size) * h for people, h in levels.items()) / hours
    if _nested(sorted(wanted)):
        return _by_sizes(wanted, levels)
    return _by_patterns(wanted, levels)


def fit(people: float, size: float) -> int:
    """How many jobs of one size so many people can do at once."""
    return math.floor(people / size + 1e-9)


def _divides(size: float, people: float) -> bool:
    return abs(people / size - round(people / size)) < 1e-9


def _nested(sizes: Sequence[float]) -> bool:
    """Whether each size divides the next: then nothing is lost in packing."""
    return all(_divides(a, b) for a, b in pairwise(sizes))


def _by_sizes(work: Mapping[float, float], manned: Mapping[int, float]) -> float:
    """Nested sizes: the jobs of a size and above must fit into whole numbers of that size; no other loss is there."""
    return min(
        sum(fit(people, size) * size * h for people, h in manned.items())
        / sum(other * h for other, h in work.items() if other >= size)
        for size in work
    )


def _by_hours(work: Mapping[float, float], manned: Mapping[int, float]) -> float:
    return sum(p * h for p, h in manned.items()) / sum(s * h for s, h in work.items())


def _by_patterns(work: Mapping[float, float], manned: Mapping[int, float]) -> float:
    """maximise m with sum of pattern counts x hours = m work for each size, hours of each level's patterns as manned.

    A size that no pattern of a level can hold is left out there. With too many patterns the person-hours stand in: a
    weaker bound, and still one.
    """
    from scipy.optimize import linprog

    sizes = sorted(work, reverse=True)
    patterns: list[tuple[int, ...]] = []
    level_of: list[int] = []
    people = sorted(manned)
    for row, there in enumerate(people):
        found = _patterns(there, sizes)
        if found is None:
            return _by_hours(work, manned)
        patterns += found
        level_of += [row] * len(found)
    counts = np.array(patterns, dtype=np.float64).T  # [n_sizes, n_patterns]
    wanted = np.array([work[size] for size in sizes])
    scale = wanted.max()
    covers = np.hstack([-counts, (wanted / scale)[:, None]])
    within = np.zeros((len(people), len(patterns) + 1))
    within[level_of, range(len(patterns))] = 1.0
    hours = np.array([manned[p] for p in people]) / scale
    goal = np.zeros(len(patterns) + 1)
    goal[-1] = -1.0
    answer = linprog(goal, np.vstack([covers, within]), np.concatenate([np.zeros(len(sizes)), hours]), method="highs")
    return float(np.asarray(answer.x)[-1]) if answer.status == 0 else _by_hours(work, manned)


def _patterns(people: float, sizes: Sequence[float]) -> list[tuple[int, ...]] | None:
    """Every fullest pattern of jobs, sizes falling; None where there are too many."""
    found: list[tuple[int, ...]] = []

    def grow(left: float, k: int, chosen: tuple[int, ...]) -> bool:
        if k == len(sizes) - 1:
            found.append((*chosen, fit(left, sizes[k])))
            return len(found) <= _MOST_PATTERNS
        return all(grow(left - n * sizes[k], k + 1, (*chosen, n)) for n in range(fit(left, sizes[k]), -1, -1))

    return found if grow(float(people), 0, ()) else None


def people_needed(work: Mapping[float, float], manned: Mapping[int, float]) -> int | None:
    """The least number of people at the fullest time that can do the work, every level scaled alike and rounded up.

    None where no number can (there are no hours).
    """
    fullest = max(manned, default=0)
    hours = {p: h for p, h in manned.items() if p > 0}
    if not any(size > 0 and h > 0 for size, h in work.items()):
        return 0
    if not hours:
        return None
    start = max(1, math.ceil(max(work) - 1e-9), math.floor(fullest / max(_by_hours(work, hours), 1e-12) - 1e-9))

    def enough(people: int) -> bool:
        scaled: dict[int, float] = {}
        for there, h in hours.items():
            level = math.ceil(there * people / fullest - 1e-9)
            scaled[level] = scaled.get(level, 0.0) + h
        return greatest_multiple(work, scaled) >= 1 - 1e-9

    few, many = start - 1, 4 * start + 7  # more people never do less, so halving finds the least
    if not enough(many):
        return None
    while many - few > 1:
        middle = (few + many) // 2
        few, many = (few, middle) if enough(middle) else (middle, many)
    return many
