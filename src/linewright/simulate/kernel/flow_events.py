"""When rates of flows may change next: a store empty or full, a level that is waited for, a run that has to pause."""

from __future__ import annotations

from linewright.simulate.kernel import flow_rows as f
from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.flow_belts import until_next_stretch
from linewright.simulate.kernel.flow_boundaries import watch_anew
from linewright.simulate.kernel.flow_choices import next_change
from linewright.simulate.kernel.flow_levels import leaving, rounding, runs, slack_of
from linewright.simulate.kernel.heap import cancel, schedule
from linewright.simulate.kernel.places import DAY

MOST_STARTS = 3
"""Starts of a runner at one instant: where two flows wait for one person they would take turns without end."""
A_SECOND = 1_000_000_000
"""A runner starts no sooner than this after its last start: nobody goes to and fro faster."""
LATE = 1e17
"""ns to an event beyond which there is none."""


def rests(m: Whole, runner: int) -> int:
    """ns until a runner may start again."""
    since = m[r.NOW] - m[runner + f.N_STARTS_AT]
    if m[runner + f.N_STARTS] == 0 or since >= A_SECOND or (since == 0 and m[runner + f.N_STARTS] < MOST_STARTS):
        return 0
    return A_SECOND - since


def set_next_event(m: Whole, x: Real, h: Whole, flows: int) -> None:
    """The next time at which a rate may change, or somebody's level is there."""
    soonest = _next_of_bounds(m, x, flows)
    watches, buffers = m[flows + f.F_WATCHES], m[flows + f.F_BUFFERS]
    for k in range(m[watches]):
        wait = watch_anew(m, x, m[watches + 1 + k])
        if wait >= 0.0:
            soonest = min(soonest, wait)
    turn = LATE
    runner = m[flows + f.F_RUNNERS]
    for _ in range(m[flows + f.F_N]):
        if runs(m, x, runner):
            turn = min(turn, next_change(m, x, flows, runner))
            soonest = min(soonest, _next_of_run(m, x, runner))
        elif m[runner + f.N_MODE] == f.OFF and m[m[runner + f.N_PLACE] + r.STATUS] == r.IDLE and rests(m, runner) > 0:
            soonest = min(soonest, float(rests(m, runner)))
        runner += f.RUNNER_WIDTH
    for k in range(m[buffers]):
        if m[m[buffers + 1 + k] + f.U_LOADS] == 1:
            soonest = min(soonest, _next_load(m, x, flows, m[buffers + 1 + k]))
    m[flows + f.F_DIRTY] = f.WHEN_IT_COMES if turn <= soonest else 0
    soonest = min(soonest, turn)
    if soonest >= LATE:
        cancel(m, h, flows)
        return
    whole = int(soonest)
    whole = max(whole + 1 if float(whole) < soonest else whole, 1)
    if m[flows + r.HEAP] == 0 or h[3 * (m[flows + r.HEAP] - 1)] != m[r.NOW] + whole:
        schedule(m, h, flows, m[r.NOW] + whole, r.FINISHES)


def _next_of_bounds(m: Whole, x: Real, flows: int) -> float:
    """ns until a slack is used up, or a bound that held too long is left."""
    soonest = LATE
    bound = m[flows + f.F_BOUNDS]
    for _ in range(m[flows + f.F_N_BOUNDS]):
        net = x[bound + f.B_NET]
        if m[bound + f.B_HOLDS] == 0 and net < 0.0 and x[bound + f.B_GROSS] > 0.0:
            soonest = min(soonest, max(slack_of(m, x, bound), 0.0) / -net)
        elif m[bound + f.B_HOLDS] == 1 and net > 1e-12 * x[bound + f.B_GROSS]:
            past = max(x[bound + f.B_BAND], rounding(m, x, bound)) * 1.000001
            soonest = min(soonest, max(past - slack_of(m, x, bound), 0.0) / net)
        bound += f.BOUND_WIDTH
    return soonest


def _next_of_run(m: Whole, x: Real, runner: int) -> float:
    """ns until a setup or cleaning comes due by count, the start-up has spoiled its part, or another day begins."""
    place, op, rate = m[runner + f.N_PLACE], m[runner + f.N_OP], x[runner + f.N_RATE]
    spot, soonest = m[place + r.INDEX], LATE
    if m[runner + f.N_BELT] != 0:
        ahead = until_next_stretch(m, x, runner)
        if ahead >= 0.0 and x[runner + f.N_SPEED] > 0.0:
            soonest = ahead / x[runner + f.N_SPEED]
    if rate == 0.0:
        return soonest
    if m[op + r.O_SETUP_WHEN] == r.EVERY:
        soonest = min(soonest, max(x[m[op + r.O_SETUP_PLACES] + spot], 0.0) / rate)
    if m[op + r.O_CLEAN_WHEN] == r.CLEAN_EVERY:
        soonest = min(soonest, max(x[m[op + r.O_CLEAN_PLACES] + spot], 0.0) / rate)
    if m[op + r.O_CLEAN_WHEN] == r.CLEAN_DAY:
        soonest = min(soonest, float(DAY - m[r.NOW] % DAY))
    if m[runner + f.N_SPOILS] == 1 and leaving(m, x, runner) > 0.0:
        soonest = min(soonest, max(x[place + r.DUE_SCRAP], 0.0) / (leaving(m, x, runner) * x[op + r.O_SURVIVES]))
    return soonest


def _next_load(m: Whole, x: Real, flows: int, buffer: int) -> float:
    """ns until a load has come together."""
    rate = 0.0
    runner = m[flows + f.F_RUNNERS]
    for _ in range(m[flows + f.F_N]):
        if m[runner + f.N_OUT] == buffer and m[runner + f.N_SPOILS] == 0:
            op = m[runner + f.N_OP]
            rate += leaving(m, x, runner) * x[op + r.O_SURVIVES] * x[op + r.O_OUT]
        runner += f.RUNNER_WIDTH
    return (x[buffer + f.U_LOT] - x[buffer + f.U_LEVEL]) / rate if rate > 0.0 else LATE
