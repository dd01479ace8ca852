"""Work starts, pauses and goes on: a place at its operation, or a repair.

A start takes parts, tools and people together or not at all. Who lacks something waits at the first thing lacking, in
order of asking. Work that has begun and lost its people, or was closed in for the night, only wants its people back.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.accounts import set_state, write
from linewright.simulate.kernel.carriers import close_carrier, get_on, joined_rides, lacking_carrier
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.crews import free_people, lacking_crew, let_go, seize
from linewright.simulate.kernel.draws import duration
from linewright.simulate.kernel.heap import cancel, schedule
from linewright.simulate.kernel.lending import able_now, can_lend, offer, who_comes
from linewright.simulate.kernel.lists import goes_with, stop_waiting, wait_at
from linewright.simulate.kernel.parts import (
    faults_taken,
    lacking_choice,
    lacking_part,
    lacking_tool,
    move_tools,
    take_choices,
    take_parts,
)
from linewright.simulate.kernel.ullage import stop_airing
from linewright.simulate.kernel.windows import end_windows

CANNOT = -1
"""Lacks nothing that has a list: the place is down, or the station closed."""


def crews_of(m: Whole, work: int) -> int:
    """The list of people that the work at hand needs."""
    if m[work + r.KIND] != r.PLACE:
        return m[work + r.CREW_LIST]
    phase, op = m[work + r.PHASE], m[work + r.STAGE]
    if phase == r.HANDS and m[op + r.O_HANDS_ALL] == 0 and m[op + r.O_HANDS_START] == 0:
        return 0
    if phase == r.HANDS or phase == r.UNLOADING or phase == r.STARTING:
        return m[op + r.O_CREWS]
    if phase == r.SETTING:
        return m[op + r.O_SETUP_CREWS]
    if phase == r.CLEANING:
        return m[op + r.O_CLEAN_CREWS]
    return 0


def lacking(m: Whole, x: Real, work: int) -> int:
    """The first thing that work lacks to start or to go on: a row, CANNOT, or 0 for nothing."""
    if m[work + r.KIND] == r.PLACE:
        if m[work + r.DOWN] > 0 or m[m[work + r.AT] + r.S_OPEN] == 0:
            return CANNOT
        if m[work + r.BEGUN] < 2:
            lack = _lacking_things(m, x, work)
            if lack != 0:
                return lack
    return lacking_crew(m, x, work, crews_of(m, work), m[work + r.LEFT])


def _lacking_things(m: Whole, x: Real, place: int) -> int:
    op, phase = m[place + r.STAGE], m[place + r.PHASE]
    if phase == r.HANDS:
        lack = lacking_part(m, x, m[op + r.O_TAKES], x[place + r.FRESH])
        if lack == 0 and x[place + r.FRESH] > 0.0:
            lack = lacking_part(m, x, m[op + r.O_TAKES_LOAD], 1.0)
        if lack == 0:
            lack = lacking_choice(m, x, m[op + r.O_CHOICES], x[place + r.FRESH])
        if lack == 0:
            lack = lacking_tool(m, m[op + r.O_TOOLS])
        if lack == 0 and (m[op + r.O_JOINS] != 0 or m[op + r.O_MIXES] != 0):
            lack = lacking_carrier(m, x, place, op)
        return lack
    if phase == r.SETTING:
        return lacking_part(m, x, m[op + r.O_SETUP_TAKES], 1.0)
    if phase == r.CLEANING:
        return lacking_part(m, x, m[op + r.O_CLEAN_TAKES], 1.0)
    return 0


def attempt(m: Whole, x: Real, h: Whole, log: Whole, work: int) -> None:
    """Start the work, or let it go on, or let it wait for what it lacks."""
    if m[work + r.ASKED] == 0:
        m[r.ORDER] += 1
        m[work + r.ASKED] = m[r.ORDER]
    lack = lacking(m, x, work)
    if lack == 0:
        stop_waiting(m, work)
        begin(m, x, h, log, work)
        return
    if m[work + r.WAITS_AT] != lack or lack == CANNOT:
        stop_waiting(m, work)
        if lack == CANNOT:
            m[work + r.STATUS] = r.WAITING
        else:
            wait_at(m, lack, work)
    if m[work + r.KIND] == r.PLACE:
        set_state(m, work, _state_of_waiting(m, work, lack))


def _state_of_waiting(m: Whole, place: int, lack: int) -> int:
    if lack == CANNOT:
        return r.IS_DOWN if m[place + r.DOWN] > 0 else r.UNMANNED
    kind = m[lack + r.KIND]
    return r.NO_CREW if kind == r.CREW else (r.NO_TOOL if kind == r.TOOL or kind == r.CARRIER else r.SHORT)


def begin(m: Whole, x: Real, h: Whole, log: Whole, work: int) -> None:
    """Take everything and run."""
    if m[work + r.KIND] == r.PLACE and m[work + r.BEGUN] < 2:
        _take_things(m, x, log, work)
    seize(m, x, work, crews_of(m, work))
    run(m, h, work)


def _take_things(m: Whole, x: Real, log: Whole, place: int) -> None:
    op, phase = m[place + r.STAGE], m[place + r.PHASE]
    if phase == r.HANDS and m[m[place + r.HEAD] + r.AIRS] != 0:
        stop_airing(m, x, place)
    if m[place + r.BEGUN] == 0:
        draw_times(m, x, place)
    m[place + r.BEGUN] = 2
    if phase == r.HANDS:
        fresh = x[place + r.FRESH]
        take_parts(m, x, m[op + r.O_TAKES], fresh)
        if fresh > 0.0:
            take_parts(m, x, m[op + r.O_TAKES_LOAD], 1.0)
        take_choices(m, x, m[op + r.O_CHOICES], fresh)
        move_tools(m, x, m[op + r.O_TOOLS], -1)
        m[place + r.TOOLS_HELD] = m[op + r.O_TOOLS]
        _start_group(m, x, log, place)
    elif phase == r.SETTING:
        take_parts(m, x, m[op + r.O_SETUP_TAKES], 1.0)
    elif phase == r.CLEANING:
        take_parts(m, x, m[op + r.O_CLEAN_TAKES], 1.0)


def _start_group(m: Whole, x: Real, log: Whole, place: int) -> None:
    """The pieces of the cycle are in work; setups, cleaning and loads are counted; a load that begins is closed."""
    op = m[place + r.STAGE]
    m[place + r.GATHERED] = 0
    left = x[place + r.GROUP]
    piece = m[place + r.HEAD]
    while piece != 0 and left > 1e-9:
        if m[piece + r.WHERE] == r.TO_DO and goes_with(m, m[piece + r.OPERATION], op):
            m[piece + r.WHERE] = r.IN_WORK
            if m[piece + r.WINDOWS] != 0:
                end_windows(m, piece, m[piece + r.OPERATION])
            m[piece + r.BEGINS] = 0
            left -= x[piece + r.AMOUNT]
            if takes_parts(m, piece, op):
                m[piece + r.FAULTS] |= faults_taken(m, x, op, x[piece + r.AMOUNT])
                if m[r.RIDES_TAKEN] != 0:
                    m[piece + r.RIDES] = joined_rides(m, m[piece + r.RIDES], m[r.RIDES_TAKEN])
                    m[r.RIDES_TAKEN] = 0
            if m[m[piece + r.OPERATION] + r.O_JOINS] != 0:
                get_on(m, x, piece, m[piece + r.OPERATION])
            if m[r.TRACING] == 1:
                who = who_comes(m) if m[r.LENDS] != 0 and crews_of(m, place) != 0 else 0
                write(m, log, START, m[piece + r.SERIAL], op, place, who, 0, 0)
            if m[op + r.O_MIXES] != 0:
                x[m[piece + r.OPERATION] + r.O_RUNS] += x[piece + r.AMOUNT]
        piece = m[piece + r.P_NEXT]
    if m[r.CARRIERS + 1] > 0 and x[op + r.O_MOST] > 1.0:
        _close_carriers(m, place)
    if m[op + r.O_MIXES] == 0:
        x[op + r.O_RUNS] += x[place + r.GROUP]
    m[op + r.O_LOADS] += 1
    spot = m[place + r.INDEX]
    if m[op + r.O_SETUP_WHEN] == r.EVERY:
        x[m[op + r.O_SETUP_PLACES] + spot] -= x[place + r.GROUP]
    m[place + r.LAST_OP] = op
    if m[op + r.O_CLEAN_WHEN] == r.CLEAN_LOAD:
        m[place + r.DIRTY] = op
    elif m[op + r.O_CLEAN_WHEN] == r.CLEAN_EVERY:
        x[m[op + r.O_CLEAN_PLACES] + spot] -= x[place + r.GROUP]
    if m[op + r.O_CLOSES] == 1 and m[place + r.OPEN] == 1:
        m[place + r.OPEN] = 0
        m[m[op + r.O_VISIT] + r.V_FILLING] = 0


def _close_carriers(m: Whole, place: int) -> None:
    """What the pieces of a load got on is closed to others."""
    piece = m[place + r.HEAD]
    while piece != 0:
        if m[piece + r.WHERE] == r.IN_WORK and m[m[piece + r.OPERATION] + r.O_JOINS] != 0:
            close_carrier(m, m[piece + r.OPERATION])
        piece = m[piece + r.P_NEXT]


START = 3
"""The log's word for a start."""


