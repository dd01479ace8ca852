"""What becomes of a piece at the end of an operation: losses, faults, the check, rework, scrap, seconds, splitting.

A piece's journey is a walk over (operation, faults carried, reworks done). Luck is keyed by operation and by the count
of pieces that it has finished. In still mode every branch is a rotor: it fires when its probabilities add up to one.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.accounts import write
from linewright.simulate.kernel.carriers import gathered_rides, get_off, get_off_before
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.draws import uniform
from linewright.simulate.kernel.lists import (
    count_anew,
    leave_queue,
    new_row,
    put_in_place,
    remind,
    take_from_place,
)
from linewright.simulate.kernel.moves import (
    ask_for_visit,
    depart,
    end_piece,
    enter_store,
    finish_route,
    join_store_queue,
    leave_in_part,
    twin,
)
from linewright.simulate.kernel.parts import add_units, room_for
from linewright.simulate.kernel.ullage import kept_in_stand, shrink
from linewright.simulate.kernel.windows import comes_up, end_windows_from, start_windows
from linewright.simulate.kernel.work import takes_parts

SCRAPPED = 7
"""The log's word."""
BITS_OF_A_COUNT = 9
COUNTS_A_COLUMN = 7


def conclude(m: Whole, x: Real, log: Whole, piece: int, op: int, ordinal: int, index: int) -> None:
    """One piece at the end of operation ``op``; ``ordinal`` and ``index`` key its luck.

    Where a by-product finds no room in its store the piece waits in its place, and this is done again.
    """
    if m[op + r.O_GIVES] != 0 and takes_parts(m, piece, op):  # by-products leave once, with what they come out of
        full = _no_room_for_gives(m, x, op, x[piece + r.AMOUNT])
        if full != 0:
            m[piece + r.WHERE] = r.GIVES
            m[piece + r.LUCK], m[piece + r.LUCK_INDEX] = ordinal, index
            join_store_queue(m, full, piece)
            return
        _give(m, x, op, x[piece + r.AMOUNT])
    place = m[piece + r.IN_PLACE]
    if not _survives(m, x, piece, op, ordinal, index):
        discard(m, x, log, piece, op, 0)
        return
    if x[place + r.DUE_SCRAP] >= 1.0 and m[op + r.O_START_WHEN] != 0:
        x[place + r.DUE_SCRAP] -= 1.0
        discard(m, x, log, piece, op, 1)
        return
    _err(m, x, piece, op, ordinal, index)
    check = m[op + r.O_CHECK]
    if check != 0:
        sample = m[piece + r.SENT_BACK] == 0
        if not _is_looked_at(m, x, piece, op, check):
            if m[check + r.C_HOLDS_BACK] == 1:
                if m[op + r.O_OPENS] != 0:
                    start_windows(m, x, piece, op)
                _hold_back(m, x, piece, check, ordinal, index)
                return
        else:
            reject = verdict(m, x, piece, op, check, ordinal, index)
            if sample and m[check + r.C_HELD_FIRST] != 0:
                _decide_on_held(m, x, log, op, check, reject != 0)
            if reject != 0 and react(m, x, log, piece, op, check, reject):
                return
    if m[op + r.O_LEAVES] != 0 and m[piece + r.RIDES] != 0:
        get_off(m, piece, m[op + r.O_LEAVES])
    if m[op + r.O_OPENS] != 0:
        start_windows(m, x, piece, op)
    if m[op + r.O_POSITION] >= m[piece + r.REACH]:
        _repeat(m, piece, -1, NEVER, -1)
    if m[op + r.O_SPLITS] == 1:
        _split(m, x, log, piece, op)
    else:
        if x[op + r.O_OUT] != 1.0 and m[op + r.O_NEXT] != 0:
            change_amount(m, x, piece, x[piece + r.AMOUNT] * x[op + r.O_OUT])
        proceed(m, x, log, piece, op)


def change_amount(m: Whole, x: Real, piece: int, amount: float) -> None:
    """A piece of an amount becomes more or less."""
    x[m[piece + r.IN_PLACE] + r.AMOUNT] += amount - x[piece + r.AMOUNT]
    x[piece + r.AMOUNT] = amount
    count_anew(m, piece)


