"""Flows in the event queue: after every instant it is looked who may run, and rates are solved anew where that changed.

A runner is a place at a rate. It asks for its people like any work, cleans and starts up when that is due, runs until
nothing more comes or goes, and lets its people go. The next change of any rate is one event.
"""

from __future__ import annotations

from linewright.simulate.kernel import flow_rows as f
from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.accounts import set_state, write
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.crews import let_go
from linewright.simulate.kernel.flow_belts import front
from linewright.simulate.kernel.flow_boundaries import look, pour
from linewright.simulate.kernel.flow_events import rests, set_next_event
from linewright.simulate.kernel.flow_levels import (
    book,
    book_lost_speed,
    carry_on,
    leaving,
    rounding,
    runs,
    set_moving,
    slack_of,
)
from linewright.simulate.kernel.flow_rates import solve
from linewright.simulate.kernel.places import ENDS, phase_due
from linewright.simulate.kernel.work import START, attempt, halt

FOREVER = 1 << 60
"""ns that a run may last: something else ends it."""
RUNS_AT = 10
"""The log's word for a change of rate."""


def flows_go_on(m: Whole, x: Real, h: Whole, log: Whole) -> bool:
    """See to the flows at the end of an instant; True where somebody has been reminded."""
    flows = m[r.FLOWS]
    if m[flows + f.F_LOOK] == 0 and not _touched(m, x, flows):
        return False
    m[flows + f.F_LOOK] = 1
    book(m, x)
    if _fronts_changed(m, x, flows):
        m[flows + f.F_DIRTY] = 1
    if _meet_loads(m, x, log, flows):
        return True
    dirty = _look_at_runners(m, x, h, log, flows) or m[flows + f.F_DIRTY] == 1
    if _look_at_bounds(m, x, flows) or dirty:
        m[flows + f.F_DIRTY] = 0
        _let_run(m, x, h, log, flows)
    if m[r.AGENDA_FIRST] != 0:
        return True
    set_next_event(m, x, h, flows)
    if m[r.AGENDA_FIRST] != 0:
        return True
    m[flows + f.F_LOOK] = 0
    _see(m, x, flows)
    return False


def _fronts_changed(m: Whole, x: Real, flows: int) -> bool:
    """Whether another stretch of a belt has come to its end since the rates were solved."""
    runner = m[flows + f.F_RUNNERS]
    for _ in range(m[flows + f.F_N]):
        if m[runner + f.N_BELT] != 0 and front(m, x, runner) != x[runner + f.N_FRONT]:
            return True
        runner += f.RUNNER_WIDTH
    return False


def _touched(m: Whole, x: Real, flows: int) -> bool:
    """Whether anything that flows look at is not as they left it, or as it has moved by them since."""
    cells = m[flows + f.F_WATCHED]
    count = m[cells]
    seen = cells + 1 + count
    for k in range(count):
        cell = m[cells + 1 + k]
        if m[cell] != m[seen + k] or x[cell] != x[seen + k]:
            return True
    return False


def _see(m: Whole, x: Real, flows: int) -> None:
    """Note how everything is that flows look at."""
    cells = m[flows + f.F_WATCHED]
    count = m[cells]
    seen = cells + 1 + count
    for k in range(count):
        m[seen + k] = m[m[cells + 1 + k]]
        x[seen + k] = x[m[cells + 1 + k]]


def _meet_loads(m: Whole, x: Real, log: Whole, flows: int) -> bool:
    buffers, watches = m[flows + f.F_BUFFERS], m[flows + f.F_WATCHES]
    for k in range(m[buffers]):
        if pour(m, x, log, m[buffers + 1 + k]):
            return True
    for k in range(m[watches]):
        look(m, x, m[watches + 1 + k])
    return m[r.AGENDA_FIRST] != 0


def _look_at_runners(m: Whole, x: Real, h: Whole, log: Whole, flows: int) -> bool:
    """Bring the modes of the runners up to date; True where one has changed."""
    changed = False
    runner = m[flows + f.F_RUNNERS]
    for _ in range(m[flows + f.F_N]):
        mode = _mode(m, x, h, log, runner)
        spoils = 1 if x[m[runner + f.N_PLACE] + r.DUE_SCRAP] > 1e-9 else 0
        if mode != m[runner + f.N_MODE] or spoils != m[runner + f.N_SPOILS]:
            m[runner + f.N_MODE] = mode
            if m[runner + f.N_SPOILS] != spoils:
                m[runner + f.N_SPOILS] = spoils
                m[flows + f.F_STALE] = 1
            changed = True
        runner += f.RUNNER_WIDTH
    return changed


