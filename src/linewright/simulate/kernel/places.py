"""What a place does next: fill, clean, set up, work, stand, wait for its pieces to leave, be empty.

Pieces in a place are at operations of one visit; those furthest back are worked on first, as many as the operation's
load takes. Consecutive operations at one station are one visit: the place is held from first to last.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.accounts import set_state, write
from linewright.simulate.kernel.cares import begin_cares, end_cares
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.closing import close_window
from linewright.simulate.kernel.crews import let_go
from linewright.simulate.kernel.draws import duration
from linewright.simulate.kernel.heap import cancel, schedule
from linewright.simulate.kernel.journeys import conclude
from linewright.simulate.kernel.lists import goes_with, remind, stop_waiting
from linewright.simulate.kernel.moves import vacate
from linewright.simulate.kernel.parts import enough, move_tools
from linewright.simulate.kernel.vessels import is_the_last, least_in, most_in
from linewright.simulate.kernel.windows import overdue
from linewright.simulate.kernel.work import attempt, changeover, clocks_off, draw_times, takes_parts


def step(m: Whole, x: Real, h: Whole, log: Whole, place: int) -> None:
    """Decide what the place does now, unless it is at work."""
    status = m[place + r.STATUS]
    if status == r.RUNNING or status == r.FROZEN or m[place + r.VISIT] == 0:
        return
    if status == r.WAITING:
        if m[place + r.BEGUN] == 2:
            if m[place + r.WAITS_AT] == 0:
                attempt(m, x, h, log, place)
            return
        if m[place + r.WAITS_AT] != 0 and m[place + r.OPEN] == 0:
            return
        stop_waiting(m, place)
        m[place + r.STATUS] = r.IDLE
    if m[place + r.TIMER] == 1:
        m[place + r.TIMER] = 0
        cancel(m, h, place)
    if m[place + r.COUNT] == 0:
        _leave_empty(m, x, h, log, place)
        return
    if m[place + r.GATHERED] != 0 and _gather_more(m, x, place):
        op = int(x[place + r.GATHERED_FOR])
    else:
        op = _stage(m, place)
        if op == 0:
            set_state(m, place, r.STANDS if m[r.WINDOWED] == 1 and _rests(m, place) else r.BLOCKED)
            return
        x[place + r.GROUP] = 0.0
        x[place + r.FRESH] = 0.0
        _gather(m, x, place, op, m[place + r.HEAD])
    if not _ready(m, x, h, place, op):
        set_state(m, place, r.IS_DOWN if m[place + r.DOWN] > 0 else r.SHORT)
        return
    _ask(m, x, h, log, place, op)


def _rests(m: Whole, place: int) -> bool:
    """Whether a piece in a place waits for its window to open: it stands there and nobody is needed."""
    piece = m[place + r.HEAD]
    while piece != 0:
        if m[piece + r.WHERE] == r.RESTS:
            return True
        piece = m[piece + r.P_NEXT]
    return False


def _stage(m: Whole, place: int) -> int:
    """The operation furthest back among the pieces that still have something to do here; 0: none."""
    op = 0
    piece = m[place + r.HEAD]
    while piece != 0:
        if m[piece + r.WHERE] == r.TO_DO:
            own = m[piece + r.OPERATION]
            if op == 0 or m[own + r.O_POSITION] < m[op + r.O_POSITION]:
                op = own
        piece = m[piece + r.P_NEXT]
    return op


def _gather(m: Whole, x: Real, place: int, op: int, piece: int) -> None:
    """Count the pieces from ``piece`` on into the cycle, as many as go; remember how far, while more may come."""
    most = most_in(x, place, op)
    m[place + r.GATHERED] = m[place + r.TAIL] if m[place + r.OPEN] == 1 else 0
    while piece != 0:
        amount = x[piece + r.AMOUNT]
        if m[piece + r.WHERE] == r.TO_DO and goes_with(m, m[piece + r.OPERATION], op):
            if x[place + r.GROUP] > 0.0 and (m[op + r.O_ANY] == 1 or not enough(most - x[place + r.GROUP], amount)):
                m[place + r.GATHERED] = 0
                break
            x[place + r.GROUP] += amount
            if takes_parts(m, piece, op):
                x[place + r.FRESH] += amount
        piece = m[piece + r.P_NEXT]
    x[place + r.GATHERED_FOR] = float(op)


def _gather_more(m: Whole, x: Real, place: int) -> bool:
    """Count those who have come since; False where one of them is further back, so that all is to be seen anew."""
    op = int(x[place + r.GATHERED_FOR])
    since = m[m[place + r.GATHERED] + r.P_NEXT]
    piece = since
    while piece != 0:
        if m[piece + r.WHERE] == r.TO_DO and m[m[piece + r.OPERATION] + r.O_POSITION] < m[op + r.O_POSITION]:
            return False
        piece = m[piece + r.P_NEXT]
    _gather(m, x, place, op, since)
    return True


def _ready(m: Whole, x: Real, h: Whole, place: int, op: int) -> bool:
    """Whether a cycle may start with the pieces that are gathered; False where the load still waits for more."""
    most, group = most_in(x, place, op), x[place + r.GROUP]
    if m[op + r.O_ANY] == 1 or m[place + r.OPEN] == 0 or enough(group, most):
        return True
    if not enough(group, least_in(x, place, op)):
        if is_the_last(m, x, op, group):
            return True
        if m[op + r.O_CLOSES] == 1 or m[op + r.O_WAITS] == 0:
            return False  # but what is left of a filling goes in once it has waited
    ready_at = m[place + r.WAIT_FROM] + m[op + r.O_WAITS]
    if m[r.NOW] >= ready_at:
        return True
    m[place + r.TIMER] = 1
    schedule(m, h, place, ready_at, r.FINISHES)
    return False


def _ask(m: Whole, x: Real, h: Whole, log: Whole, place: int, op: int) -> None:
    """Ask for what comes first: cleaning that is due, setup, start-up, the operation itself."""
    phase = phase_due(m, x, place, op)
    if m[place + r.STAGE] != op or m[place + r.PHASE] != phase:
        m[place + r.ASKED] = 0
        m[place + r.BEGUN] = 0
    m[place + r.STAGE] = op
    m[place + r.PHASE] = phase
    m[place + r.STOP] = m[op + r.O_STOP] if phase == r.HANDS else r.ANYWHERE
    if m[place + r.STOP] == r.FITS and m[place + r.BEGUN] == 0:
        draw_times(m, x, place)
    attempt(m, x, h, log, place)


def shift_number(m: Whole, op: int, days: bool) -> int:
    """Which shift (or day) it is, counted from the start."""
    now = m[r.NOW]
    if days:
        return now // DAY
    calendar = m[op + r.O_SHIFTS]
    if calendar == 0:
        return now // DAY
    row = calendar + r.CALENDAR_WIDTH + m[calendar + r.K_STEP] * r.STEP_WIDTH
    last = calendar + r.CALENDAR_WIDTH + (m[calendar + r.K_STEPS] - 1) * r.STEP_WIDTH
    return (m[calendar + r.K_WEEK] // WEEK) * m[last + r.K_SHIFT] + m[row + r.K_SHIFT]


ENDS = 4
"""The log's word."""
DAY = 24 * 3600 * 1_000_000_000
WEEK = 7 * DAY


