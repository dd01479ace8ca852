"""The rates of an instant: everyone runs as fast as he can, unless a store that he uses is at its bound.

docs/meaning.md, section 8: each bound that holds has a part between 0 and 1, the part of their full rate that those
whom it limits may run; everyone runs at the least part among his bounds. A part is the greatest with which the store
does not go past its bound. The parts are brought down one after the other; as a recycle could do this for ever, the
linear system of those that are below 1 is solved as soon as it is seen who governs whom, and tried.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

TINY = 1e-10
SWEEPS = 400


@dataclass(slots=True)
class Limit:
    """A bound that holds: change of its slack by activity, and the activities that it limits."""

    change: dict[int, float]
    limits: list[int]


def solve(caps: list[float], limits: list[Limit]) -> tuple[list[float], list[int]]:
    """The rate of every activity, and the limit that governs it (-1: none)."""
    of: list[list[int]] = [[] for _ in caps]
    for b, limit in enumerate(limits):
        for a in limit.limits:
            of[a].append(b)
    parts = [1.0] * len(limits)
    scale = [sum(abs(c) * caps[a] for a, c in limit.change.items()) + 1e-300 for limit in limits]
    for sweep in range(SWEEPS):
        moved = 0.0
        for b, limit in enumerate(limits):
            new = _greatest(b, limit, caps, of, parts)
            moved = max(moved, abs(new - parts[b]))
            parts[b] = new
        if moved <= TINY:
            break
        if sweep % 4 == 3:
            exact = _exact(caps, limits, of, parts)
            if exact is not None and _is_right(caps, limits, of, exact, scale):
                parts = exact
                break
    governs = [min(bs, key=lambda b: parts[b], default=-1) for bs in of]
    governs = [b if b >= 0 and parts[b] < 1.0 else -1 for b in governs]
    return _rates(caps, of, parts), governs


def _rates(caps: list[float], of: list[list[int]], parts: list[float]) -> list[float]:
    return [cap * min([parts[b] for b in bs], default=1.0) for cap, bs in zip(caps, of, strict=True)]


def _greatest(b: int, limit: Limit, caps: list[float], of: list[list[int]], parts: list[float]) -> float:
    """The greatest part of a limit with which its slack does not fall, the other parts as they are."""
    net, steps = 0.0, []
    limited = set(limit.limits)
    for a, change in limit.change.items():
        most = min([parts[other] for other in of[a] if other != b], default=1.0)
        if a in limited:
            steps.append((most, change * caps[a]))
        else:
            net += change * caps[a] * most
    if net + sum(most * slope for most, slope in steps) >= 0.0:
        return 1.0
    steps.sort(reverse=True)
    part, slope = 1.0, 0.0  # from above: below ``most`` an activity slows down with the part
    net += sum(most * slope for most, slope in steps)
    for most, own in steps:
        if slope < 0.0 and net + (most - part) * slope >= 0.0:
            break
        net += (most - part) * slope
        part, slope = most, slope + own
    return max(part - net / slope, 0.0) if slope < 0.0 else 0.0


def _exact(
    caps: list[float], limits: list[Limit], of: list[list[int]], parts: list[float]
) -> list[float] | None:  # fmt: skip
    """The parts below 1 from the linear system that the slacks of their limits do not change."""
    governs = [min(bs, key=lambda b: parts[b], default=-1) for bs in of]
    ruling = {b for b, cap in zip(governs, caps, strict=True) if b >= 0 and cap > 0.0 and parts[b] < 1.0 - TINY}
    rows = sorted(ruling)
    if not rows:
        return None
    at = {b: k for k, b in enumerate(rows)}
    left, right = np.zeros((len(rows), len(rows))), np.zeros(len(rows))
    for b in rows:
        for a, change in limits[b].change.items():
            if governs[a] in at:
                left[at[b], at[governs[a]]] += change * caps[a]
            else:
                right[at[b]] -= change * caps[a]
    try:
        found = np.linalg.solve(left, right)
    except np.linalg.LinAlgError:
        return None
    exact = list(parts)
    for b, part in zip(rows, found.tolist(), strict=True):
        exact[b] = part
    return exact


def _is_right(
    caps: list[float], limits: list[Limit], of: list[list[int]], parts: list[float], scale: list[float]
) -> bool:  # fmt: skip
    """Whether no slack falls, and nobody is held back by a limit whose slack grows."""
    if any(not -TINY <= part <= 1.0 + TINY for part in parts):
        return False
    rates = _rates(caps, of, parts)
    for b, limit in enumerate(limits):
        net = sum(change * rates[a] for a, change in limit.change.items()) / scale[b]
        if net < -TINY:
            return False
        rules = any(parts[b] <= min(parts[other] for other in of[a]) and caps[a] > 0.0 for a in limit.limits)
        if net > TINY and parts[b] < 1.0 - TINY and rules:
            return False
    return True
