"""The parts of the bounds brought down one after the other: for splits where pivoting does not end at the rates.

Where two flows compete for what a third shares between them, a bound can come to govern somebody who need not wait for
it. Then every bound gets in turn the greatest part with which its own slack does not fall; as on a recycle this could
go on for ever, the linear system of those below 1 is tried now and then, and taken when it is right.
"""

from __future__ import annotations

from linewright.simulate.kernel import flow_rows as f
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.flow_matrix import limits

SWEEPS = 400
CLOSE = 1e-12


def spot_of(m: Whole, base: int, active: int, b: int) -> int:
    """Where a bound stands in the active set; -1: it is not in it."""
    spot = -1
    for k in range(active):
        if m[base + k] == b:
            spot = k
    return spot


def begin_parts(m: Whole, x: Real, flows: int) -> None:
    """Every bound that holds begins with all."""
    bound = m[flows + f.F_BOUNDS]
    for _ in range(m[flows + f.F_N_BOUNDS]):
        x[bound + f.B_PART] = 1.0
        bound += f.BOUND_WIDTH


def sweep(m: Whole, x: Real, flows: int) -> float:
    """One round over the bounds that hold; the greatest change of a part."""
    moved = 0.0
    for b in range(m[flows + f.F_N_BOUNDS]):
        bound = m[flows + f.F_BOUNDS] + b * f.BOUND_WIDTH
        if m[bound + f.B_HOLDS] == 1:
            part = _greatest(m, x, flows, b)
            moved = max(moved, abs(part - x[bound + f.B_PART]))
            x[bound + f.B_PART] = part
    return moved


def govern_by_parts(m: Whole, x: Real, flows: int) -> int:
    """Let every activity be governed by the least part among its bounds; the size of the active set."""
    acts, rates, base = m[flows + f.F_ACTS], m[flows + f.F_RATES], m[flows + f.F_ACTIVE]
    for a in range(acts):
        m[rates + a] = 0
    active = 0
    for a in range(acts):
        least, found = 1.0 - CLOSE, -1
        for b in range(m[flows + f.F_N_BOUNDS]):
            bound = m[flows + f.F_BOUNDS] + b * f.BOUND_WIDTH
            if m[bound + f.B_HOLDS] == 1 and x[bound + f.B_PART] < least and limits(m, flows, b, a):
                least, found = x[bound + f.B_PART], b
        if found < 0 or x[m[flows + f.F_CAPS] + a] == 0.0:
            continue
        spot = spot_of(m, base, active, found)
        if spot < 0:
            spot = active
            m[base + spot] = found
            x[base + spot] = least
            active += 1
        m[rates + a] = spot + 1
    return active


def _greatest(m: Whole, x: Real, flows: int, b: int) -> float:
    """The greatest part of a bound with which its slack does not fall, the other parts as they are.

    The change of its slack is a line between the parts of the others: these are gone through from above.
    """
    acts, caps = m[flows + f.F_ACTS], m[flows + f.F_CAPS]
    row, entries = m[flows + f.F_PRESENT] + b * acts, m[flows + f.F_ENTRIES] + b * (acts + 1)
    part = 1.0
    for _ in range(acts + 2):
        net, slope, below = 0.0, 0.0, 0.0
        for k in range(m[entries]):
            a = m[entries + 1 + k]
            change = x[row + a] * x[caps + a]
            most = _others(m, x, flows, b, a)
            if not limits(m, flows, b, a):
                net += change * most
            elif most >= part:
                net += change * part
                slope += change
            else:
                net += change * most
                below = max(below, most)
        if net >= 0.0:
            return part
        if slope < 0.0 and net + slope * (below - part) >= 0.0:
            return part - net / slope
        if below <= 0.0:
            return 0.0
        part = below
    return 0.0


def _others(m: Whole, x: Real, flows: int, b: int, a: int) -> float:
    """The least part that the other bounds leave an activity."""
    least = 1.0
    for other in range(m[flows + f.F_N_BOUNDS]):
        bound = m[flows + f.F_BOUNDS] + other * f.BOUND_WIDTH
        if other != b and m[bound + f.B_HOLDS] == 1 and x[bound + f.B_PART] < least and limits(m, flows, other, a):
            least = x[bound + f.B_PART]
    return least