def _mode(m: Whole, x: Real, h: Whole, log: Whole, runner: int) -> int:
    """What a runner can do now. Cleaning that is due ends a run; work closed in is taken up again."""
    place, op = m[runner + f.N_PLACE], m[runner + f.N_OP]
    status = m[place + r.STATUS]
    if status == r.RUNNING:
        if m[place + r.PHASE] != r.HANDS:
            return f.OFF
        if phase_due(m, x, place, op) == r.HANDS:
            return f.ON
        stop_run(m, x, h, log, runner, r.SHORT)
        status = r.IDLE
    if status == r.FROZEN or m[place + r.DOWN] > 0 or m[m[place + r.AT] + r.S_OPEN] == 0:
        return f.OFF
    if status == r.WAITING:
        if m[place + r.WAITS_AT] != 0:
            return f.OFF
        if m[place + r.PHASE] != r.HANDS:
            attempt(m, x, h, log, place)
            return f.OFF
        m[place + r.STATUS] = r.IDLE
        m[place + r.ASKED] = 0
    return f.OFF if rests(m, runner) > 0 else f.READY


def _look_at_bounds(m: Whole, x: Real, flows: int) -> bool:
    """See which bounds hold; True where that has changed."""
    changed = False
    bound = m[flows + f.F_BOUNDS]
    for _ in range(m[flows + f.F_N_BOUNDS]):
        if x[bound + f.B_GROSS] == 0.0:  # nobody can use it up
            bound += f.BOUND_WIDTH
            continue
        slack = slack_of(m, x, bound)
        near = rounding(m, x, bound)
        holds = 1 if slack <= near or m[bound + f.B_KIND] == f.DIRECTLY else 0
        if holds == 0 and m[bound + f.B_HOLDS] == 1 and slack <= x[bound + f.B_BAND]:
            holds = 1 if abs(slack - x[bound + f.B_SLACK]) <= near + x[bound + f.B_BAND] else 0
        if holds != m[bound + f.B_HOLDS]:
            m[bound + f.B_HOLDS] = holds
            x[bound + f.B_SLACK] = slack
            changed = True
        bound += f.BOUND_WIDTH
    return changed


def _let_run(m: Whole, x: Real, h: Whole, log: Whole, flows: int) -> None:
    """Solve the rates; who could run and is needed asks for his people, and without them the rest is solved anew."""
    for _ in range(m[flows + f.F_N] + 1):
        _book_lost_speed(m, x, flows)
        solve(m, x, flows)
        if not _start_those_needed(m, x, h, log, flows):
            break
    _after_rates_changed(m, x, h, log, flows)
    set_moving(m, x, flows)


def _book_lost_speed(m: Whole, x: Real, flows: int) -> None:
    runner = m[flows + f.F_RUNNERS]
    for _ in range(m[flows + f.F_N]):
        if x[runner + f.N_LOST] >= 1.0:
            book_lost_speed(m, x, runner)
        runner += f.RUNNER_WIDTH


def _start_those_needed(m: Whole, x: Real, h: Whole, log: Whole, flows: int) -> bool:
    """True where one that was counted on cannot run."""
    missing = False
    runner = m[flows + f.F_RUNNERS]
    for _ in range(m[flows + f.F_N]):
        if m[runner + f.N_MODE] == f.READY and runs(m, x, runner) and not _start(m, x, h, log, runner):
            missing = True
        runner += f.RUNNER_WIDTH
    return missing


def _start(m: Whole, x: Real, h: Whole, log: Whole, runner: int) -> bool:
    """Ask for what is due first: cleaning, setup, start-up, or the run itself; False: it does not run."""
    place, op = m[runner + f.N_PLACE], m[runner + f.N_OP]
    if m[runner + f.N_STARTS_AT] != m[r.NOW]:
        m[runner + f.N_STARTS_AT] = m[r.NOW]
        m[runner + f.N_STARTS] = 0
    m[runner + f.N_STARTS] += 1
    phase = phase_due(m, x, place, op)
    m[place + r.STAGE] = op
    m[place + r.PHASE] = phase
    m[place + r.STOP] = r.ANYWHERE
    m[place + r.BEGUN] = 1 if phase == r.HANDS else 0
    m[place + r.LEFT] = FOREVER if phase == r.HANDS else 0
    m[place + r.ASKED] = 0
    attempt(m, x, h, log, place)
    if phase == r.HANDS and m[place + r.STATUS] == r.RUNNING:
        m[runner + f.N_MODE] = f.ON
        return True
    m[runner + f.N_MODE] = f.OFF
    x[runner + f.N_RATE] = 0.0
    x[runner + f.N_SPEED] = 0.0
    x[runner + f.N_LEAVING] = 0.0
    return False


def stop_run(m: Whole, x: Real, h: Whole, log: Whole, runner: int, state: int) -> None:
    """End a run: the people go."""
    place = m[runner + f.N_PLACE]
    book_lost_speed(m, x, runner)
    halt(m, h, place)
    let_go(m, x, place)
    m[place + r.STATUS] = r.IDLE
    m[place + r.PHASE] = r.NOTHING
    m[place + r.BEGUN] = 0
    m[place + r.ASKED] = 0
    m[r.COMPLETIONS] += 1
    set_state(m, place, state)
    _tell_end(m, x, log, runner)