def draw_times(m: Whole, x: Real, place: int) -> None:
    """Draw how long the phase at hand lasts: LEFT, and for an operation the machine's and the last hands-on part."""
    op, phase = m[place + r.STAGE], m[place + r.PHASE]
    m[place + r.BEGUN] = 1
    key, high = m[op + r.O_KEY], m[op + r.O_KEY_HIGH]
    if phase == r.SETTING:
        m[op + r.O_STARTS] += 1
        m[place + r.LEFT] = changeover(m, op, m[place + r.LAST_OP])
        if m[place + r.LEFT] < 0:
            m[place + r.LEFT] = duration(m, x, m[op + r.O_SETUP], key, high, m[op + r.O_STARTS], r.FOR_SETUP)
    elif phase == r.CLEANING:
        m[op + r.O_STARTS] += 1
        m[place + r.LEFT] = duration(m, x, m[op + r.O_CLEAN], key, high, m[op + r.O_STARTS], r.FOR_CLEAN)
    elif phase == r.STARTING:
        m[op + r.O_STARTS] += 1
        m[place + r.LEFT] = duration(m, x, m[op + r.O_START], key, high, m[op + r.O_STARTS], r.FOR_START)
    else:
        m[op + r.O_DONE] += 1
        m[place + r.CYCLE] = m[op + r.O_DONE]
        cycle = duration(m, x, m[op + r.O_TIME], key, high, m[op + r.O_DONE], r.FOR_TIME)
        if m[op + r.O_ANY] == 1:
            cycle = int(cycle * x[place + r.GROUP] + 0.5)
        cycle += int(m[op + r.O_EACH] * x[place + r.GROUP] + 0.5)
        _split_hands(m, place, op, cycle)


