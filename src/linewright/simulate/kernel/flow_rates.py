"""The rates of all flows at one instant: everyone runs as fast as he can, unless a store that he uses is at its bound.

Each bound that holds has one unknown between 0 and 1: the part of their speed that those whom it limits may use. An
activity runs at the least part among its bounds: v = cap x min(part). A bound whose slack would fall joins the active
set; the parts then follow from the linear system "no slack changes", so a recycle is solved and not iterated. In
networks where nobody competes the parts only fall from round to round and end at the greatest rates that there are
(Chandrasekaran, "A special case of the complementary pivot problem", 1970). Where flows compete that can end where a
bound holds somebody back in vain: then the parts are brought down one after the other (``flow_parts``). Rounds are
counted in any case, and who cannot be settled within the count stands still.
"""

from __future__ import annotations

from linewright.simulate.kernel import flow_rows as f
from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.flow_choices import A_SECOND, RESTED_ON
from linewright.simulate.kernel.flow_matrix import lay_out, limits
from linewright.simulate.kernel.flow_parts import CLOSE, SWEEPS, begin_parts, govern_by_parts, spot_of, sweep

TINY = 1e-12
"""Part of the greatest change of a slack that is rounding."""


def solve(m: Whole, x: Real, flows: int) -> None:
    """Find every rate from the modes of the runners and the bounds that hold."""
    lay_out(m, x, flows)
    acts, n_bounds = m[flows + f.F_ACTS], m[flows + f.F_N_BOUNDS]
    rates = m[flows + f.F_RATES]
    for a in range(acts):
        m[rates + a] = 0
    active = 0
    settled = False
    for _ in range(4 * (acts + n_bounds) + 16):
        _set_rates(m, x, flows)
        before = active
        active = _join_falling(m, x, flows, active)
        if active < 0:
            active = before
            settled = True
            break
        active = _settle(m, x, flows, active)
    right = settled and not _holds_back(m, x, flows, active)
    if not right and not _bring_down(m, x, flows):
        _stand_still(m, x, flows)
    _tell_rates(m, x, flows)


def _bring_down(m: Whole, x: Real, flows: int) -> bool:
    """The parts one after the other, until the linear system of those below 1 is right; False where it never is."""
    begin_parts(m, x, flows)
    moved = 1.0
    for k in range(SWEEPS):
        if moved <= CLOSE or k % 4 == 3:
            active = govern_by_parts(m, x, flows)
            _solve_parts(m, x, flows, active)
            _set_rates(m, x, flows)
            if _is_right(m, x, flows, active):
                return True
            if moved <= CLOSE:
                return False
        moved = sweep(m, x, flows)
    return False


def _is_right(m: Whole, x: Real, flows: int, active: int) -> bool:
    """Whether no part is above 1, no slack falls, everyone has the least of his parts, and nobody waits in vain."""
    base = m[flows + f.F_ACTIVE]
    for k in range(active):
        if x[base + k] > 1.0 + 1e-9:
            return False
    if _falls_most(m, x, flows) >= 0 or _holds_back(m, x, flows, active):
        return False
    for a in range(m[flows + f.F_ACTS]):
        spot = m[m[flows + f.F_RATES] + a] - 1
        for k in range(active):
            own = x[base + spot] if spot >= 0 else 1.0
            limited = limits(m, flows, m[base + k], a) and x[m[flows + f.F_CAPS] + a] > 0.0
            if limited and x[base + k] < own - 1e-9:
                return False
    return True


def _holds_back(m: Whole, x: Real, flows: int, active: int) -> bool:
    """Whether a bound holds somebody back although its slack grows."""
    base = m[flows + f.F_ACTIVE]
    for k in range(active):
        bound = m[flows + f.F_BOUNDS] + m[base + k] * f.BOUND_WIDTH
        grows = _net(m, x, flows, m[base + k]) > 1e-9 * x[bound + f.B_GROSS]
        if grows and x[base + k] < 1.0 and _governs(m, x, flows, k):
            return True
    return False


def _set_rates(m: Whole, x: Real, flows: int) -> None:
    rates, caps, active = m[flows + f.F_RATES], m[flows + f.F_CAPS], m[flows + f.F_ACTIVE]
    for a in range(m[flows + f.F_ACTS]):
        spot = m[rates + a] - 1
        x[rates + a] = x[caps + a] * (x[active + spot] if spot >= 0 else 1.0)


def _net(m: Whole, x: Real, flows: int, b: int) -> float:
    """How fast the slack of a bound changes."""
    acts = m[flows + f.F_ACTS]
    row, rates = m[flows + f.F_PRESENT] + b * acts, m[flows + f.F_RATES]
    entries = m[flows + f.F_ENTRIES] + b * (acts + 1)
    net = 0.0
    for k in range(m[entries]):
        a = m[entries + 1 + k]
        net += x[row + a] * x[rates + a]
    return net