def proceed(m: Whole, x: Real, log: Whole, piece: int, op: int) -> None:
    """To the next operation: in the same place, or on."""
    if m[op + r.O_ENDS] == 1:
        depart(m, x, log, piece, op)
    else:
        m[piece + r.OPERATION] = m[op + r.O_NEXT]
        count_anew(m, piece)
        comes_up(m, piece)


def _no_room_for_gives(m: Whole, x: Real, op: int, pieces: float) -> int:
    """The first store that has no room for what the operation gives; 0 where all have."""
    gives = m[op + r.O_GIVES]
    for k in range(m[gives]):
        store = m[m[gives + 1 + k] + r.I_STORE]
        if store != 0 and not room_for(x, store, x[gives + 1 + k] * pieces):
            return store
    return 0


def look_for_room(m: Whole, x: Real, log: Whole, store: int) -> None:
    """Room has come free in a store: let those in who wait for it, in order."""
    while True:
        piece = m[store + r.FIRST]
        if piece == 0:
            return
        op, amount = m[piece + r.OPERATION], x[piece + r.AMOUNT]
        where = m[piece + r.WHERE]
        if where == r.GIVES:
            if _no_room_for_gives(m, x, op, amount) == store:
                return
            leave_queue(m, store, piece, r.FIRST)
            remind(m, m[piece + r.IN_PLACE])
            conclude(m, x, log, piece, op, m[piece + r.LUCK], m[piece + r.LUCK_INDEX])
            continue
        if not room_for(x, store, amount * x[op + r.O_OUT] if where == r.EXITS else amount):
            if where == r.EXITS:
                leave_in_part(m, x, log, store, piece)
            return
        leave_queue(m, store, piece, r.FIRST)
        if where == r.EXITS:
            finish_route(m, x, log, piece)
        else:
            enter_store(m, x, store, piece)
            ask_for_visit(m, piece)


def _give(m: Whole, x: Real, op: int, pieces: float) -> None:
    gives = m[op + r.O_GIVES]
    for k in range(m[gives]):
        add_units(m, x, m[gives + 1 + k], x[gives + 1 + k] * pieces)


def chance(
    m: Whole, x: Real, piece: int, p: float, op: int, ordinal: int, purpose: int, index: int, branch: int
) -> bool:
    """Whether something of probability ``p`` happens to a piece; ``branch`` tells the branches of one purpose apart."""
    if p <= 0.0:
        return False
    if p >= 1.0:
        return True
    if m[r.STILL] == 0:
        return uniform(m, m[op + r.O_KEY], m[op + r.O_KEY_HIGH], ordinal, purpose, index) < p
    rotor = _rotor(m, x, piece, op, purpose, branch)
    x[rotor] += p
    if x[rotor] >= 1.0 - 1e-9:
        x[rotor] -= 1.0
        return True
    return False


def _rotor(m: Whole, x: Real, piece: int, op: int, purpose: int, branch: int) -> int:
    """The rotor of a branch in the state of a piece: faults carried, reworks done, how far it repeats."""
    state = 2 * m[piece + r.REACH] + 2 + m[piece + r.SENT_BACK]
    for k in range(r.COUNTS, r.COUNTS + 8):
        state = (state * 1_000_003 + m[piece + k]) & 0x3FFFFFFFFFFF
    rotor = m[op + r.O_ROTORS]
    while rotor != 0:
        if (
            m[rotor + r.R_STATE] == state
            and m[rotor + r.R_FAULTS] == m[piece + r.FAULTS]
            and m[rotor + r.R_PURPOSE] == purpose
            and m[rotor + r.R_BRANCH] == branch
        ):
            return rotor
        rotor = m[rotor + r.R_NEXT]
    rotor = new_row(m, x, r.ROTOR)
    m[rotor + r.R_STATE] = state
    m[rotor + r.R_FAULTS] = m[piece + r.FAULTS]
    m[rotor + r.R_PURPOSE] = purpose
    m[rotor + r.R_BRANCH] = branch
    m[rotor + r.R_NEXT] = m[op + r.O_ROTORS]
    m[op + r.O_ROTORS] = rotor
    return rotor