def _after_rates_changed(m: Whole, x: Real, h: Whole, log: Whole, flows: int) -> None:
    """Runs at no rate end; states and the trace follow the rates; watches learn how levels move."""
    runner = m[flows + f.F_RUNNERS]
    for _ in range(m[flows + f.F_N]):
        place = m[runner + f.N_PLACE]
        if m[runner + f.N_MODE] == f.ON and not runs(m, x, runner):
            stop_run(m, x, h, log, runner, m[runner + f.N_SHORT_OF])
            m[runner + f.N_MODE] = f.READY
        elif m[runner + f.N_MODE] == f.READY and m[place + r.STATUS] == r.IDLE:
            set_state(m, place, m[runner + f.N_SHORT_OF])
        if m[r.TRACING] == 1:
            _tell(m, x, log, runner)
        runner += f.RUNNER_WIDTH
    _leave_bounds(m, x, flows)
    watches = m[flows + f.F_WATCHES]
    for k in range(m[watches]):
        watch = m[watches + 1 + k]
        of = m[watch + f.W_OF]
        x[watch + f.W_RATE] = x[m[watch + f.W_BOUND] + f.B_NET]
        if m[of + r.KIND] == r.ITEM and m[of + r.I_MADE] == 1:
            x[watch + f.W_WANTED] = _rate_of_wanted(m, x, flows, of, x[watch + f.W_RATE])


def _leave_bounds(m: Whole, x: Real, flows: int) -> None:
    """Bounds whose slack grows hold no more; the rates are the same without them."""
    bound = m[flows + f.F_BOUNDS]
    for _ in range(m[flows + f.F_N_BOUNDS]):
        x[bound + f.B_SLACK] = slack_of(m, x, bound)
        grows = x[bound + f.B_NET] > 1e-12 * x[bound + f.B_GROSS]
        if grows and x[bound + f.B_BAND] == 0.0 and m[bound + f.B_KIND] != f.DIRECTLY:
            m[bound + f.B_HOLDS] = 0
        bound += f.BOUND_WIDTH


def _tell(m: Whole, x: Real, log: Whole, runner: int) -> None:
    """Write down that a run begins or changes its rate; L_A has the millionths of its full rate."""
    if m[runner + f.N_MODE] != f.ON:
        return
    place, op, rate = m[runner + f.N_PLACE], m[runner + f.N_OP], x[runner + f.N_RATE]
    if m[runner + f.N_SERIAL] == 0:
        m[r.SERIAL_COUNT] += 1
        m[runner + f.N_SERIAL] = m[r.SERIAL_COUNT]
        write(m, log, START, m[runner + f.N_SERIAL], op, place, int(x[place + r.WHO]), 0, 0)
    if abs(rate - x[runner + f.N_TOLD]) > 1e-9 * x[runner + f.N_CAP]:
        write(m, log, RUNS_AT, m[runner + f.N_SERIAL], op, place, int(1e6 * rate / x[runner + f.N_CAP] + 0.5), 0, 0)
        x[runner + f.N_TOLD] = rate


def _tell_end(m: Whole, x: Real, log: Whole, runner: int) -> None:
    if m[runner + f.N_SERIAL] != 0:
        place = m[runner + f.N_PLACE]
        write(m, log, ENDS, m[runner + f.N_SERIAL], m[runner + f.N_OP], place, int(x[place + r.WHO]), 0, 0)
    m[runner + f.N_SERIAL] = 0
    x[runner + f.N_TOLD] = 0.0


def _rate_of_wanted(m: Whole, x: Real, flows: int, item: int, on_hand: float) -> float:
    """How fast flows make more of an item wanted: what they draw, lose, or finish where so much is kept open.

    What is lost by takt is made again with the next demand.
    """
    mode, lost, finished = m[item + r.I_MODE], 0.0, 0.0
    if mode == r.BY_TAKT:
        return 0.0
    runner = m[flows + f.F_RUNNERS]
    for _ in range(m[flows + f.F_N]):
        if m[runner + f.N_ITEM] == item:
            op = m[runner + f.N_OP]
            good = 0.0 if m[runner + f.N_SPOILS] == 1 else x[op + r.O_SURVIVES]
            lost += leaving(m, x, runner) * (1.0 - good) * x[op + r.O_TO_GO]
            if m[runner + f.N_OUT] == 0:
                finished += leaving(m, x, runner) * good * x[op + r.O_OUT]
        runner += f.RUNNER_WIDTH
    return lost + finished if mode == r.BY_OPEN or mode >= r.BY_PUSH else lost + finished - on_hand


def settle_flows(m: Whole, x: Real) -> None:
    """Bring levels and the lost speed up to the present."""
    carry_on(m, x)
    book(m, x)
    _book_lost_speed(m, x, m[r.FLOWS])