def _falls_most(m: Whole, x: Real, flows: int) -> int:
    """Of the bounds that hold, the one whose slack falls most for its size; -1: none falls."""
    worst, found = -TINY, -1
    for b in range(m[flows + f.F_N_BOUNDS]):
        bound = m[flows + f.F_BOUNDS] + b * f.BOUND_WIDTH
        if m[bound + f.B_HOLDS] == 1:
            net = _net(m, x, flows, b) / x[bound + f.B_GROSS]
            if net < worst:
                worst, found = net, b
    return found


def _join_falling(m: Whole, x: Real, flows: int, active: int) -> int:
    """All bounds that hold and whose slack falls join the active set; its size, or -1 where none falls."""
    found = False
    for b in range(m[flows + f.F_N_BOUNDS]):
        bound = m[flows + f.F_BOUNDS] + b * f.BOUND_WIDTH
        if m[bound + f.B_HOLDS] == 1 and _net(m, x, flows, b) < -TINY * x[bound + f.B_GROSS]:
            active = _join(m, flows, b, active)
            found = True
    return active if found else -1


def _join(m: Whole, flows: int, b: int, active: int) -> int:
    """A bound joins the active set, unless it is in it, and governs all whom it limits."""
    acts, rates, base = m[flows + f.F_ACTS], m[flows + f.F_RATES], m[flows + f.F_ACTIVE]
    spot = spot_of(m, base, active, b)
    if spot < 0:
        spot = active
        m[base + spot] = b
        active += 1
    for a in range(acts):
        if limits(m, flows, b, a):
            m[rates + a] = spot + 1
    return active


def _settle(m: Whole, x: Real, flows: int, active: int) -> int:
    """Parts of the bounds in the active set, each activity governed by the least; bounds that govern nobody leave."""
    acts = m[flows + f.F_ACTS]
    for _ in range(2 * acts + 4):
        active = _drop_idle(m, x, flows, active)
        _solve_parts(m, x, flows, active)
        left = _drop_loose(m, x, flows, active)
        if left != active:
            active = left
            continue
        if not _govern_by_least(m, x, flows, active):
            break
    return active


def _drop_idle(m: Whole, x: Real, flows: int, active: int) -> int:
    """Take bounds that govern nobody out of the active set."""
    k = 0
    while k < active:
        if _governs(m, x, flows, k):
            k += 1
        else:
            active = _take_out(m, flows, k, active)
    return active


def _drop_loose(m: Whole, x: Real, flows: int, active: int) -> int:
    """Take bounds that would let their activities run faster than they can out of the active set."""
    k, base = 0, m[flows + f.F_ACTIVE]
    while k < active:
        if x[base + k] <= 1.0 + 1e-9:
            k += 1
        else:
            x[base + k] = x[base + active - 1]
            active = _take_out(m, flows, k, active)
    return active


def _governs(m: Whole, x: Real, flows: int, spot: int) -> bool:
    rates, caps = m[flows + f.F_RATES], m[flows + f.F_CAPS]
    count = 0
    for a in range(m[flows + f.F_ACTS]):
        if m[rates + a] == spot + 1 and x[caps + a] > 0.0:
            count += 1
    return count > 0


def _take_out(m: Whole, flows: int, spot: int, active: int) -> int:
    """The last of the active set takes the place of the one that leaves."""
    rates, base = m[flows + f.F_RATES], m[flows + f.F_ACTIVE]
    m[base + spot] = m[base + active - 1]
    for a in range(m[flows + f.F_ACTS]):
        if m[rates + a] == spot + 1:
            m[rates + a] = 0
        elif m[rates + a] == active:
            m[rates + a] = spot + 1
    return active - 1


def _govern_by_least(m: Whole, x: Real, flows: int, active: int) -> bool:
    """Let every activity be governed by the least part among its bounds; True where that changed anything."""
    rates, base = m[flows + f.F_RATES], m[flows + f.F_ACTIVE]
    changed = False
    for a in range(m[flows + f.F_ACTS]):
        least = x[base + m[rates + a] - 1] if m[rates + a] > 0 else 1.0
        found = m[rates + a]
        for k in range(active):
            if x[base + k] < least - 1e-12 and limits(m, flows, m[base + k], a):
                least, found = x[base + k], k + 1
        if found != m[rates + a]:
            m[rates + a] = found
            changed = True
    return changed


def _solve_parts(m: Whole, x: Real, flows: int, active: int) -> None:
    """The linear system: no slack of the active set changes. A part that nothing tells is 0."""
    acts, n = m[flows + f.F_ACTS], active
    rates, caps, base, s = m[flows + f.F_RATES], m[flows + f.F_CAPS], m[flows + f.F_ACTIVE], m[flows + f.F_SYSTEM]
    width = n + 1
    for k in range(n):
        row = m[flows + f.F_PRESENT] + m[base + k] * acts
        for c in range(width):
            x[s + k * width + c] = 0.0
        for a in range(acts):
            spot = m[rates + a] - 1
            if spot >= 0:
                x[s + k * width + spot] += x[row + a] * x[caps + a]
            else:
                x[s + k * width + n] -= x[row + a] * x[caps + a]
        bound = m[flows + f.F_BOUNDS] + m[base + k] * f.BOUND_WIDTH
        for c in range(width):
            x[s + k * width + c] /= x[bound + f.B_GROSS]
    for k in range(n):
        _eliminate(x, s, k, n)
    for k in range(n):
        pivot = x[s + k * width + k]
        x[base + k] = max(x[s + k * width + n] / pivot, 0.0) if pivot != 0.0 else 0.0


