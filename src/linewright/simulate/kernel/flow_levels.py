"""Flows carry levels on: rates are constant between two events, so levels are straight lines and areas trapezoids."""

from __future__ import annotations

from linewright.simulate.kernel import flow_rows as f
from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.accounts import settle_item, settle_store
from linewright.simulate.kernel.cells import Real, Whole


def carry_on(m: Whole, x: Real) -> None:
    """Bring all that flows change up to the present."""
    flows = m[r.FLOWS]
    passed = m[r.NOW] - m[flows + f.F_SINCE]
    if passed == 0:
        return
    m[flows + f.F_SINCE] = m[r.NOW]
    items, stores = m[flows + f.F_ITEMS], m[flows + f.F_STORES]
    for k in range(m[items]):
        settle_item(m, x, m[items + 1 + k])
    for k in range(m[stores]):
        settle_store(m, x, m[stores + 1 + k])
    runner = m[flows + f.F_RUNNERS]
    for _ in range(m[flows + f.F_N]):
        if x[runner + f.N_RATE] > 0.0:
            _run(m, x, flows, runner, float(passed))
        runner += f.RUNNER_WIDTH
    for k in range(m[stores]):
        store = m[stores + 1 + k]
        if x[store + r.W_LEVEL] > x[store + r.W_MOST]:
            x[store + r.W_MOST] = x[store + r.W_LEVEL]


def _run(m: Whole, x: Real, flows: int, runner: int, passed: float) -> None:
    """One runner: what it took, made and lost in the time that has passed."""
    op = m[runner + f.N_OP]
    rate = x[runner + f.N_RATE]
    x[runner + f.N_LOST] += passed * (1.0 - rate / x[runner + f.N_CAP])
    pieces = rate * passed
    if m[runner + f.N_FIRST] == 1:
        _let_in(m, x, runner, pieces * x[op + r.O_TO_GO])
    else:
        _fill(m, x, m[runner + f.N_IN], -pieces, passed)
    parts = m[op + r.O_TAKES]
    if parts != 0:
        for k in range(m[parts]):
            _put(m, x, m[parts + 1 + k], -x[parts + 1 + k] * pieces, passed)
    parts = m[op + r.O_GIVES]
    if parts != 0:
        for k in range(m[parts]):
            _put(m, x, m[parts + 1 + k], x[parts + 1 + k] * pieces, passed)
    _choose(m, x, flows, runner, pieces, passed)
    _count(m, x, runner, pieces)
    good = pieces * x[op + r.O_SURVIVES]
    _scrap(m, x, runner, pieces - good)
    if m[runner + f.N_SPOILS] == 1:
        x[m[runner + f.N_PLACE] + r.DUE_SCRAP] -= good
        _scrap(m, x, runner, good)
    elif m[runner + f.N_OUT] != 0:
        _fill(m, x, m[runner + f.N_OUT], good * x[op + r.O_OUT], passed)
    else:
        _finish(m, x, runner, good * x[op + r.O_OUT], passed)


def _let_in(m: Whole, x: Real, runner: int, units: float) -> None:
    item = m[runner + f.N_ITEM]
    x[m[runner + f.N_ROUTE] + r.U_RELEASED] += units
    x[item + r.I_RATE] += units
    x[item + r.I_OPEN] += units


def _fill(m: Whole, x: Real, buffer: int, pieces: float, passed: float) -> None:
    x[buffer + f.U_LEVEL] += pieces
    if m[buffer + f.U_STORE] != 0:
        _store(x, m[buffer + f.U_STORE], pieces, passed)


def _store(x: Real, store: int, amount: float, passed: float) -> None:
    x[store + r.W_LEVEL] += amount
    x[store + r.W_TIME] += 0.5 * amount * passed


def _put(m: Whole, x: Real, item: int, units: float, passed: float) -> None:
    """Put units on hand, or take them; what is bought comes when there is none."""
    if units < 0.0:
        x[item + r.I_USED] -= units
        if m[item + r.I_ENDLESS] == 1:
            bought = -units - max(min(x[item + r.I_POOL], -units), 0.0)
            x[item + r.I_MADE_UNITS] += bought
            units += bought
    else:
        x[item + r.I_MADE_UNITS] += units
    x[item + r.I_POOL] += units
    x[item + r.I_TIME] += 0.5 * units * passed
    if m[item + r.I_STORE] != 0:
        _store(x, m[item + r.I_STORE], units, passed)


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
                _put(m, x, m[choice + 1 + k], -x[choice + 1 + k] * drawn, passed)
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
    units = pieces * x[op + r.O_TO_GO]
    x[m[runner + f.N_ITEM] + r.I_OPEN] -= units
    x[m[runner + f.N_ROUTE] + r.U_SCRAPPED] += units


def _finish(m: Whole, x: Real, runner: int, units: float, passed: float) -> None:
    """The end of the route: finished for demand, or on hand for other routes."""
    item = m[runner + f.N_ITEM]
    x[item + r.I_OPEN] -= units
    x[m[runner + f.N_ROUTE] + r.U_FINISHED] += units
    if m[item + r.I_MODE] == r.BY_TAKT or m[item + r.I_MODE] == r.BY_OPEN:
        x[item + r.I_FINISHED] += units
    else:
        _put(m, x, item, units, passed)


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
    return wanted(m, x, of)


def wanted(m: Whole, x: Real, item: int) -> float:
    """Units of an item still to be let in; the same rule as for pieces."""
    mode = m[item + r.I_MODE]
    if mode == r.BY_TAKT:
        return x[item + r.I_DUE] - x[item + r.I_FINISHED] - x[item + r.I_OPEN]
    if mode == r.BY_OPEN:
        return x[item + r.I_TARGET] - x[item + r.I_OPEN]
    return x[item + r.I_TARGET] - x[item + r.I_POOL] - x[item + r.I_OPEN]


def rounding(m: Whole, x: Real, bound: int) -> float:
    """Slack that is no more than rounding: of two ns, and of the sums."""
    kind, of = m[bound + f.B_KIND], m[bound + f.B_OF]
    scale = 1.0
    if kind == f.ROOM:
        scale += x[of + r.W_ROOM]
    elif kind == f.WANTED:
        scale += x[of + r.I_TARGET] + x[of + r.I_DUE]
    return 2.0 * x[bound + f.B_GROSS] + 1e-13 * scale
