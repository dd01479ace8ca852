"""Flows carry levels on: rates are constant between two events, so levels are straight lines and areas trapezoids."""

from __future__ import annotations

from linewright.simulate.kernel import flow_rows as f
from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.flow_belts import clear, is_empty, loading, roll


def carry_on(m: Whole, x: Real) -> None:
    """Bring the levels that flows change up to the present; the last seen values of those that are watched follow."""
    flows = m[r.FLOWS]
    passed = m[r.NOW] - m[flows + f.F_SINCE]
    if passed == 0:
        return
    m[flows + f.F_SINCE] = m[r.NOW]
    moving = m[flows + f.F_MOVING]
    entry = moving + 1
    for _ in range(m[moving]):
        change = x[entry] * passed
        cell, since = m[entry + f.G_CELL], m[entry + f.G_SINCE]
        if since != 0:
            area = m[entry + f.G_AREA]
            x[area] += (x[cell] + 0.5 * change) * passed + x[cell] * (m[r.NOW] - passed - m[since])
            m[since] = m[r.NOW]
        x[cell] += change
        x[m[entry + f.G_SEEN]] += change
        most = m[entry + f.G_MOST]
        if most != 0 and x[cell] > x[most]:
            x[most] = x[cell]
        entry += f.MOVING_WIDTH


def set_moving(m: Whole, x: Real, flows: int) -> None:
    """List the levels that move at the present rates."""
    moving, entry = m[flows + f.F_MOVING], m[flows + f.F_MOVABLE] + 1
    m[moving] = 0
    to = moving + 1
    for _ in range(m[m[flows + f.F_MOVABLE]]):
        rate = x[m[entry + f.G_BOUND] + f.B_NET] * x[entry]
        if rate != 0.0:
            x[to] = rate
            for k in range(f.MOVING_WIDTH):
                m[to + k] = m[entry + k]
            m[moving] += 1
            to += f.MOVING_WIDTH
        entry += f.MOVING_WIDTH


def book(m: Whole, x: Real) -> None:
    """Bring what the runners took, made and lost up to the present."""
    flows = m[r.FLOWS]
    passed = m[r.NOW] - m[flows + f.F_BOOKED]
    if passed == 0:
        return
    m[flows + f.F_BOOKED] = m[r.NOW]
    runner = m[flows + f.F_RUNNERS]
    for _ in range(m[flows + f.F_N]):
        if runs(m, x, runner):
            _run(m, x, flows, runner, float(passed))
        runner += f.RUNNER_WIDTH


def _run(m: Whole, x: Real, flows: int, runner: int, passed: float) -> None:
    """One runner: what it took, made and lost in the time that has passed."""
    op = m[runner + f.N_OP]
    rate = x[runner + f.N_RATE]
    pieces = rate * passed
    x[runner + f.N_LOST] += passed * (1.0 - max(rate, leaving(m, x, runner)) / x[runner + f.N_CAP])
    if m[runner + f.N_FIRST] == 1:
        units = pieces * x[op + r.O_TO_GO]
        x[m[runner + f.N_ROUTE] + r.U_RELEASED] += units
        x[m[runner + f.N_ITEM] + r.I_RATE] += units
    parts = m[op + r.O_TAKES]
    if parts != 0:
        for k in range(m[parts]):
            _take(m, x, m[parts + 1 + k], x[parts + 1 + k] * pieces)
    parts = m[op + r.O_GIVES]
    if parts != 0:
        for k in range(m[parts]):
            x[m[parts + 1 + k] + r.I_MADE_UNITS] += x[parts + 1 + k] * pieces
            if m[m[parts + 1 + k] + r.I_ENDLESS] == 1:
                x[m[parts + 1 + k] + r.I_POOL] += x[parts + 1 + k] * pieces
    _choose(m, x, flows, runner, pieces, passed)
    _count(m, x, runner, pieces)
    if m[runner + f.N_BELT] != 0:
        _roll(m, x, runner, passed)
        pieces = x[runner + f.N_LEAVING] * passed
    good = pieces * x[op + r.O_SURVIVES]
    _scrap(m, x, runner, pieces - good)
    if m[runner + f.N_SPOILS] == 1:
        x[m[runner + f.N_PLACE] + r.DUE_SCRAP] -= good
        _scrap(m, x, runner, good)
    elif m[runner + f.N_OUT] == 0:
        units = good * x[op + r.O_OUT]
        x[m[runner + f.N_ROUTE] + r.U_FINISHED] += units
        if lies_on_hand(m, m[runner + f.N_ITEM]):
            x[m[runner + f.N_ITEM] + r.I_MADE_UNITS] += units


def runs(m: Whole, x: Real, runner: int) -> bool:
    """Whether anything comes into a runner, leaves it, or moves in it."""
    if x[runner + f.N_RATE] > 0.0:
        return True
    return m[runner + f.N_BELT] != 0 and x[runner + f.N_SPEED] > 0.0 and not is_empty(m, x, runner)


def leaving(m: Whole, x: Real, runner: int) -> float:
    """Pieces a ns that leave a runner."""
    return x[runner + f.N_LEAVING] if m[runner + f.N_BELT] != 0 else x[runner + f.N_RATE]


def _roll(m: Whole, x: Real, runner: int, passed: float) -> None:
    speed = x[runner + f.N_SPEED]
    if speed > 0.0:
        roll(m, x, m[runner + f.N_BELT], speed * passed, loading(x, runner))
    x[runner + f.N_CONTENT] += (x[runner + f.N_RATE] - x[runner + f.N_LEAVING]) * passed
    if is_empty(m, x, runner):
        clear(m, x, m[runner + f.N_BELT])


