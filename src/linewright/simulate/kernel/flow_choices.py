"""What a flow draws where several items can fill a feed: the one furthest behind its share, as for pieces.

Those on hand that are equally far behind are drawn together so that they stay so; what is not on hand but behind is
drawn as it comes in, and the rest makes way for it.
"""

from __future__ import annotations

from linewright.simulate.kernel import flow_rows as f
from linewright.simulate.kernel.cells import Real, Whole

UNUSED = 0
RESTED_ON = 1
AS_IT_COMES = 2
"""What an option is to its runner now."""
A_SECOND = 1e9
A_MINUTE = 60e9
"""ns of full speed within which options are equally far behind, lest what is drawn as it comes in go to and fro."""
NEVER = 1e30


def behind(m: Whole, x: Real, choice: int, k: int) -> float:
    """How many pieces an option is behind its share."""
    n = m[choice]
    return x[choice + 1 + n + k] * x[choice] - x[choice + 1 + 2 * n + k]


def lay_draws(m: Whole, x: Real, flows: int, runner: int) -> bool:
    """Say what every option of a runner is now; of those that it rests on, which part (x). True where that changed."""
    choices = m[runner + f.N_CHOICES]
    if choices == 0:
        return False
    changed = False
    act = m[flows + f.F_DRAWS] + m[runner + f.N_OPTION]
    near = A_MINUTE * x[runner + f.N_CAP]
    for c in range(m[choices]):
        choice = m[choices + 1 + c]
        level = _level_of_the_rest(m, x, flows, choice, act)
        rests, shares = 0, 0.0
        for k in range(m[choice]):
            d = behind(m, x, choice, k)
            before = m[act + k]
            m[act + k] = UNUSED
            x[act + k] = 0.0
            if _is_there(m, flows, act + k):
                if d >= level - near:
                    m[act + k] = RESTED_ON
                    rests += 1
                    shares += x[choice + 1 + m[choice] + k]
            elif d >= level - near:
                m[act + k] = AS_IT_COMES
            if m[act + k] != before:
                changed = True
        if rests == 0:
            rests, shares = _rest_on_one(m, x, choice, act)
            changed = True
        for k in range(m[choice]):
            if m[act + k] == RESTED_ON:
                x[act + k] = x[choice + 1 + m[choice] + k] + (1.0 - shares) / rests
        act += m[choice]
    return changed


def _is_there(m: Whole, flows: int, act: int) -> bool:
    """Whether an option is on hand: bought, or not at the bottom of its pool."""
    bound = m[act + m[flows + f.F_ACTS]]
    return bound == 0 or m[bound + f.B_HOLDS] == 0


def _level_of_the_rest(m: Whole, x: Real, flows: int, choice: int, act: int) -> float:
    """How far behind the furthest of those on hand is; where none is on hand all are drawn as they come."""
    best = -NEVER
    for k in range(m[choice]):
        if _is_there(m, flows, act + k):
            best = max(best, behind(m, x, choice, k))
    return best


def _rest_on_one(m: Whole, x: Real, choice: int, act: int) -> tuple[int, float]:
    """Nothing is on hand: the runner rests on what is least behind, and runs no faster than that comes in."""
    least, found = NEVER, 0
    for k in range(m[choice]):
        if behind(m, x, choice, k) < least:
            least, found = behind(m, x, choice, k), k
    m[act + found] = RESTED_ON
    return 1, x[choice + 1 + m[choice] + found]


def next_change(m: Whole, x: Real, flows: int, runner: int) -> float:
    """ns until an option that is not drawn is as far behind as those that are, or the other way round."""
    soonest = NEVER
    choices = m[runner + f.N_CHOICES]
    if choices == 0:
        return soonest
    act = m[flows + f.F_DRAWS] + m[runner + f.N_OPTION]
    near = A_MINUTE * x[runner + f.N_CAP]
    rate = x[runner + f.N_RATE]
    rates = m[flows + f.F_RATES] - m[flows + f.F_DRAWS]
    for c in range(m[choices]):
        choice = m[choices + 1 + c]
        n = m[choice]
        level, rise = -NEVER, 0.0
        for k in range(n):
            if m[act + k] == RESTED_ON and behind(m, x, choice, k) > level:
                level = behind(m, x, choice, k)
                rise = x[choice + 1 + n + k] * rate - x[act + rates + k]
        for k in range(n):
            if m[act + k] == RESTED_ON:
                continue
            gap = level - behind(m, x, choice, k)
            closing = x[choice + 1 + n + k] * rate - x[act + rates + k] - rise
            if m[act + k] == AS_IT_COMES:
                gap, closing = near - gap, -closing
            if closing > 0.0 and gap > 0.0:
                soonest = min(soonest, gap / closing)
        act += n
    return soonest
