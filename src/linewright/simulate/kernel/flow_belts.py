"""What flows may dwell in its machine: a belt of stretches, each as full as it was loaded, moving as the machine runs.

A stretch is as long as the time that it takes to pass at full speed. What is behind a gap waits for the gap to pass;
where nothing can leave, the whole belt stands, and nothing can be put on.
"""

from __future__ import annotations

from linewright.simulate.kernel import flow_rows as f
from linewright.simulate.kernel.cells import Real, Whole

ALIKE = 1e-12
A_FEW_NS = 10.0


def spot_of(m: Whole, belt: int, k: int) -> int:
    """Where the k-th stretch from the front lies: its length, and behind it how full it is."""
    size = m[belt + f.E_SIZE]
    return belt + f.BELT_WIDTH + 2 * ((m[belt + f.E_FIRST] + k) % size)


def is_empty(m: Whole, x: Real, runner: int) -> bool:
    """Whether nothing but rounding dwells in a runner."""
    belt = m[runner + f.N_BELT]
    if m[belt + f.E_COUNT] == 1 and x[spot_of(m, belt, 0) + 1] == 0.0:
        return True
    return x[runner + f.N_CONTENT] <= A_FEW_NS * x[runner + f.N_CAP]


def clear(m: Whole, x: Real, belt: int) -> None:
    """What rounding has left on a belt is nothing."""
    m[belt + f.E_COUNT] = 1
    x[spot_of(m, belt, 0)] = x[belt + f.E_LENGTH]
    x[spot_of(m, belt, 0) + 1] = 0.0


def front(m: Whole, x: Real, runner: int) -> float:
    """How full the belt is where it ends, as part of full."""
    belt = m[runner + f.N_BELT]
    return x[spot_of(m, belt, 0) + 1]


def until_next_stretch(m: Whole, x: Real, runner: int) -> float:
    """ns of running at full speed until another stretch comes to the end; below zero: all is alike."""
    belt = m[runner + f.N_BELT]
    spot = spot_of(m, belt, 0)
    if m[belt + f.E_COUNT] == 1 and abs(x[spot + 1] - loading(x, runner)) <= ALIKE:
        return -1.0
    return x[spot]


def loading(x: Real, runner: int) -> float:
    """How full the belt is being loaded."""
    if x[runner + f.N_SPEED] <= 0.0:
        return 0.0
    return min(x[runner + f.N_RATE] / (x[runner + f.N_CAP] * x[runner + f.N_SPEED]), 1.0)


def roll(m: Whole, x: Real, belt: int, distance: float, full: float) -> None:
    """The belt moves on, loaded so full."""
    left = distance
    while left > 0.0:
        spot = spot_of(m, belt, 0)
        if m[belt + f.E_COUNT] == 1 and (x[spot] <= left or abs(x[spot + 1] - full) <= ALIKE):
            x[spot + 1] = full  # all of it has been loaded anew
            return
        if x[spot] > left:
            x[spot] -= left
            break
        left -= x[spot]
        m[belt + f.E_FIRST] = (m[belt + f.E_FIRST] + 1) % m[belt + f.E_SIZE]
        m[belt + f.E_COUNT] -= 1
    last = spot_of(m, belt, m[belt + f.E_COUNT] - 1)
    if abs(x[last + 1] - full) <= ALIKE:
        x[last] += distance
    elif m[belt + f.E_COUNT] == m[belt + f.E_SIZE]:  # no stretch is left: the last becomes as full as both together
        x[last + 1] = (x[last] * x[last + 1] + distance * full) / (x[last] + distance)
        x[last] += distance
    else:
        m[belt + f.E_COUNT] += 1
        last = spot_of(m, belt, m[belt + f.E_COUNT] - 1)
        x[last] = distance
        x[last + 1] = full
