"""Work is let in: by demand, up to a number of open pieces, to keep enough of an item on hand, or as its parts come.

Every item that is made here has a controller. It lets a piece in while units on hand and units being made are below
what is wanted; a scrapped piece is missing from that sum, so it is made again. A route that has lots lets in a whole
one once so much is wanted.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.accounts import count_piece, write
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.heap import schedule
from linewright.simulate.kernel.lists import new_row, remind
from linewright.simulate.kernel.moves import ENTERS, ask_for_visit
from linewright.simulate.kernel.parts import add_units

WEEK = 7 * 24 * 3600 * 1_000_000_000


NEVER = 1 << 30


def let_in(m: Whole, x: Real, log: Whole, item: int) -> None:
    """Let one piece in if it is wanted, and look again."""
    if m[item + r.I_MADE] != 1:
        return
    mode = m[item + r.I_MODE]
    if m[item + r.I_FAMILY] != 0 and mode == r.BY_OPEN:
        _let_in_next(m, x, log, m[item + r.I_FAMILY])
        return
    open_units = x[item + r.I_OPEN]
    if mode == r.BY_TAKT:
        wanted = x[item + r.I_DUE] - x[item + r.I_FINISHED] - open_units
    elif mode == r.BY_OPEN:
        wanted = x[item + r.I_TARGET] - open_units
    elif mode >= r.BY_PUSH:
        if m[item + r.I_FAMILY] != 0 and not _is_next(m, x, item):
            return
        wanted = min(x[item + r.I_TARGET] - open_units, x[item + r.I_DUE] - x[item + r.I_RATE])
    else:
        wanted = x[item + r.I_TARGET] - x[item + r.I_POOL] - open_units
    route = m[item + r.I_RUN] if m[item + r.I_RUN] != 0 else _next_route(m, x, item)
    lot = x[route + r.U_LOT]
    units = lot * x[m[route + r.U_FIRST] + r.O_TO_GO]
    if m[item + r.I_RUN] == 0:
        run = x[route + r.U_RUN] if mode < r.BY_PUSH else 0.0
        least = max(run, units if mode == r.BY_TAKT else 0.0)
        if wanted <= 1e-9 * (1.0 + x[item + r.I_DUE]) or wanted < least * (1.0 - 1e-9):
            return
        if run > units:
            m[item + r.I_RUN] = route
            x[item + r.I_TO_RUN] = run
    if mode >= r.BY_PUSH and m[m[route + r.U_FIRST] + r.O_COUNTED] == 0:
        left = x[item + r.I_DUE] - x[item + r.I_RATE]  # the last lot is what is left
        if left < units:
            lot, units = lot * left / units, left
    _release(m, x, log, item, route, lot, units)
    if m[item + r.I_RUN] != 0:
        x[item + r.I_TO_RUN] -= units
        if x[item + r.I_TO_RUN] <= 1e-9 * units:
            m[item + r.I_RUN] = 0
    if m[item + r.I_FAMILY] != 0 and mode >= r.BY_PUSH:
        remind_family(m, m[item + r.I_FAMILY])
    remind(m, item)


def _let_in_next(m: Whole, x: Real, log: Whole, family: int) -> None:
    """Flat out: of a family of variants let in the one furthest behind, while fewer are open than are kept."""
    n = m[family]
    open_units, known = 0.0, 0.0
    for k in range(n):
        item = m[family + 1 + k]
        open_units += x[item + r.I_OPEN]
        known += x[item + r.I_OPEN] + x[item + r.I_FINISHED]
    if x[family] - open_units <= 1e-9:
        return
    best, found = 0.0, 0
    for k in range(n):
        item = m[family + 1 + k]
        behind = x[family + 1 + k] * (known + 1.0) - x[item + r.I_OPEN] - x[item + r.I_FINISHED]
        if found == 0 or behind > best + 1e-9:
            best, found = behind, item
    route = _next_route(m, x, found)
    lot = x[route + r.U_LOT]
    _release(m, x, log, found, route, lot, lot * x[m[route + r.U_FIRST] + r.O_TO_GO])
    remind(m, found)


def next_variant(m: Whole, x: Real, family: int, units: float) -> int:
    """The variant that is demanded next: the one whose demand so far is furthest behind its share.

    This keeps the greatest gap between what has come and the even mix small at every step (the goal of a level
    schedule; Miltenburg 1989), and the sequence is the same on every run.
    """
    n = m[family]
    come = 0.0
    for k in range(n):
        come += x[m[family + 1 + k] + r.I_DUE]
    best, found = 0.0, 0
    for k in range(n):
        item = m[family + 1 + k]
        behind = x[family + 1 + k] * (come + units) - x[item + r.I_DUE]
        if found == 0 or behind > best + 1e-9 * (1.0 + come):
            best, found = behind, item
    return found


def _is_next(m: Whole, x: Real, item: int) -> bool:
    """Over a season: whether of its variants, but for those of which all is let in, none is further behind its share.

    So what they are made of alike is shared out in their mix, also where it does not do for all of them.
    """
    family = m[item + r.I_FAMILY]
    n = m[family]
    come = 0.0
    for k in range(n):
        come += x[m[family + 1 + k] + r.I_RATE]
    best, found = 0.0, 0
    for k in range(n):
        other = m[family + 1 + k]
        if x[other + r.I_DUE] - x[other + r.I_RATE] <= 1e-9 * (1.0 + x[other + r.I_DUE]):
            continue
        behind = x[family + 1 + k] * (come + 1.0) - x[other + r.I_RATE]
        if found == 0 or behind > best + 1e-9 * (1.0 + come):
            best, found = behind, other
    return found == item


def remind_family(m: Whole, family: int) -> None:
    """Whichever variant is next now looks again."""
    for k in range(m[family]):
        remind(m, m[family + 1 + k])


def _next_route(m: Whole, x: Real, item: int) -> int:
    """The maker furthest behind its share; equal ones in order."""
    routes = m[item + r.I_ROUTES]
    best, found = 0.0, 0
    for k in range(m[routes]):
        route = m[routes + 1 + k]
        behind = x[route + r.U_SHARE] * (x[item + r.I_RATE] + 1.0) - x[route + r.U_RELEASED]
        if found == 0 or behind > best + 1e-9:
            best, found = behind, route
    return found


def _release(m: Whole, x: Real, log: Whole, item: int, route: int, lot: float, units: float) -> None:
    mode = m[item + r.I_MODE]
    piece = new_row(m, x, r.PIECE)
    m[r.SERIAL_COUNT] += 1
    m[piece + r.SERIAL] = m[r.SERIAL_COUNT]
    m[piece + r.ROUTE] = route
    m[piece + r.OPERATION] = m[route + r.U_FIRST]
    m[piece + r.BORN] = m[r.NOW]
    m[piece + r.ENTERED] = m[r.NOW]
    m[piece + r.BEGINS] = 1
    m[piece + r.REACH] = -1
    m[piece + r.LOW] = NEVER
    m[piece + r.HIGH] = -1
    m[piece + r.ORDERED] = 0 if mode == r.BY_STOCK or mode == r.BY_PUSH_PART else 1
    x[piece + r.AMOUNT] = lot
    m[route + r.U_STARTED] += 1
    x[route + r.U_RELEASED] += units
    x[item + r.I_RATE] += units
    x[item + r.I_OPEN] += units
    count_piece(m, x, route, 1)
    if m[r.TRACING] == 1:
        write(m, log, ENTERS, m[piece + r.SERIAL], m[piece + r.OPERATION], 0, 0, 0, 0)
    ask_for_visit(m, piece)


def demand_comes(m: Whole, x: Real, h: Whole, row: int) -> None:
    """Demand for one more lot: to be made (takt), or taken from the finished stock (pull)."""
    item = m[row + r.E_ITEM]
    if m[row + r.E_FAMILY] != 0:
        item = next_variant(m, x, m[row + r.E_FAMILY], x[row + r.E_UNITS])
    if m[item + r.I_MODE] == r.BY_PULL:
        if m[row + r.E_FAMILY] != 0:
            x[item + r.I_DUE] += x[row + r.E_UNITS]
        add_units(m, x, item, -x[row + r.E_UNITS])
        x[item + r.I_FINISHED] += x[row + r.E_UNITS]
    else:
        x[item + r.I_DUE] += x[row + r.E_UNITS]
        remind(m, item)
    schedule_demand(m, x, h, row)


def schedule_demand(m: Whole, x: Real, h: Whole, row: int) -> None:
    """Demand comes evenly over the open time: the next one after as many takts of open time."""
    m[row + r.E_ORDINAL] += 1
    open_time = int(x[row + r.E_TAKT] * (m[row + r.E_ORDINAL] - 1) + 0.5)
    weeks = open_time // m[row + r.E_WEEK_OPEN]
    rest = open_time - weeks * m[row + r.E_WEEK_OPEN]
    calendar = m[row + r.E_CALENDAR]
    steps = m[calendar + r.K_STEPS]
    time = (weeks + m[row + r.E_DELAY]) * WEEK
    for k in range(steps):
        step = calendar + r.CALENDAR_WIDTH + k * r.STEP_WIDTH
        end = m[step + r.STEP_WIDTH + r.K_AT] if k + 1 < steps else WEEK
        if m[step + r.K_LEVEL] == 0:
            continue
        length = end - m[step + r.K_AT]
        if rest < length:
            time += m[step + r.K_AT] + rest
            break
        rest -= length
    schedule(m, h, row, time, r.RELEASES)
