"""The rate of a plan without luck, measured over one exactly recurring period: no window, no edge, no interval.

A decision-free plan repeats itself: after some pieces the times between finished pieces come again, to the nanosecond.
Played in still mode and read on the clock of open time, the rate is what is finished in one such period, exactly.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linewright.base.calendar import WEEK, Calendar
from linewright.network.model import Ints, Network
from linewright.simulate.engine import Engine
from linewright.simulate.kernel import rows as r
from linewright.simulate.letting_in import Quotas
from linewright.simulate.simulate import prepare

LONGEST = 4000
"""Pieces in the longest period that is looked for."""


@dataclass(frozen=True, slots=True)
class Recurring:
    """``pieces`` are finished in every ``period`` of open time (ns), again and again: ``rate`` units a working day."""

    rate: float
    pieces: int
    period: int


def recurring_rate(
    network: Network, *, quotas: Quotas | None = None, open_pieces: int | None = None, weeks: int = 8
) -> Recurring | None:
    """The exact rate of a plan let in flat out; None where nothing recurs within ``weeks`` (doubled three times).

    Only plans that make one item by one route are looked at; others give None.
    """
    prepared = prepare(network, quotas=quotas, release="flat out", open_pieces=open_pieces)
    if len(prepared.demanded) != 1:
        return None
    engine = Engine(prepared.template, seed=0, replication=0, still=True)
    last = prepared.layout.operations[int(network.routes.last[network.routes.item == prepared.demanded[0]][0])]
    units = float(network.operations.pieces_out[network.routes.last[network.routes.item == prepared.demanded[0]][0]])
    times: list[Ints] = []
    for week in range(8 * weeks):
        while not engine.advance((week + 1) * WEEK):
            pass
        log = engine.take_log()
        times.append(log[(log[:, r.L_EVENT] == 6) & (log[:, r.L_OPERATION] == last), r.L_TIME])
        if week + 1 in (weeks, 2 * weeks, 4 * weeks, 8 * weeks):
            found = period_of(open_time(np.concatenate(times), network.open_calendar))
            if found is not None:
                pieces, period = found
                a_day = network.open_calendar.open_ns / network.days_week
                return Recurring(pieces * units * a_day / period, pieces, period)
    return None


def open_time(times: Ints, calendar: Calendar) -> Ints:
    """Times of the wall clock as time for which anybody was there."""
    weeks, rest = np.divmod(times, WEEK)
    is_open = (calendar.level > 0).astype(np.int64)
    before = np.concatenate([[0], np.cumsum(calendar.lengths * is_open)])[:-1]
    step = np.searchsorted(calendar.at, rest, side="right") - 1
    within = (rest - calendar.at[step]) * is_open[step]
    clock: Ints = weeks * calendar.open_ns + before[step] + within
    return clock


def period_of(times: Ints) -> tuple[int, int] | None:
    """(pieces, time) of the shortest period that the last two thirds of a series of times repeat exactly."""
    n = len(times)
    gaps = np.diff(times[n // 3 :])
    for pieces in _candidates(gaps):
        if 3 * pieces > len(gaps):
            break
        if np.array_equal(gaps[pieces:], gaps[:-pieces]):
            period = int(gaps[:pieces].sum())
            return (pieces, period) if period > 0 else None
    return None


def _candidates(gaps: Ints) -> list[int]:
    """Lengths at which the last gaps come again, shortest first."""
    if len(gaps) < 3:
        return []
    tail = gaps[-min(8, len(gaps) // 3) :]
    width = len(tail)
    most = min(LONGEST, len(gaps) - width)
    return [k for k in range(1, most + 1) if np.array_equal(gaps[len(gaps) - width - k : len(gaps) - k], tail)]
