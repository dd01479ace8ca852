"""The loop: do what this instant asks for, then take the next event, until the time or the budget is up.

Before every step there must be rows and log left for all that the step may make; else the loop answers with a code,
nothing has changed, and it can be entered again with more memory.
"""

from __future__ import annotations

from linewright.simulate.kernel import flow_rows as f
from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.accounts import (
    settle_carrier,
    settle_crew,
    settle_item,
    settle_place,
    settle_route,
    settle_store,
    settle_tool,
)
from linewright.simulate.kernel.calendars import schedule_turn, turn
from linewright.simulate.kernel.campaigns import begin_campaign, look_at_campaigns
from linewright.simulate.kernel.cares import care_comes
from linewright.simulate.kernel.carriers import come_back, set_off, wind_up_losses
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.closing import window_event
from linewright.simulate.kernel.flow_levels import carry_on
from linewright.simulate.kernel.flows import flows_go_on, settle_flows
from linewright.simulate.kernel.heap import close_top, take_next
from linewright.simulate.kernel.intake import delivered, schedule_delivery
from linewright.simulate.kernel.journeys import look_for_room
from linewright.simulate.kernel.lending import settle_lend
from linewright.simulate.kernel.lists import next_on_agenda, remind
from linewright.simulate.kernel.moves import admit
from linewright.simulate.kernel.parts import count_orphans
from linewright.simulate.kernel.places import complete, step
from linewright.simulate.kernel.release import demand_comes, let_in, schedule_demand
from linewright.simulate.kernel.rings import turn_ring
from linewright.simulate.kernel.spoiling import note_first_ages, spoil, watch_age
from linewright.simulate.kernel.stoppages import break_down, mend, wind_up
from linewright.simulate.kernel.windows import set_clock
from linewright.simulate.kernel.work import look_at_waiting


def dispatch(m: Whole, x: Real, h: Whole, log: Whole, row: int) -> None:
    """Do what a row on the agenda asks for."""
    kind = m[row + r.KIND]
    if kind == r.PLACE:
        step(m, x, h, log, row)
    elif kind == r.STATION:
        if admit(m, x, log, row):
            remind(m, row)
    elif kind == r.CREW or kind == r.TOOL or kind == r.CARRIER:
        look_at_waiting(m, x, h, log, row)
    elif kind == r.CARRIED:
        set_off(m, x, h, row)
    elif kind == r.WINDOW:
        set_clock(m, h, row)
    elif kind == r.ITEM:
        look_at_waiting(m, x, h, log, row)
        if m[row + r.I_CAMPAIGNS] != 0:
            look_at_campaigns(m, x, h, row)
        let_in(m, x, log, row)
        if m[row + r.I_KEEPS] != 0:
            watch_age(m, h, row)
    elif kind == r.STORE:
        look_for_room(m, x, log, row)


def happen(m: Whole, x: Real, h: Whole, log: Whole, row: int) -> None:
    """The event of a row."""
    kind = m[row + r.KIND]
    if kind == r.PLACE:
        complete(m, x, h, log, row)
    elif kind == r.STOPPAGE:
        if m[row + r.Z_BROKEN] == 1:
            mend(m, x, h, log, row)
        else:
            if m[row + r.Z_CALENDAR] == 0:
                m[row + r.Z_TO_GO] = 0
            break_down(m, x, h, log, row)
    elif kind == r.CALENDAR:
        turn(m, x, h, row)
    elif kind == r.RELEASE:
        demand_comes(m, x, h, row)
    elif kind == r.INTAKE:
        delivered(m, x, h, row)
    elif kind == r.CAMPAIGN:
        begin_campaign(m, x, h, row)
    elif kind == r.CARE:
        care_comes(m, x, h, log, row)
    elif kind == r.CARRIED:
        come_back(m, x, row)
    elif kind == r.WINDOW:
        window_event(m, x, h, log, row)
    elif kind == r.ITEM:
        spoil(m, x, row)
    elif kind == f.FLOWING:
        m[row + f.F_LOOK] = 1
        if m[row + f.F_DIRTY] == f.WHEN_IT_COMES:
            m[row + f.F_DIRTY] = 1


LONGEST_INSTANT = 5_000_000
"""Steps without the clock moving after which work is taken to be endless."""