def _take(m: Whole, x: Real, item: int, units: float) -> None:
    """Units used; what is bought comes when there is none on hand."""
    x[item + r.I_USED] += units
    if m[item + r.I_ENDLESS] == 1:
        there = max(min(x[item + r.I_POOL], units), 0.0)
        x[item + r.I_POOL] -= there
        x[item + r.I_MADE_UNITS] += units - there


def _choose(m: Whole, x: Real, flows: int, runner: int, pieces: float, passed: float) -> None:
    choices = m[runner + f.N_CHOICES]
    if choices == 0:
        return
    act = m[flows + f.F_RATES] + m[runner + f.N_OPTION]
    for c in range(m[choices]):
        choice = m[choices + 1 + c]
        n = m[choice]
        x[choice] += pieces
        for k in range(n):
            drawn = x[act] * passed
            x[choice + 1 + 2 * n + k] += drawn
            if drawn != 0.0:
                _take(m, x, m[choice + 1 + k], x[choice + 1 + k] * drawn)
            act += 1


def _count(m: Whole, x: Real, runner: int, pieces: float) -> None:
    """Runs, and what is left until the next setup and cleaning."""
    op, spot = m[runner + f.N_OP], m[m[runner + f.N_PLACE] + r.INDEX]
    x[op + r.O_RUNS] += pieces
    if m[op + r.O_SETUP_WHEN] == r.EVERY:
        x[m[op + r.O_SETUP_PLACES] + spot] -= pieces
    if m[op + r.O_CLEAN_WHEN] == r.CLEAN_EVERY:
        x[m[op + r.O_CLEAN_PLACES] + spot] -= pieces


def _scrap(m: Whole, x: Real, runner: int, pieces: float) -> None:
    op = m[runner + f.N_OP]
    x[op + r.O_LOST] += pieces
    x[m[runner + f.N_ROUTE] + r.U_SCRAPPED] += pieces * x[op + r.O_TO_GO]


def lies_on_hand(m: Whole, item: int) -> bool:
    """Whether finished units of an item lie on hand; else they have left for demand."""
    mode = m[item + r.I_MODE]
    return mode == r.BY_STOCK or mode == r.BY_PULL or mode == r.BY_PUSH_PART


def flowing_units(m: Whole, x: Real, item: int, position: int) -> float:
    """Units of an item that are between its flows, or dwell in them, on the way to a position of its route."""
    runner, units = m[m[r.FLOWS] + f.F_RUNNERS], 0.0
    for _ in range(m[m[r.FLOWS] + f.F_N]):
        op = m[runner + f.N_OP]
        if m[runner + f.N_ITEM] == item and m[op + r.O_POSITION] < position:
            units += x[runner + f.N_CONTENT] * x[op + r.O_TO_GO]
            before, after = m[runner + f.N_IN], m[runner + f.N_OUT]
            if before != 0:
                units += x[before + f.U_LEVEL] * x[op + r.O_TO_GO]
            if after != 0 and m[m[after + f.U_OP] + r.O_POSITION] < position:
                units += x[after + f.U_LEVEL] * x[m[after + f.U_OP] + r.O_TO_GO]
        runner += f.RUNNER_WIDTH
    return units


def book_lost_speed(m: Whole, x: Real, runner: int) -> None:
    """Speed that could not be used is time short of parts or blocked, not time at work."""
    account = m[m[runner + f.N_PLACE] + r.ACCOUNT]
    lost = int(x[runner + f.N_LOST])
    x[runner + f.N_LOST] -= float(lost)
    m[account + r.WORKING] -= lost
    m[account + m[runner + f.N_SHORT_OF]] += lost


def slack_of(m: Whole, x: Real, bound: int) -> float:
    """How far a bound is from holding."""
    kind, of = m[bound + f.B_KIND], m[bound + f.B_OF]
    if kind == f.ON_HAND:
        return x[of + r.I_POOL]
    if kind == f.IN_BUFFER:
        return x[of + f.U_LEVEL]
    if kind == f.ROOM:
        return x[of + r.W_ROOM] - x[of + r.W_LEVEL]
    if kind == f.DIRECTLY:
        return -x[of + f.U_LEVEL]
    if kind == f.OPEN_UNITS:
        return x[of + r.I_OPEN]
    if kind == f.FINISHED_UNITS:
        return x[of + r.I_FINISHED]
    if kind == f.ALLOWED:
        return x[of + r.I_DUE] - x[of + r.I_RATE]
    return wanted(m, x, of)


def wanted(m: Whole, x: Real, item: int) -> float:
    """Units of an item still to be let in; the same rule as for pieces."""
    mode = m[item + r.I_MODE]
    if mode == r.BY_TAKT:
        return x[item + r.I_DUE] - x[item + r.I_FINISHED] - x[item + r.I_OPEN]
    if mode == r.BY_OPEN or mode >= r.BY_PUSH:
        return x[item + r.I_TARGET] - x[item + r.I_OPEN]
    return x[item + r.I_TARGET] - x[item + r.I_POOL] - x[item + r.I_OPEN]


def rounding(m: Whole, x: Real, bound: int) -> float:
    """Slack that is no more than rounding: of two ns, and of the sums."""
    kind, of = m[bound + f.B_KIND], m[bound + f.B_OF]
    scale = 1.0
    if kind == f.ROOM:
        scale += x[of + r.W_ROOM]
    elif kind == f.WANTED or kind == f.ALLOWED:
        scale += x[of + r.I_TARGET] + x[of + r.I_DUE]
    return 2.0 * x[bound + f.B_GROSS] + 1e-13 * scale