def _eliminate(x: Real, s: int, k: int, n: int) -> None:
    """Clear one column from all other rows, by the greatest entry below; a column without one is left alone."""
    width = n + 1
    best = k
    for i in range(k + 1, n):
        if abs(x[s + i * width + k]) > abs(x[s + best * width + k]):
            best = i
    if abs(x[s + best * width + k]) < 1e-13:
        for i in range(n):
            x[s + i * width + k] = 0.0
        return
    if best != k:
        for c in range(width):
            kept = x[s + k * width + c]
            x[s + k * width + c] = x[s + best * width + c]
            x[s + best * width + c] = kept
    for i in range(n):
        if i != k and x[s + i * width + k] != 0.0:
            factor = x[s + i * width + k] / x[s + k * width + k]
            for c in range(width):
                x[s + i * width + c] -= factor * x[s + k * width + c]


def _stand_still(m: Whole, x: Real, flows: int) -> None:
    """Not settled within the count: whom a falling bound limits stands still, until none falls."""
    rates, caps = m[flows + f.F_RATES], m[flows + f.F_CAPS]
    for _ in range(m[flows + f.F_N_BOUNDS] + m[flows + f.F_ACTS] + 1):
        _set_rates(m, x, flows)
        b = _falls_most(m, x, flows)
        if b < 0:
            return
        for a in range(m[flows + f.F_ACTS]):
            if limits(m, flows, b, a):
                x[caps + a] = 0.0
                m[rates + a] = 0


def _tell_rates(m: Whole, x: Real, flows: int) -> None:
    """Rates to the runners, changes of slack to the bounds; of options what is drawn altogether."""
    n, acts = m[flows + f.F_N], m[flows + f.F_ACTS]
    rates, active = m[flows + f.F_RATES], m[flows + f.F_ACTIVE]
    _tell_bounds(m, x, flows)
    runner = m[flows + f.F_RUNNERS]
    for j in range(n):
        rate = x[rates + j]
        if rate <= TINY * x[runner + f.N_CAP]:
            rate = 0.0
        x[runner + f.N_RATE] = rate
        if m[runner + f.N_BELT] != 0:
            _tell_belt(m, x, flows, runner)
        spot = m[rates + j] - 1
        if spot >= 0:
            kind = m[m[flows + f.F_BOUNDS] + m[active + spot] * f.BOUND_WIDTH + f.B_KIND]
            m[runner + f.N_SHORT_OF] = r.BLOCKED if kind == f.ROOM or kind == f.DIRECTLY else r.SHORT
        _tell_draws(m, x, flows, runner, rate)
        runner += f.RUNNER_WIDTH
    for a in range(n, acts):
        m[rates + a] = 0


def _tell_belt(m: Whole, x: Real, flows: int, runner: int) -> None:
    """How fast a belt moves and what leaves it."""
    leaves = m[runner + f.N_LEAVES]
    spot = m[m[flows + f.F_RATES] + leaves] - 1
    x[runner + f.N_LEAVING] = x[m[flows + f.F_RATES] + leaves]
    x[runner + f.N_SPEED] = 1.0 if spot < 0 else min(x[m[flows + f.F_ACTIVE] + spot], 1.0)
    if m[runner + f.N_MODE] == f.OFF:
        x[runner + f.N_SPEED] = 0.0


def _tell_bounds(m: Whole, x: Real, flows: int) -> None:
    """Changes of slack. A bound that governs while its slack grows holds on for a second's worth, lest it flutter."""
    rates, active = m[flows + f.F_RATES], m[flows + f.F_ACTIVE]
    for b in range(m[flows + f.F_N_BOUNDS]):
        bound = m[flows + f.F_BOUNDS] + b * f.BOUND_WIDTH
        x[bound + f.B_NET] = _net(m, x, flows, b)
        x[bound + f.B_BAND] = 0.0
    for a in range(m[flows + f.F_ACTS]):
        spot = m[rates + a] - 1
        if spot >= 0:
            bound = m[flows + f.F_BOUNDS] + m[active + spot] * f.BOUND_WIDTH
            if x[bound + f.B_NET] > 1e-9 * x[bound + f.B_GROSS]:
                x[bound + f.B_BAND] = A_SECOND * x[bound + f.B_GROSS]


def _tell_draws(m: Whole, x: Real, flows: int, runner: int, rate: float) -> None:
    choices = m[runner + f.N_CHOICES]
    if choices == 0:
        return
    a = m[runner + f.N_OPTION]
    for c in range(m[choices]):
        options = m[m[choices + 1 + c]]
        comes = 0.0
        for k in range(options):
            comes += x[m[flows + f.F_RATES] + a + k]
        for k in range(options):
            draws = m[flows + f.F_DRAWS] + a + k
            if m[draws] == RESTED_ON:
                x[m[flows + f.F_RATES] + a + k] = x[draws] * max(rate - comes, 0.0)
        a += options