def advance(m: Whole, x: Real, h: Whole, log: Whole, until: int, budget: int) -> int:
    """Let time pass up to ``until``, not including it; after ``budget`` events the answer is MORE."""
    instant = m[r.SAME_TIME]
    while True:
        if m[r.ROWS_LEFT] < m[r.MARGIN] or m[r.LOG_SIZE] > m[r.LOG_SAFE]:
            m[r.SAME_TIME] = instant
            return r.FULL_ROWS if m[r.ROWS_LEFT] < m[r.MARGIN] else r.FULL_LOG
        row = next_on_agenda(m)
        if row != 0:
            instant += 1
            if instant > LONGEST_INSTANT:
                return r.NO_TIME
            dispatch(m, x, h, log, row)
            continue
        if m[r.RINGS] == 2:
            m[r.RINGS] = 1
            if turn_ring(m, x, log):
                m[r.RINGS] = 2
                continue
        if m[r.FLOWS] != 0 and flows_go_on(m, x, h, log):
            continue
        if m[r.OPEN_TOP] == 1:
            close_top(m, h)
        if m[r.HEAP_SIZE] == 0 or h[0] >= until:
            m[r.NOW] = until
            if m[r.FLOWS] != 0:
                carry_on(m, x)
            m[r.SAME_TIME] = 0
            return r.DONE
        if budget <= 0:
            m[r.SAME_TIME] = instant
            return r.MORE
        budget -= 1
        if h[0] != m[r.NOW]:
            instant = 0
            m[r.NOW] = h[0]
            if m[r.FLOWS] != 0:
                carry_on(m, x)
        m[r.EVENTS] += 1
        happen(m, x, h, log, take_next(m, h))


def settle(m: Whole, x: Real) -> None:
    """Bring every account up to the present."""
    if m[r.FLOWS] != 0:
        settle_flows(m, x)
    for k in range(m[r.STATIONS + 1]):
        station = m[r.STATIONS] + k * r.STATION_WIDTH
        place = m[station + r.S_PLACES]
        for _ in range(m[station + r.S_COUNT]):
            settle_place(m, place)
            place += r.WIDTH
    for k in range(m[r.CREWS + 1]):
        settle_crew(m, x, m[r.CREWS] + k * r.CREW_WIDTH)
    for k in range(m[r.LENDS + 1]):
        settle_lend(m, x, m[r.LENDS] + k * r.LEND_WIDTH)
    for k in range(m[r.TOOLS + 1]):
        settle_tool(m, x, m[r.TOOLS] + k * r.TOOL_WIDTH)
    for k in range(m[r.CARRIERS + 1]):
        settle_carrier(m, x, m[r.CARRIERS] + k * r.CARRIER_WIDTH)
    for k in range(m[r.STORES + 1]):
        settle_store(m, x, m[r.STORES] + k * r.STORE_WIDTH)
    for k in range(m[r.ITEMS + 1]):
        item = m[r.ITEMS] + k * r.ITEM_WIDTH
        settle_item(m, x, item)
        if m[item + r.I_MATES] != 0:
            count_orphans(m, x, m[item + r.I_MATES])
    for k in range(m[r.ROUTES + 1]):
        settle_route(m, x, m[r.ROUTES] + k * r.ROUTE_WIDTH)


def open_up(m: Whole, x: Real, h: Whole) -> None:
    """The first instant: clocks are wound up, calendars and demand scheduled, everything put on the agenda."""
    rows = m[r.EVENT_ROWS]
    for k in range(m[rows]):
        row = m[rows + 1 + k]
        kind = m[row + r.KIND]
        if kind == r.STOPPAGE:
            wind_up(m, x, h, row)
        elif kind == r.CALENDAR:
            schedule_turn(m, h, row)
        elif kind == r.RELEASE:
            schedule_demand(m, x, h, row)
        elif kind == r.INTAKE:
            schedule_delivery(m, h, row)
    note_first_ages(m, x)
    for k in range(m[r.CARRIERS + 1]):
        if m[m[r.CARRIERS] + k * r.CARRIER_WIDTH + r.Y_BETWEEN] != 0:
            wind_up_losses(m, x, m[r.CARRIERS] + k * r.CARRIER_WIDTH)
    for k in range(m[r.ITEMS + 1]):
        remind(m, m[r.ITEMS] + k * r.ITEM_WIDTH)


OPEN_UP = 0
ADVANCE = 1
SETTLE = 2
"""What enter() is asked to do."""


def enter(m: Whole, x: Real, h: Whole, log: Whole, task: int, until: int, budget: int) -> int:
    """The one door into the kernel."""
    if task == OPEN_UP:
        open_up(m, x, h)
        return r.DONE
    if task == SETTLE:
        settle(m, x)
        return r.DONE
    return advance(m, x, h, log, until, budget)