def phase_due(m: Whole, x: Real, place: int, op: int) -> int:
    """What a place must do before anything else: clean, set up, start up; else the operation itself."""
    spot = m[place + r.INDEX]
    clean = m[op + r.O_CLEAN_WHEN]
    if clean == r.CLEAN_SHIFT or clean == r.CLEAN_DAY:
        if m[m[op + r.O_CLEAN_PLACES] + spot] != shift_number(m, op, clean == r.CLEAN_DAY):
            return r.CLEANING
    elif clean == r.CLEAN_EVERY and x[m[op + r.O_CLEAN_PLACES] + spot] <= 1e-9:
        return r.CLEANING
    setup = m[op + r.O_SETUP_WHEN]
    if setup == r.EVERY and x[m[op + r.O_SETUP_PLACES] + spot] <= 1e-9:
        return r.SETTING
    if setup == r.ITEM_CHANGES and changes(m, place, op):
        return r.SETTING
    start = m[op + r.O_START_WHEN]
    if start == r.START_STOP and m[place + r.RESTART] == 1:
        return r.STARTING
    if start == r.START_SHIFT and m[m[op + r.O_START_PLACES] + spot] != shift_number(m, op, False):
        return r.STARTING
    return r.HANDS


def changes(m: Whole, place: int, op: int) -> bool:
    """Whether the place ran another item last, or an operation from which a changeover is written."""
    before = m[place + r.LAST_OP]
    if before == op:
        return False
    return before == 0 or m[before + r.O_ITEM] != m[op + r.O_ITEM] or changeover(m, op, before) >= 0


def _leave_empty(m: Whole, x: Real, h: Whole, log: Whole, place: int) -> None:
    """No piece is left: clean the place if that is due, then let the next in."""
    if m[place + r.HOLDS] != 0:  # it holds what it made until that is drawn off
        m[place + r.OPEN] = 0
        set_state(m, place, r.STANDS)
        return
    op = m[place + r.DIRTY]
    if op == 0:
        if m[m[place + r.AT] + r.S_BENCH] == 1 and m[place + r.QUEUED] == 1:
            return
        vacate(m, place)
        return
    visit = m[place + r.VISIT]
    if m[visit + r.V_FILLING] == place:
        m[visit + r.V_FILLING] = 0
    m[place + r.OPEN] = 0
    if m[place + r.PHASE] != r.CLEANING:
        m[place + r.ASKED] = 0
        m[place + r.BEGUN] = 0
    m[place + r.STAGE] = op
    m[place + r.PHASE] = r.CLEANING
    m[place + r.STOP] = r.ANYWHERE
    attempt(m, x, h, log, place)


