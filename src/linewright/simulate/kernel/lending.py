"""People who can do another crew's work: a team is put together of own people first, then of those whom others lend.

Who comes free looks at the work of his own crew first; only then is he lent. Nobody holds anything while he waits, so
lending cannot lock anybody up. The work takes as long as the slowest of the team needs.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.lists import remind


def team_lacks(m: Whole, x: Real, work: int, crews: int) -> int:
    """Put a team together for a list of crews: 0, or the first crew for which nobody can come."""
    team = m[r.TEAM]
    m[team] = 0
    x[team] = 1.0
    for k in range(m[crews]):
        crew, units = m[crews + 1 + 2 * k], m[crews + 2 + 2 * k]
        there = at_liberty(m, work, crew) - _in_team(m, r.MEMBER_CREW, crew)
        add_member(m, crew, whole_people(units, units, there), 0, crew)
    for k in range(m[crews]):
        crew, units = m[crews + 1 + 2 * k], m[crews + 2 + 2 * k]
        rest = _lent(m, x, work, crew, units, units - _in_team(m, r.MEMBER_FOR, crew))
        if rest > 0:
            return crew
    return 0


def _lent(m: Whole, x: Real, work: int, crew: int, units: int, rest: int) -> int:
    """Add people whom others lend to a crew, in order; how many are still missing."""
    lends = m[crew + r.C_LENDERS]
    if lends == 0:
        return rest
    for k in range(m[lends]):
        if rest <= 0:
            return 0
        lend = m[lends + 1 + k]
        lender = m[lend + r.LEND_FROM]
        if m[lender + r.C_FREED] == 1:
            continue
        there = at_liberty(m, work, lender) - _in_team(m, r.MEMBER_CREW, lender)
        there = min(there, m[lend + r.LEND_MOST] - m[lend + r.LEND_USED])
        found = whole_people(units, rest, there)
        if found > 0:
            add_member(m, lender, found, lend, crew)
            x[m[r.TEAM]] = max(x[m[r.TEAM]], x[lend + r.LEND_SLOWER])
            rest -= found
    return rest


def at_liberty(m: Whole, work: int, crew: int) -> int:
    """People of a crew who are free and do not wait for the rest of an earlier team, in units of a person."""
    gathers = m[crew + r.C_GATHERS]
    if gathers != 0 and gathers != work and m[gathers + r.ASKED] < m[work + r.ASKED]:
        return 0
    return m[crew + r.C_LEVEL] - m[crew + r.C_USED]


def whole_people(units: int, rest: int, there: int) -> int:
    """How much of what is missing those who are there can do: whole people, or one person's part as a whole."""
    one = units
    if units % r.PERSON == 0:
        one = r.PERSON
    able = min(rest, there)
    if able < one:
        return 0
    return able - able % one


def add_member(m: Whole, crew: int, units: int, lend: int, work_of: int) -> None:
    """One more in the team."""
    if units <= 0:
        return
    team = m[r.TEAM]
    row = team + m[team] * r.MEMBER_WIDTH
    m[row + r.MEMBER_CREW] = crew
    m[row + r.MEMBER_UNITS] = units
    m[row + r.MEMBER_LEND] = lend
    m[row + r.MEMBER_FOR] = work_of
    m[team] += 1


def _in_team(m: Whole, column: int, crew: int) -> int:
    """Units that the team already has: of the people of a crew (MEMBER_CREW), or for its work (MEMBER_FOR)."""
    team = m[r.TEAM]
    units = 0
    for k in range(m[team]):
        row = team + k * r.MEMBER_WIDTH
        if m[row + column] == crew:
            units += m[row + r.MEMBER_UNITS]
    return units


def who_comes(m: Whole) -> int:
    """The crews of the team at hand as bits, in the order of the crews; 0 where there are too many to tell."""
    team = m[r.TEAM]
    found = 0
    if m[r.CREWS + 1] > r.MOST_TOLD:
        return 0
    for k in range(m[team]):
        found = found | (1 << ((m[team + k * r.MEMBER_WIDTH + r.MEMBER_CREW] - m[r.CREWS]) // r.CREW_WIDTH))
    return found


def can_lend(m: Whole, crew: int) -> bool:
    """Whether anybody is free whom another crew could lend to this one."""
    lends = m[crew + r.C_LENDERS]
    if lends == 0:
        return False
    for k in range(m[lends]):
        lend = m[lends + 1 + k]
        lender = m[lend + r.LEND_FROM]
        if m[lend + r.LEND_USED] < m[lend + r.LEND_MOST] and m[lender + r.C_USED] < m[lender + r.C_LEVEL]:
            return True
    return False


def able_now(m: Whole, crew: int) -> int:
    """People on shift who could do the work of a crew, busy or not, in units of a person."""
    units = m[crew + r.C_LEVEL]
    lends = m[crew + r.C_LENDERS]
    if lends != 0:
        for k in range(m[lends]):
            lend = m[lends + 1 + k]
            units += min(m[lend + r.LEND_MOST], m[m[lend + r.LEND_FROM] + r.C_LEVEL])
    return units


def people_free(m: Whole, crew: int) -> None:
    """People of a crew have come free or on shift: it looks at its own work, then those whom it helps may ask."""
    if m[crew + r.C_BORROWERS] != 0:
        m[crew + r.C_FREED] = 1
    remind(m, crew)


def offer(m: Whole, crew: int) -> None:
    """A crew has looked at its own work: let those whom it helps look again."""
    if m[crew + r.C_FREED] == 0:
        return
    m[crew + r.C_FREED] = 0
    borrowers = m[crew + r.C_BORROWERS]
    for k in range(m[borrowers]):
        other = m[borrowers + 1 + k]
        if m[other + r.FIRST] != 0:
            remind(m, other)


def settle_lend(m: Whole, x: Real, lend: int) -> None:
    """Book the people lent since the last change, in person-nanoseconds."""
    now = m[r.NOW]
    x[lend + r.LEND_TIME] += (m[lend + r.LEND_USED] / r.PERSON) * (now - m[lend + r.LEND_SINCE])
    m[lend + r.LEND_SINCE] = now


def go_and_help(m: Whole, x: Real, lend: int, units: int) -> None:
    """So many more people are lent; fewer, where it is below zero."""
    settle_lend(m, x, lend)
    m[lend + r.LEND_USED] += units
