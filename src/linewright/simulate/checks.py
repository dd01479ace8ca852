"""The books must balance, on every run and every week: time, pieces, quantities, and Little's law in its exact form.

A difference means that the engine is wrong, not the plan; so it stops everything instead of giving a number.
"""

from __future__ import annotations

import numpy as np

from linewright.network.model import Floats, Ints
from linewright.simulate.engine import Engine
from linewright.simulate.kernel import flow_rows as f
from linewright.simulate.kernel import rows as r
from linewright.simulate.layout_base import Layout

FOLD = (1 << 62) - 1
"""Areas of pieces and time are kept modulo 2**62."""
RELATIVE = 1e-9


class BooksError(RuntimeError):
    """The engine has lost or made up time, pieces or quantities: a fault of the engine."""


def check_books(engine: Engine, layout: Layout) -> None:
    """Check an engine whose accounts are settled. Raises BooksError."""
    _check_time(engine, layout)
    _check_little(engine, layout)
    _check_routes(engine, layout)
    _check_items(engine, layout)
    _check_carriers(engine, layout)
    _check_people(engine, layout)


def _check_time(engine: Engine, layout: Layout) -> None:
    """The states of every place add up to the time that has passed."""
    places = np.array([place for row in layout.places for place in row], dtype=np.int64)
    accounts = engine.m[places + r.ACCOUNT]
    total = engine.m[accounts[:, None] + np.arange(r.N_STATES)].sum(axis=1)
    for wrong in total[total != engine.now].tolist():
        raise BooksError(f"a place accounts for {wrong} ns of {engine.now}")


def _number_of(rows: list[int], width: int, found: Ints) -> Ints:
    """Which rows of a table some bases are; its rows lie one behind the other."""
    return (found - rows[0]) // width


def _check_little(engine: Engine, layout: Layout) -> None:
    """The area under the number of pieces is the sum of the times that they have been here."""
    m, rows = engine.m, np.array(layout.routes, dtype=np.int64)
    pieces = engine.rows_of(r.PIECE)
    route = _number_of(layout.routes, r.ROUTE_WIDTH, m[pieces + r.ROUTE])
    here = np.bincount(route, minlength=len(rows))
    for k in np.flatnonzero(here != m[rows + r.U_OPEN]).tolist():
        raise BooksError(f"{here[k]} pieces are there, {int(m[rows[k] + r.U_OPEN])} are counted")
    area = m[rows + r.U_DIED].copy()
    np.add.at(area, route, engine.now - m[pieces + r.BORN])  # past 2 ** 63 it wraps round, which folds as well
    if ((area & FOLD) != m[rows + r.U_AREA]).any():
        raise BooksError("Little's law does not hold: pieces and their times differ")


def _check_routes(engine: Engine, layout: Layout) -> None:
    """Units let in are finished, lost, seconds, or still open."""
    m, x, rows = engine.m, engine.x, np.array(layout.routes, dtype=np.int64)
    pieces = engine.rows_of(r.PIECE)
    route = _number_of(layout.routes, r.ROUTE_WIDTH, m[pieces + r.ROUTE])
    value = x[pieces + r.AMOUNT] * x[m[pieces + r.OPERATION] + r.O_TO_GO]
    units = np.bincount(route, value, len(rows)) + _gathered(engine, layout)
    for buffer in layout.buffers.values():
        of = (int(m[m[buffer + f.U_OP] + r.O_ROUTE]) - layout.routes[0]) // r.ROUTE_WIDTH
        units[of] += x[buffer + f.U_LEVEL] * x[m[buffer + f.U_OP] + r.O_TO_GO]
    for runner in runners(engine):
        of = (int(m[runner + f.N_ROUTE]) - layout.routes[0]) // r.ROUTE_WIDTH
        units[of] += x[runner + f.N_CONTENT] * x[m[runner + f.N_OP] + r.O_TO_GO]
    let_in = x[rows + r.U_RELEASED]
    known = x[rows + r.U_FINISHED] + x[rows + r.U_SCRAPPED] + x[rows + r.U_SECONDS] + units
    wrong = ~(np.abs(let_in - known) <= RELATIVE * np.maximum(let_in, 1.0) * 10)
    for k in np.flatnonzero(wrong).tolist():
        raise BooksError(f"{let_in[k]} units were let in, {known[k]} are known")