def complete(m: Whole, x: Real, h: Whole, log: Whole, place: int) -> None:
    """The time of the phase at hand is over."""
    if m[place + r.STATUS] != r.RUNNING:  # a load has waited long enough
        m[place + r.TIMER] = 0
        remind(m, place)
        return
    phase, op = m[place + r.PHASE], m[place + r.STAGE]
    m[r.COMPLETIONS] += 1
    if phase == r.HANDS or phase == r.ALONE or phase == r.UNLOADING:
        clocks_off(m, h, place, m[place + r.LEFT])
    let_go(m, x, place)
    m[place + r.LEFT] = 0
    if phase == r.HANDS and m[place + r.MACHINE] > 0:
        _go_on(m, x, h, log, place, r.ALONE, m[place + r.MACHINE])
    elif (phase == r.HANDS or phase == r.ALONE) and m[place + r.HANDS_END] > 0:
        _go_on(m, x, h, log, place, r.UNLOADING, m[place + r.HANDS_END])
    elif phase == r.HANDS or phase == r.ALONE or phase == r.UNLOADING:
        move_tools(m, x, m[place + r.TOOLS_HELD], 1)
        m[place + r.TOOLS_HELD] = 0
        stand = duration(
            m, x, m[op + r.O_STAND], m[op + r.O_KEY], m[op + r.O_KEY_HIGH], m[place + r.CYCLE], r.FOR_STAND
        )
        if stand > 0:
            _let_stand(m, h, place, stand)
            if x[op + r.O_ULLAGE] > 0.0:
                x[place + r.STOOD] = float(m[r.NOW])
            if m[op + r.O_CARES] != 0:
                begin_cares(m, h, place, op)
        else:
            _finish(m, x, log, place, op)
    elif phase == r.STANDING:
        if m[op + r.O_CARES] != 0:
            end_cares(m, x, h, place, op)
        _finish(m, x, log, place, op)
    else:
        _made_ready(m, x, place, op, phase)


def _go_on(m: Whole, x: Real, h: Whole, log: Whole, place: int, phase: int, left: int) -> None:
    """To the next part of the cycle; people for it are asked for anew."""
    m[place + r.PHASE] = phase
    m[place + r.LEFT] = left
    m[place + r.ASKED] = 0
    attempt(m, x, h, log, place)


def _let_stand(m: Whole, h: Whole, place: int, stand: int) -> None:
    """Standing needs nobody and no hours: it goes on through the night."""
    m[place + r.PHASE] = r.STANDING
    m[place + r.STATUS] = r.RUNNING
    m[place + r.SINCE] = m[r.NOW]
    m[place + r.LEFT] = stand
    set_state(m, place, r.STANDS)
    schedule(m, h, place, m[r.NOW] + stand, r.FINISHES)


def _finish(m: Whole, x: Real, log: Whole, place: int, op: int) -> None:
    """The operation is done for the pieces of the cycle."""
    _rest(m, place)
    m[place + r.WAIT_FROM] = m[r.NOW]
    ordinal = m[place + r.CYCLE]
    piece = m[place + r.HEAD]
    tail = m[place + r.TAIL]
    index = 0
    while piece != 0:
        after = m[piece + r.P_NEXT] if piece != tail else 0
        if m[piece + r.WHERE] == r.IN_WORK:
            if m[r.TRACING] == 1:
                write(m, log, ENDS, m[piece + r.SERIAL], op, place, int(x[place + r.WHO]), 0, 0)
            late = overdue(m, piece) if m[piece + r.WINDOWS] != 0 else 0
            if late != 0:
                close_window(m, x, log, piece, late, 1)
            else:
                conclude(m, x, log, piece, m[piece + r.OPERATION], ordinal, index)
            index += 1
        piece = after
    remind(m, place)


def _rest(m: Whole, place: int) -> None:
    m[place + r.STATUS] = r.IDLE
    m[place + r.PHASE] = r.NOTHING
    m[place + r.ASKED] = 0
    m[place + r.BEGUN] = 0


def _made_ready(m: Whole, x: Real, place: int, op: int, phase: int) -> None:
    """Setup, cleaning or start-up is done: it is not due any more."""
    spot = m[place + r.INDEX]
    if phase == r.SETTING:
        m[place + r.LAST_OP] = op
        if m[op + r.O_SETUP_WHEN] == r.EVERY:
            x[m[op + r.O_SETUP_PLACES] + spot] += x[op + r.O_SETUP_EVERY]
    elif phase == r.CLEANING:
        m[place + r.DIRTY] = 0
        if m[op + r.O_CLEAN_WHEN] == r.CLEAN_EVERY:
            x[m[op + r.O_CLEAN_PLACES] + spot] += x[op + r.O_CLEAN_EVERY]
        elif m[op + r.O_CLEAN_WHEN] != r.CLEAN_LOAD:
            m[m[op + r.O_CLEAN_PLACES] + spot] = shift_number(m, op, m[op + r.O_CLEAN_WHEN] == r.CLEAN_DAY)
    else:
        m[place + r.RESTART] = 0
        if m[op + r.O_START_WHEN] == r.START_SHIFT:
            m[m[op + r.O_START_PLACES] + spot] = shift_number(m, op, False)
        x[place + r.DUE_SCRAP] += x[op + r.O_SPOILS]
    _rest(m, place)
    remind(m, place)