def _survives(m: Whole, x: Real, piece: int, op: int, ordinal: int, index: int) -> bool:
    """A plain yield: counted pieces live or die, an amount shrinks."""
    p = x[op + r.O_SURVIVES]
    if x[op + r.O_ULLAGE] > 0.0:
        p *= kept_in_stand(m, x, m[piece + r.IN_PLACE], op)
        if m[op + r.O_COUNTED] == 0:
            m[piece + r.AIRS] = op
            m[piece + r.AIRED] = m[r.NOW]
    if p >= 1.0:
        return True
    if m[op + r.O_COUNTED] == 1:
        return not chance(m, x, piece, 1.0 - p, op, ordinal, r.FOR_SURVIVAL, index, 0)
    shrink(m, x, piece, op, x[piece + r.AMOUNT] * (1.0 - p))
    return True


def _err(m: Whole, x: Real, piece: int, op: int, ordinal: int, index: int) -> None:
    """Faults made here; where they are made per load, the whole load shares its luck."""
    faults = m[op + r.O_FAULTS]
    if faults == 0:
        return
    spot = 0 if m[op + r.O_PER_LOAD] == 1 else index
    for k in range(m[faults]):
        row = faults + 1 + 2 * k
        if m[op + r.O_PER_LOAD] == 1 and index > 0:
            made = m[row + 1] == 1
        else:
            made = chance(m, x, piece, x[row], op, ordinal, r.FOR_FAULT, spot * 64 + k, k)
            m[row + 1] = 1 if made else 0
        if made:
            m[piece + r.FAULTS] |= 1 << m[row]


def verdict(m: Whole, x: Real, piece: int, op: int, check: int, ordinal: int, index: int) -> int:
    """The gravest reaction to what a check finds; 0: the piece passes."""
    m[op + r.O_CHECKED] += 1
    worst = 0
    for k in range(m[check + r.C_FAULTS]):
        row = check + r.CHECK_WIDTH + k * r.FAULT_WIDTH
        carried = (m[piece + r.FAULTS] >> m[row + r.F_BIT]) & 1
        if carried == 1 and chance(m, x, piece, x[row], op, ordinal, r.FOR_FINDING, index * 64 + k, k + 64 * worst):
            worst = graver(m, worst, in_force(m, piece, check, m[row + r.F_REJECT]))
    if worst == 0 and chance(m, x, piece, x[check], op, ordinal, r.FOR_FALSE, index, 0):
        worst = in_force(m, piece, check, m[check + r.C_OTHER])
    return worst


def _is_looked_at(m: Whole, x: Real, piece: int, op: int, check: int) -> bool:
    """Whether a piece is looked at: reworked always, of new ones every n-th; in still mode every n-th of its state.

    Where pieces are held back every n-th new one is a sample, so that never more than the others of n are held.
    """
    holds = m[check + r.C_HOLDS_BACK] == 1
    if m[piece + r.SENT_BACK] == 1:
        m[check + r.C_COUNTER] += 0 if holds else 1
        return True
    m[check + r.C_COUNTER] += 1
    n = m[check + r.C_ONE_IN]
    if m[r.STILL] == 1 and not holds:
        return chance(m, x, piece, 1.0 / n, op, 0, r.FOR_SAMPLING, 0, 0)
    return m[check + r.C_COUNTER] % n == 0


def _hold_back(m: Whole, x: Real, piece: int, check: int, ordinal: int, index: int) -> None:
    """A piece that nobody looks at waits outside until the next sample tells."""
    take_from_place(m, x, piece)
    m[piece + r.WHERE] = r.HELD_BACK
    m[piece + r.LUCK], m[piece + r.LUCK_INDEX] = ordinal, index
    m[piece + r.Q_NEXT] = 0
    last = m[check + r.C_HELD_LAST]
    if last == 0:
        m[check + r.C_HELD_FIRST] = piece
    else:
        m[last + r.Q_NEXT] = piece
    m[check + r.C_HELD_LAST] = piece