def changeover(m: Whole, op: int, before: int) -> int:
    """The time written for setting up ``op`` after ``before``; -1: none is."""
    pairs = m[op + r.O_CHANGEOVERS]
    if pairs == 0:
        return -1
    for k in range(m[pairs]):
        if m[pairs + 1 + 2 * k] == before:
            return m[pairs + 2 + 2 * k]
    return -1


def takes_parts(m: Whole, piece: int, op: int) -> bool:
    """Whether a piece takes parts at an operation: a repeated pass takes nothing unless the plan says so."""
    position = m[op + r.O_POSITION]
    return m[piece + r.REACH] < position or m[piece + r.LOW] <= position <= m[piece + r.HIGH]


def _split_hands(m: Whole, place: int, op: int, cycle: int) -> None:
    """Hands at the start, the machine alone, hands at the end; all hands where the crew stays or there is none."""
    m[place + r.MACHINE] = 0
    m[place + r.HANDS_END] = 0
    if m[op + r.O_HANDS_ALL] == 1 or m[op + r.O_CREWS] == 0:
        m[place + r.LEFT] = cycle
        return
    start = min(m[op + r.O_HANDS_START], cycle)
    end = min(m[op + r.O_HANDS_END], cycle - start)
    m[place + r.LEFT] = start
    m[place + r.HANDS_END] = end
    m[place + r.MACHINE] = cycle - start - end


def run(m: Whole, h: Whole, work: int) -> None:
    """Let the clock of the work run."""
    m[work + r.STATUS] = r.RUNNING
    m[work + r.SINCE] = m[r.NOW]
    schedule(m, h, work, m[r.NOW] + m[work + r.LEFT], r.FINISHES)
    if m[work + r.KIND] == r.PLACE:
        phase = m[work + r.PHASE]
        if phase == r.HANDS or phase == r.ALONE or phase == r.UNLOADING:
            set_state(m, work, r.WORKING)
            clocks_on(m, h, work)
        else:
            set_state(m, work, r.SETTING_UP)


