"""The future: a binary heap of (time, order, row), with each row's position kept in the row.

A row has at most one event. Order is the priority in the high bits and a counter in the low ones, so events at the
same time come by priority, then as they were scheduled. What happens mostly schedules one event more, so the top that
was taken is left open until then: the new event sinks from there, and nothing is moved twice.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Whole

PRIORITY_BITS = 48


def _put(m: Whole, h: Whole, spot: int, time: int, order: int, row: int) -> None:
    h[3 * spot] = time
    h[3 * spot + 1] = order
    h[3 * spot + 2] = row
    m[row + r.HEAP] = spot + 1


def _rise(m: Whole, h: Whole, spot: int) -> None:
    time, order, row = h[3 * spot], h[3 * spot + 1], h[3 * spot + 2]
    while spot > 0:
        parent = (spot - 1) >> 1
        above = h[3 * parent]
        if above < time or (above == time and h[3 * parent + 1] < order):
            break
        _put(m, h, spot, above, h[3 * parent + 1], h[3 * parent + 2])
        spot = parent
    _put(m, h, spot, time, order, row)


def _sink(m: Whole, h: Whole, spot: int) -> None:
    size = m[r.HEAP_SIZE]
    time, order, row = h[3 * spot], h[3 * spot + 1], h[3 * spot + 2]
    while True:
        child = 2 * spot + 1
        if child >= size:
            break
        if child + 1 < size and (
            h[3 * child + 3] < h[3 * child]
            or (h[3 * child + 3] == h[3 * child] and h[3 * child + 4] < h[3 * child + 1])
        ):
            child += 1
        below = h[3 * child]
        if below > time or (below == time and h[3 * child + 1] > order):
            break
        _put(m, h, spot, below, h[3 * child + 1], h[3 * child + 2])
        spot = child
    _put(m, h, spot, time, order, row)


def take_next(m: Whole, h: Whole) -> int:
    """Take the earliest event off the heap: its row. The top stays open until something is put there."""
    row = h[2]
    m[row + r.HEAP] = 0
    m[r.OPEN_TOP] = 1
    return row


def close_top(m: Whole, h: Whole) -> None:
    """Put the last event where the earliest one was taken, if nothing else was."""
    m[r.OPEN_TOP] = 0
    last = m[r.HEAP_SIZE] - 1
    m[r.HEAP_SIZE] = last
    if last > 0:
        _put(m, h, 0, h[3 * last], h[3 * last + 1], h[3 * last + 2])
        _sink(m, h, 0)


def cancel(m: Whole, h: Whole, row: int) -> None:
    """Take the event of ``row`` off the heap, if it has one."""
    spot = m[row + r.HEAP] - 1
    if spot < 0:
        return
    m[row + r.HEAP] = 0
    last = m[r.HEAP_SIZE] - 1
    m[r.HEAP_SIZE] = last
    if spot == last:
        return
    moved = h[3 * last + 2]
    _put(m, h, spot, h[3 * last], h[3 * last + 1], moved)
    _rise(m, h, spot)
    _sink(m, h, m[moved + r.HEAP] - 1)


def schedule(m: Whole, h: Whole, row: int, time: int, priority: int) -> None:
    """Let ``row`` have its event at ``time``, instead of any that it had."""
    cancel(m, h, row)
    m[r.COUNTER] += 1
    order = (priority << PRIORITY_BITS) | m[r.COUNTER]
    if m[r.OPEN_TOP] == 1:
        m[r.OPEN_TOP] = 0
        _put(m, h, 0, time, order, row)
        _sink(m, h, 0)
        return
    spot = m[r.HEAP_SIZE]
    m[r.HEAP_SIZE] = spot + 1
    _put(m, h, spot, time, order, row)
    _rise(m, h, spot)