def leave_held(m: Whole, check: int, piece: int) -> None:
    """Take a piece from among those that wait for the next sample of a check."""
    before, held = 0, m[check + r.C_HELD_FIRST]
    while held != piece:
        before, held = held, m[held + r.Q_NEXT]
    after = m[piece + r.Q_NEXT]
    m[piece + r.Q_NEXT] = 0
    if before == 0:
        m[check + r.C_HELD_FIRST] = after
    else:
        m[before + r.Q_NEXT] = after
    if after == 0:
        m[check + r.C_HELD_LAST] = before


def _decide_on_held(m: Whole, x: Real, log: Whole, op: int, check: int, bad: bool) -> None:
    """The sample has told: those who were held go on, or after a bad one each is looked at first, in order."""
    piece = m[check + r.C_HELD_FIRST]
    m[check + r.C_HELD_FIRST] = 0
    m[check + r.C_HELD_LAST] = 0
    while piece != 0:
        after = m[piece + r.Q_NEXT]
        m[piece + r.Q_NEXT] = 0
        reject = verdict(m, x, piece, op, check, m[piece + r.LUCK], m[piece + r.LUCK_INDEX]) if bad else 0
        if reject == 0 or not react(m, x, log, piece, op, check, reject):
            depart(m, x, log, piece, op)
        piece = after


def in_force(m: Whole, piece: int, check: int, reject: int) -> int:
    """The reaction that holds for this piece: after so many reworks, what is written for otherwise."""
    done = reworks(m, piece, m[check + r.C_COUNT])
    while m[reject + r.R_FATE] == r.REWORK and done >= m[reject + r.R_MOST] and m[reject + r.R_ELSE] != 0:
        reject = m[reject + r.R_ELSE]
    return reject


def graver(m: Whole, one: int, other: int) -> int:
    """Of two reactions the graver: scrap, then seconds, then the rework that goes furthest back."""
    if one == 0:
        return other
    first, second = m[one + r.R_FATE], m[other + r.R_FATE]
    if first == r.SCRAP or second == r.SCRAP:
        return one if first == r.SCRAP else other
    if first == r.SECONDS or second == r.SECONDS:
        return one if first == r.SECONDS else other
    return one if m[m[one + r.R_TO] + r.O_POSITION] <= m[m[other + r.R_TO] + r.O_POSITION] else other


def reworks(m: Whole, piece: int, counter: int) -> int:
    """How often a check has sent this piece back."""
    column = piece + r.COUNTS + counter // COUNTS_A_COLUMN
    return (m[column] >> (BITS_OF_A_COUNT * (counter % COUNTS_A_COLUMN))) & ((1 << BITS_OF_A_COUNT) - 1)


