"""The books must balance, on every run and every week: time, pieces, quantities, and Little's law in its exact form.

A difference means that the engine is wrong, not the plan; so it stops everything instead of giving a number.
"""

from __future__ import annotations

import numpy as np

from linewright.network.model import Ints
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
    for places in layout.places:
        for place in places:
            account = int(engine.m[place + r.ACCOUNT])
            total = int(engine.m[account : account + r.N_STATES].sum())
            if total != engine.now:
                raise BooksError(f"a place accounts for {total} ns of {engine.now}")


def _check_little(engine: Engine, layout: Layout) -> None:
    """The area under the number of pieces is the sum of the times that they have been here."""
    pieces = engine.rows_of(r.PIECE)
    route_of = engine.m[pieces + r.ROUTE]
    born = engine.m[pieces + r.BORN]
    for row in layout.routes:
        here = route_of == row
        if int(here.sum()) != int(engine.m[row + r.U_OPEN]):
            raise BooksError(f"{int(here.sum())} pieces are there, {int(engine.m[row + r.U_OPEN])} are counted")
        alive = sum((engine.now - born[here]).tolist())
        if (int(engine.m[row + r.U_DIED]) + alive) & FOLD != int(engine.m[row + r.U_AREA]):
            raise BooksError("Little's law does not hold: pieces and their times differ")


def _check_routes(engine: Engine, layout: Layout) -> None:
    """Units let in are finished, lost, seconds, or still open."""
    m, x = engine.m, engine.x
    pieces = engine.rows_of(r.PIECE)
    value = x[pieces + r.AMOUNT] * x[m[pieces + r.OPERATION] + r.O_TO_GO]
    steps = np.array(layout.operations, dtype=np.int64)
    splitting = steps[m[steps + r.O_SPLITS] != 0].tolist()
    for row in layout.routes:
        gathered = sum(
            float(x[op + r.O_GATHER]) * (float(x[int(m[op + r.O_NEXT]) + r.O_TO_GO]) if m[op + r.O_NEXT] else 1.0)
            for op in splitting
            if m[op + r.O_ROUTE] == row
        )
        flowing = sum(
            float(x[buffer + f.U_LEVEL] * x[m[buffer + f.U_OP] + r.O_TO_GO])
            for buffer in layout.buffers.values()
            if m[m[buffer + f.U_OP] + r.O_ROUTE] == row
        )
        flowing += sum(
            float(x[runner + f.N_CONTENT] * x[m[runner + f.N_OP] + r.O_TO_GO])
            for runner in runners(engine)
            if m[runner + f.N_ROUTE] == row
        )
        open_units = float(value[m[pieces + r.ROUTE] == row].sum()) + gathered + flowing
        let_in = float(x[row + r.U_RELEASED])
        known = float(x[row + r.U_FINISHED] + x[row + r.U_SCRAPPED] + x[row + r.U_SECONDS]) + open_units
        if abs(let_in - known) > RELATIVE * max(let_in, 1.0) * 10:
            raise BooksError(f"{let_in} units were let in, {known} are known")


def runners(engine: Engine) -> range:
    """The rows of the runners of flows."""
    flows = int(engine.m[r.FLOWS])
    if flows == 0:
        return range(0)
    first, count = int(engine.m[flows + f.F_RUNNERS]), int(engine.m[flows + f.F_N])
    return range(first, first + count * f.RUNNER_WIDTH, f.RUNNER_WIDTH)


def _check_items(engine: Engine, layout: Layout) -> None:
    """Units on hand are what there was, and was made, less what was used."""
    for k, row in enumerate(layout.items):
        first = float(layout.network.items.stock[k])
        first = first if np.isfinite(first) else 0.0
        made, used, pool = (float(engine.x[row + c]) for c in (r.I_MADE_UNITS, r.I_USED, r.I_POOL))
        if abs(first + made - used - pool) > RELATIVE * max(made, first, 1.0):
            raise BooksError(f"{layout.network.items.ids[k]}: {first} + {made} - {used} is not {pool}")


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
