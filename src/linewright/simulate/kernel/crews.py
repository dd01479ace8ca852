"""People: who is free, who has them, and what happens when their number changes.

A crew keeps its holds in the order in which they were taken, so that the last started pauses first.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.accounts import settle_crew
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.lending import go_and_help, people_free, team_lacks, who_comes
from linewright.simulate.kernel.lists import drop_row, new_row


def free_people(m: Whole, crew: int) -> int:
    """People there and not at work, in units of a person; below zero where more work than are there."""
    return m[crew + r.C_LEVEL] - m[crew + r.C_USED]


def lacking_crew(m: Whole, x: Real, work: int, crews: int, needed: int) -> int:
    """The first crew of a list that cannot come; 0 where all can.

    ``needed`` is the time they are wanted for; it counts where the work must fit before the crew goes.
    """
    if crews == 0:
        return 0
    if m[r.LENDS] != 0:
        return lacking_team(m, x, work, crews, needed)
    for k in range(m[crews]):
        crew, units = m[crews + 1 + 2 * k], m[crews + 2 + 2 * k]
        if free_people(m, crew) < units:
            return crew
        gathers = m[crew + r.C_GATHERS]
        if gathers != 0 and gathers != work and m[gathers + r.ASKED] < m[work + r.ASKED]:
            return crew
        if m[work + r.STOP] == r.FITS and not fits(m, crew, units, needed):
            return crew
    return 0


def lacking_team(m: Whole, x: Real, work: int, crews: int, needed: int) -> int:
    """As ``lacking_crew`` where crews help each other: the team that was put together is the one to ``seize``."""
    lack = team_lacks(m, x, work, crews)
    if lack != 0 or m[work + r.STOP] != r.FITS:
        return lack
    team = m[r.TEAM]
    if x[crews] == 0.0:
        needed = int(needed * x[team] + 0.5)
    for k in range(m[team]):
        row = team + k * r.MEMBER_WIDTH
        if not fits(m, m[row + r.MEMBER_CREW], m[row + r.MEMBER_UNITS], needed):
            return m[row + r.MEMBER_FOR]
    return 0


def fits(m: Whole, crew: int, units: int, needed: int) -> bool:
    """Whether work of ``needed`` ns started now ends before the crew becomes too few for it.

    Work longer than any stretch of the week may start at the beginning of a stretch, for else it never would.
    """
    calendar = m[crew + r.C_CALENDAR]
    if calendar == 0:
        return True
    steps = m[calendar + r.K_STEPS]
    step = m[calendar + r.K_STEP]
    week = m[calendar + r.K_WEEK]
    wanted = m[crew + r.C_USED] + units
    for _ in range(2 * steps + 1):
        step += 1
        if step >= steps:
            step = 0
            week += WEEK
        row = calendar + r.CALENDAR_WIDTH + step * r.STEP_WIDTH
        if week + m[row + r.K_AT] >= m[r.NOW] + needed:
            return True
        if m[row + r.K_LEVEL] * r.PERSON < wanted:
            return needed > m[calendar + r.K_LONGEST]
    return True


WEEK = 7 * 24 * 3600 * 1_000_000_000


def seize(m: Whole, x: Real, work: int, crews: int) -> None:
    """Give work its people."""
    if crews == 0:
        return
    if m[r.LENDS] != 0:
        seize_team(m, x, work, crews)
        return
    for k in range(m[crews]):
        take_people(m, x, work, m[crews + 1 + 2 * k], m[crews + 2 + 2 * k])


def take_people(m: Whole, x: Real, work: int, crew: int, units: int) -> int:
    """Give work people of one crew: the hold."""
    settle_crew(m, x, crew)
    m[crew + r.C_USED] += units
    if m[crew + r.C_GATHERS] == work:
        m[crew + r.C_GATHERS] = 0
    hold = new_row(m, x, r.HOLD)
    m[hold + r.H_WORK] = work
    m[hold + r.H_CREW] = crew
    m[hold + r.H_UNITS] = units
    last = m[crew + r.C_LAST_HOLD]
    m[hold + r.H_BEFORE] = last
    if last == 0:
        m[crew + r.C_HOLDS] = hold
    else:
        m[last + r.H_NEXT] = hold
    m[crew + r.C_LAST_HOLD] = hold
    m[hold + r.H_CHAIN] = m[work + r.HELD]
    m[work + r.HELD] = hold
    return hold


def seize_team(m: Whole, x: Real, work: int, crews: int) -> None:
    """Give work the team that ``lacking_team`` has just put together; what is left takes as long as its slowest needs.

    Of work at a rate the time is the machine's.
    """
    team = m[r.TEAM]
    if m[r.TRACING] == 1 and m[work + r.KIND] == r.PLACE:
        x[work + r.WHO] = float(who_comes(m))
    slower = x[team] if x[crews] == 0.0 else 1.0
    for k in range(m[team]):
        row = team + k * r.MEMBER_WIDTH
        hold = take_people(m, x, work, m[row + r.MEMBER_CREW], m[row + r.MEMBER_UNITS])
        lend = m[row + r.MEMBER_LEND]
        if lend != 0:
            go_and_help(m, x, lend, m[row + r.MEMBER_UNITS])
            m[hold + r.H_LEND] = lend
            m[hold + r.H_FOR] = m[row + r.MEMBER_FOR]
        if slower > 1.0:
            x[hold + r.H_SLOWER] = slower
    if slower > 1.0:
        m[work + r.LEFT] = int(m[work + r.LEFT] * slower + 0.5)


def let_go(m: Whole, x: Real, work: int) -> None:
    """Release the people of a work, and remind their crews that they are free.

    What is left of it is again what it takes people of the crew whose work it is.
    """
    hold = m[work + r.HELD]
    if hold != 0 and x[hold + r.H_SLOWER] > 1.0:
        m[work + r.LEFT] = int(m[work + r.LEFT] / x[hold + r.H_SLOWER] + 0.5)
    while hold != 0:
        crew = m[hold + r.H_CREW]
        settle_crew(m, x, crew)
        m[crew + r.C_USED] -= m[hold + r.H_UNITS]
        if m[hold + r.H_LEND] != 0:
            go_and_help(m, x, m[hold + r.H_LEND], -m[hold + r.H_UNITS])
        before, after = m[hold + r.H_BEFORE], m[hold + r.H_NEXT]
        if before == 0:
            m[crew + r.C_HOLDS] = after
        else:
            m[before + r.H_NEXT] = after
        if after == 0:
            m[crew + r.C_LAST_HOLD] = before
        else:
            m[after + r.H_BEFORE] = before
        people_free(m, crew)
        rest = m[hold + r.H_CHAIN]
        drop_row(m, hold)
        hold = rest
    m[work + r.HELD] = 0