def react(m: Whole, x: Real, log: Whole, piece: int, op: int, check: int, reject: int) -> bool:
    """Do with a rejected piece as the plan says; True where it goes no further from here."""
    fate = m[reject + r.R_FATE]
    if fate == r.SECONDS:
        route = m[piece + r.ROUTE]
        x[m[route + r.U_ITEM] + r.I_OPEN] -= x[piece + r.AMOUNT] * x[op + r.O_TO_GO]
        x[route + r.U_SECONDS] += x[piece + r.AMOUNT] * x[op + r.O_TO_GO]
        amount = x[piece + r.AMOUNT]
        write(m, log, SCRAPPED, m[piece + r.SERIAL], op, 0, m[piece + r.ENTERED], 3, m[piece + r.ORDERED])
        if m[piece + r.IN_PLACE] != 0:
            take_from_place(m, x, piece)
        add_units(m, x, m[reject + r.R_ITEM], amount)
        _remind_maker(m, x, route)
        end_piece(m, x, piece)
        return True
    if fate == r.SCRAP:
        discard(m, x, log, piece, op, 2)
        return True
    counter = m[check + r.C_COUNT]
    m[piece + r.COUNTS + counter // COUNTS_A_COLUMN] += 1 << (BITS_OF_A_COUNT * (counter % COUNTS_A_COLUMN))
    m[op + r.O_REWORKS] += 1
    m[piece + r.SENT_BACK] = 1
    target = m[reject + r.R_TO]
    m[piece + r.FAULTS] &= ~m[reject + r.R_CLEARS]
    _send_back(m, piece, m[target + r.O_POSITION], m[op + r.O_POSITION], m[reject + r.R_AGAIN])
    m[piece + r.OPERATION] = target
    if m[piece + r.RIDES] != 0:
        get_off_before(m, piece, target)
    if m[piece + r.WINDOWS] != 0:
        end_windows_from(m, piece, target)
    place = m[piece + r.IN_PLACE]
    if place != 0 and m[place + r.VISIT] == m[target + r.O_VISIT]:
        count_anew(m, piece)
        comes_up(m, piece)
        return True
    m[piece + r.REWORKED] = 1
    if place != 0:
        take_from_place(m, x, piece)
    ask_for_visit(m, piece)
    return True


def _send_back(m: Whole, piece: int, to: int, here: int, takes_again: int) -> None:
    """From position ``to`` up to ``here`` the piece repeats operations; where ``takes_again`` it takes parts there."""
    reach = max(m[piece + r.REACH], here)
    if takes_again == 1:
        _repeat(m, piece, reach, to, max(here, m[piece + r.HIGH]))
    elif m[piece + r.HIGH] > here:
        _repeat(m, piece, reach, max(m[piece + r.LOW], here + 1), m[piece + r.HIGH])
    else:
        _repeat(m, piece, reach, NEVER, -1)


def _repeat(m: Whole, piece: int, reach: int, low: int, high: int) -> None:
    m[piece + r.REACH] = reach
    m[piece + r.LOW] = low
    m[piece + r.HIGH] = high


NEVER = 1 << 30
"""A position after every other."""


def discard(m: Whole, x: Real, log: Whole, piece: int, op: int, why: int) -> None:
    """Scrap a piece: 0 plain yield, 1 start-up, 2 a check's verdict (3 is seconds), 4 its window has closed."""
    route = m[piece + r.ROUTE]
    amount = x[piece + r.AMOUNT]
    m[op + r.O_SCRAPPED] += 1
    x[op + r.O_LOST] += amount
    x[m[route + r.U_ITEM] + r.I_OPEN] -= amount * x[op + r.O_TO_GO]
    x[route + r.U_SCRAPPED] += amount * x[op + r.O_TO_GO]
    write(m, log, SCRAPPED, m[piece + r.SERIAL], op, 0, m[piece + r.ENTERED], why, m[piece + r.ORDERED])
    if m[piece + r.IN_PLACE] != 0:
        take_from_place(m, x, piece)
    _remind_maker(m, x, route)
    end_piece(m, x, piece)


def _remind_maker(m: Whole, x: Real, route: int) -> None:
    """Something is missing now: whoever releases work for this item looks again."""
    add_units(m, x, m[route + r.U_ITEM], 0.0)


def _split(m: Whole, x: Real, log: Whole, piece: int, op: int) -> None:
    """A piece becomes several (a sheet sides), or several become one (sheets a stack): whole ones go on."""
    x[op + r.O_GATHER] += x[op + r.O_OUT]
    whole = int(x[op + r.O_GATHER] + 1e-9)
    x[op + r.O_GATHER] -= whole
    m[op + r.O_GATHERED] |= m[piece + r.FAULTS]
    if m[piece + r.RIDES] != 0 or m[op + r.O_RIDES] != 0:
        m[piece + r.RIDES] = gathered_rides(m, m[op + r.O_RIDES], m[piece + r.RIDES])
        m[op + r.O_RIDES] = 0
    if whole == 0:
        m[op + r.O_RIDES] = m[piece + r.RIDES]
        m[piece + r.RIDES] = 0
        take_from_place(m, x, piece)
        end_piece(m, x, piece)
        return
    m[piece + r.FAULTS] = m[op + r.O_GATHERED]
    m[op + r.O_GATHERED] = 0
    place = m[piece + r.IN_PLACE]
    for _ in range(whole - 1):
        other = twin(m, x, piece, x[piece + r.AMOUNT])
        put_in_place(m, x, place, other)
        proceed(m, x, log, other, op)
    proceed(m, x, log, piece, op)