def clocks_on(m: Whole, h: Whole, place: int) -> None:
    """Stoppages that count running time: let those come that fall within the work at hand."""
    stop = m[place + r.STOPS]
    for _ in range(m[place + r.N_STOPS]):
        if m[stop + r.Z_CALENDAR] == 0 and m[stop + r.Z_TO_GO] < m[place + r.LEFT]:
            schedule(m, h, stop, m[r.NOW] + m[stop + r.Z_TO_GO], r.BREAKS)
        stop += r.STOPPAGE_WIDTH


def clocks_off(m: Whole, h: Whole, place: int, passed: int) -> None:
    """Stoppages that count running time: so much of it has passed."""
    stop = m[place + r.STOPS]
    for _ in range(m[place + r.N_STOPS]):
        if m[stop + r.Z_CALENDAR] == 0:
            m[stop + r.Z_TO_GO] -= passed
            cancel(m, h, stop)
        stop += r.STOPPAGE_WIDTH


def halt(m: Whole, h: Whole, work: int) -> None:
    """Stop the clock of running work: what is left of it stays to be done."""
    passed = m[r.NOW] - m[work + r.SINCE]
    m[work + r.LEFT] -= passed
    cancel(m, h, work)
    if m[work + r.KIND] == r.PLACE:
        phase = m[work + r.PHASE]
        if phase == r.HANDS or phase == r.ALONE or phase == r.UNLOADING:
            clocks_off(m, h, work, passed)


def suspend(m: Whole, x: Real, h: Whole, work: int, at: int) -> None:
    """Take its people from work; it waits at ``at`` (a crew; 0: for its station to open) to go on."""
    frozen = m[work + r.STATUS] == r.FROZEN
    if m[work + r.STATUS] == r.RUNNING:
        halt(m, h, work)
    let_go(m, x, work)
    m[work + r.STATUS] = r.WAITING
    if at != 0 and not frozen:
        wait_at(m, at, work)
    if m[work + r.KIND] == r.PLACE and not frozen:
        set_state(m, work, r.NO_CREW if at != 0 else r.UNMANNED)


def pause_excess(m: Whole, x: Real, h: Whole, crew: int) -> None:
    """People have gone: the last started work pauses first, unless it is to be finished."""
    hold = m[crew + r.C_LAST_HOLD]
    while hold != 0 and free_people(m, crew) < 0:
        before = m[hold + r.H_BEFORE]
        work = m[hold + r.H_WORK]
        if m[work + r.STOP] == r.ANYWHERE:
            while before != 0 and m[before + r.H_WORK] == work:  # own people, and more of them lent to the same team
                before = m[before + r.H_BEFORE]
            suspend(m, x, h, work, m[hold + r.H_FOR] if m[hold + r.H_FOR] != 0 else crew)
        hold = before


def look_at_waiting(m: Whole, x: Real, h: Whole, log: Whole, owner: int) -> None:
    """Something has come free: go through those who wait for it in order of asking.

    Where people of a crew are free but too few for the first who lacks nothing else, they wait together for the rest.
    """
    is_crew = m[owner + r.KIND] == r.CREW
    if is_crew:
        m[owner + r.C_GATHERS] = 0
    work = m[owner + r.FIRST]
    while work != 0:
        after = m[work + r.NEXT]
        if is_crew and free_people(m, owner) <= 0 and not can_lend(m, owner):
            break
        if lacking(m, x, work) == owner:
            if is_crew and _gathers(m, work, owner):
                m[owner + r.C_GATHERS] = work
                break
        else:
            attempt(m, x, h, log, work)
        work = after
    if is_crew:
        offer(m, owner)


def _gathers(m: Whole, work: int, crew: int) -> bool:
    """Whether work lacks only some people of this crew, and they are on shift."""
    crews = crews_of(m, work)
    short = False
    for k in range(m[crews]):
        other, units = m[crews + 1 + 2 * k], m[crews + 2 + 2 * k]
        if free_people(m, other) < units:
            if other != crew:
                return False
            short = able_now(m, crew) >= units
    return short