def _gathered(engine: Engine, layout: Layout) -> Floats:
    """[n_routes] units in pieces that are being put together out of the parts of others."""
    m, x = engine.m, engine.x
    steps = np.array(layout.operations, dtype=np.int64)
    steps = steps[m[steps + r.O_SPLITS] != 0]
    after = m[steps + r.O_NEXT]
    become = np.where(after != 0, x[after + r.O_TO_GO], 1.0)
    route = _number_of(layout.routes, r.ROUTE_WIDTH, m[steps + r.O_ROUTE])
    return np.asarray(np.bincount(route, x[steps + r.O_GATHER] * become, len(layout.routes)), dtype=np.float64)


def runners(engine: Engine) -> range:
    """The rows of the runners of flows."""
    flows = int(engine.m[r.FLOWS])
    if flows == 0:
        return range(0)
    first, count = int(engine.m[flows + f.F_RUNNERS]), int(engine.m[flows + f.F_N])
    return range(first, first + count * f.RUNNER_WIDTH, f.RUNNER_WIDTH)


def _check_items(engine: Engine, layout: Layout) -> None:
    """Units on hand are what there was, and was made, less what was used."""
    rows = np.array(layout.items, dtype=np.int64)
    first = np.nan_to_num(layout.network.items.stock, nan=0.0, posinf=0.0, neginf=0.0)
    made, used, pool = (engine.x[rows + column] for column in (r.I_MADE_UNITS, r.I_USED, r.I_POOL))
    wrong = ~(np.abs(first + made - used - pool) <= RELATIVE * np.maximum(np.maximum(made, first), 1.0))
    for k in np.flatnonzero(wrong).tolist():
        id = layout.network.items.ids[k]
        raise BooksError(f"{id}: {first[k]} + {made[k]} - {used[k]} is not {pool[k]}")


def _check_people(engine: Engine, layout: Layout) -> None:
    """Who is at work is held by a work, his own crew's or another's, and nobody is at two."""
    m, holds = engine.m, engine.rows_of(r.HOLD)
    for k, row in enumerate(layout.crews):
        held = int(m[holds[m[holds + r.H_CREW] == row] + r.H_UNITS].sum())
        if held != int(m[row + r.C_USED]):
            raise BooksError(f"crew {layout.network.crews.ids[k]}: {m[row + r.C_USED]} at work, {held} are held")
    for row in layout.lends:
        lent = int(m[holds[m[holds + r.H_LEND] == row] + r.H_UNITS].sum())
        if lent != int(m[row + r.LEND_USED]) or not 0 <= lent <= int(m[row + r.LEND_MOST]):
            raise BooksError(f"{lent} are lent, {m[row + r.LEND_USED]} are counted, {m[row + r.LEND_MOST]} at most")


def _check_carriers(engine: Engine, layout: Layout) -> None:
    """Every carrier is free, in use, on its way back or being mended; who is on one is counted there."""
    if not layout.carriers:
        return
    m = engine.m
    carried, rides = engine.rows_of(r.CARRIED), engine.rows_of(r.RIDE)
    on = np.bincount(m[rides + r.D_CARRIED], minlength=int(carried.max(initial=0)) + 1)
    if (on[carried] != m[carried + r.B_ON]).any():
        raise BooksError("those on a carrier are not counted right")
    idle = (m[carried + r.B_ON] == 0) & (m[carried + r.B_PHASE] == 0)
    for k, row in enumerate(layout.carriers):
        of_kind = m[carried + r.B_KIND] == row
        away = int(of_kind.sum())
        if int(m[row + r.Y_FREE]) + away != int(m[row + r.Y_COUNT]) or bool((idle & of_kind).any()):
            raise BooksError(
                f"carriers {layout.network.carriers.ids[k]} are lost: {away} away, {m[row + r.Y_FREE]} free"
            )
    chains = [engine.rows_of(r.PIECE) + r.RIDES, engine.rows_of(r.LOT) + r.T_RIDES]
    firsts = [m[c] for c in chains] + [m[np.array(layout.operations, dtype=np.int64) + r.O_RIDES]]
    if sum(_length(m, int(first)) for part in firsts for first in part[part != 0]) != len(rides):
        raise BooksError("somebody rides on a carrier who is not there")


def _length(m: Ints, ride: int) -> int:
    """Rides in a chain."""
    count = 0
    while ride:
        count, ride = count + 1, int(m[ride + r.D_NEXT])
    return count
