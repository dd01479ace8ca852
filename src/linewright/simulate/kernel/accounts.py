"""What is counted while the clock runs: the states of places, the use of crews, what stands in stores and in the plant.

Place times are whole nanoseconds in one account for each state, so they add up to the time that has passed exactly.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole


def settle_place(m: Whole, place: int) -> None:
    """Book the time since the last change on the account of the place's state.

    Where nobody who works at the station is there, waiting of any kind is nobody's fault: unmanned.
    """
    account = m[place + r.ACCOUNT]
    if account == 0:
        return
    state = m[place + r.STATE]
    if m[m[place + r.AT] + r.S_ATTENDED] == 0 and (r.BLOCKED <= state <= r.NO_CREW or state == r.NO_TOOL):
        state = r.UNMANNED
    m[account + state] += m[r.NOW] - m[place + r.STATE_SINCE]
    m[place + r.STATE_SINCE] = m[r.NOW]


def set_state(m: Whole, place: int, state: int) -> None:
    """Change the state of a place."""
    if m[place + r.STATE] != state:
        settle_place(m, place)
        m[place + r.STATE] = state


def settle_crew(m: Whole, x: Real, crew: int) -> None:
    """Book the people in use since the last change, in person-nanoseconds."""
    now = m[r.NOW]
    x[crew + r.C_TIME] += (m[crew + r.C_USED] / r.PERSON) * (now - m[crew + r.C_SINCE])
    m[crew + r.C_SINCE] = now


def settle_tool(m: Whole, x: Real, tool: int) -> None:
    """Book the pieces of tooling in use since the last change."""
    now = m[r.NOW]
    x[tool + r.G_TIME] += float(m[tool + r.G_COUNT] - m[tool + r.G_FREE]) * (now - m[tool + r.G_SINCE])
    m[tool + r.G_SINCE] = now


def settle_carrier(m: Whole, x: Real, carrier: int) -> None:
    """Book the carriers in use, on their way back and away to be mended, and the time for which one was wanted."""
    now = m[r.NOW]
    passed = float(now - m[carrier + r.Y_SINCE])
    back, lost = m[carrier + r.Y_BACK], m[carrier + r.Y_LOST]
    x[carrier + r.Y_TIME] += float(m[carrier + r.Y_COUNT] - m[carrier + r.Y_FREE] - back - lost) * passed
    x[carrier + r.Y_BACK_TIME] += float(back) * passed
    x[carrier + r.Y_LOST_TIME] += float(lost) * passed
    x[carrier + r.Y_WANTED_TIME] += float(m[carrier + r.Y_WANTED]) * passed
    m[carrier + r.Y_SINCE] = now


def settle_store(m: Whole, x: Real, store: int) -> None:
    """Book what a store held since the last change."""
    now = m[r.NOW]
    x[store + r.W_TIME] += x[store + r.W_LEVEL] * (now - m[store + r.W_SINCE])
    m[store + r.W_SINCE] = now


def settle_item(m: Whole, x: Real, item: int) -> None:
    """Book the units of an item that lay on hand since the last change."""
    now = m[r.NOW]
    x[item + r.I_TIME] += x[item + r.I_POOL] * (now - m[item + r.I_SINCE])
    m[item + r.I_SINCE] = now


def settle_route(m: Whole, x: Real, route: int) -> None:
    """Book the pieces open on a route since the last change: once exactly (modulo 2**64), once as a real number."""
    now = m[r.NOW]
    passed = now - m[route + r.U_SINCE]
    m[route + r.U_AREA] = wrap(m[route + r.U_AREA] + wrap(m[route + r.U_OPEN] * passed))
    x[route + r.U_WIP] += float(m[route + r.U_OPEN]) * passed
    m[route + r.U_SINCE] = now


def wrap(number: int) -> int:
    """A whole number folded into 62 bits, the same with and without the compiler (low bits survive any overflow)."""
    return number & 0x3FFFFFFFFFFFFFFF


def count_piece(m: Whole, x: Real, route: int, change: int) -> None:
    """One piece more or less on a route."""
    settle_route(m, x, route)
    m[route + r.U_OPEN] += change
    m[r.PIECES] += change


def write(m: Whole, log: Whole, event: int, serial: int, operation: int, place: int, a: int, b: int, c: int) -> None:
    """Write one record. The run loop has made sure that there is room."""
    at = m[r.LOG_SIZE] * r.LOG_WIDTH
    log[at + r.L_TIME] = m[r.NOW]
    log[at + r.L_EVENT] = event
    log[at + r.L_SERIAL] = serial
    log[at + r.L_OPERATION] = operation
    log[at + r.L_PLACE] = place
    log[at + r.L_A] = a
    log[at + r.L_B] = b
    log[at + r.L_C] = c
    m[r.LOG_SIZE] += 1
