"""What was worked on at the stations on one simulated day, from its trace.

A trace says when work begins and ends at a station, piece by piece; a load of pieces is one run. It does not say when
work pauses, so crewed work is told only while its crews are in.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from linewright.answer.simulated import Day
from linewright.base.calendar import WEEK, Calendar
from linewright.base.trace import EVENTS
from linewright.network.lending import able_to
from linewright.network.model import Ints, Network, Stops

STARTS, ENDS = EVENTS.index("starts"), EVENTS.index("ends")


class Run(NamedTuple):
    """Work on an item at a station from ``begin`` to ``end`` ns, ``what`` being the operation.

    ``since`` is when it truly began, which may be before the day. ``crew`` is who began it and who ended it, where
    others did: crews joined by a plus.
    """

    station: str
    item: str
    begin: int
    end: int
    what: str
    since: int
    crew: tuple[str, ...] = ()


class _Told(NamedTuple):
    """Starts and ends in order of time, those before the day first: places in the names of the trace [n]; ns."""

    lot: Ints
    operation: Ints
    station: Ints
    item: Ints
    crew: Ints
    event: Ints
    time: Ints


def loads_of_day(day: Day, network: Network) -> list[Run]:
    """Every run of the day at a station, loads told once; first those that end, in that order."""
    told = _told(day)
    row, start, end = _runs(told, day)
    since = np.where(start >= 0, told.time[start], day.begin)
    first = _loads(told, row, since, end, day, network)
    row, start, since, end = row[first], start[first], since[first], end[first]
    stations, items, operations, crews = ((*day.trace.names[c], "") for c in ("station", "item", "operation", "crew"))
    began = np.where(start >= 0, told.crew[start], -1)
    return [
        Run(stations[s], items[i], max(begun, day.begin), ended, operations[o], begun, _who(crews[one], crews[other]))
        for s, i, o, begun, ended, one, other in zip(
            told.station[row].tolist(), told.item[row].tolist(), told.operation[row].tolist(), since.tolist(),
            end.tolist(), began.tolist(), told.crew[row].tolist(), strict=True,
        )
    ]  # fmt: skip


def _who(began: str, ended: str) -> tuple[str, ...]:
    """Who began it, and who ended it where others did."""
    if began == ended or not ended:
        return (began,) if began else ()
    return (began, ended) if began else (ended,)


def _told(day: Day) -> _Told:
    trace = day.trace
    keep = (trace.event == STARTS) | ((trace.event == ENDS) & (trace.station >= 0))
    named = ("operation", "station", "item", "crew")
    place = {column: {name: k for k, name in enumerate((*trace.names[column], ""))} for column in named}
    before = [(r.lot, *(place[column][getattr(r, column)] for column in named), STARTS, r.time) for r in day.under_way]
    columns = np.array(before, dtype=np.int64).reshape(len(before), len(_Told._fields)).T
    day_itself = [getattr(trace, name)[keep] for name in _Told._fields]
    return _Told(*map(np.concatenate, zip(columns, day_itself, strict=True)))


def _runs(told: _Told, day: Day) -> tuple[Ints, Ints, Ints]:
    """The record that tells each run, that of its start (-1: none), and its end: paired by piece and operation."""
    order = np.lexsort((told.operation, told.lot))  # stable, so each pair stays in order of time
    same = (told.lot[order][1:] == told.lot[order][:-1]) & (told.operation[order][1:] == told.operation[order][:-1])
    starts, time = (told.event == STARTS)[order], told.time[order]
    ended = np.flatnonzero(~starts)
    begun = np.append(False, same & starts[:-1])[ended]  # its start comes right before
    named = (told.station >= 0) & (told.station < len(day.trace.names["station"]))
    still = np.flatnonzero(starts & ~np.append(same, False) & named[order] & (time < day.end))
    row = np.concatenate([order[ended], order[still]])
    start = np.concatenate([np.where(begun, order[ended - 1], -1), order[still]])
    end = np.concatenate([time[ended], np.full(len(still), day.end)])
    in_order = np.argsort(row + len(order) * (np.arange(len(row)) >= len(ended)), kind="stable")
    since = np.where(start >= 0, told.time[start], day.begin)
    in_order = in_order[(end > since)[in_order]]
    return row[in_order], start[in_order], end[in_order]


def _loads(told: _Told, row: Ints, since: Ints, end: Ints, day: Day, network: Network) -> Ints:
    """Pieces of a load are told one by one, all with the same times; a load is one bar.

    What is measured comes in lots of any size, so that all with the same times are taken for one load.
    """
    rows = network.operations
    counted = network.items.counted[network.routes.item[rows.route]].tolist()
    sizes = {
        name: max(int(most), 1) if whole else 0
        for name, most, whole in zip(rows.ids, rows.load_most.tolist(), counted, strict=True)
    }
    key = np.array([told.station[row], told.operation[row], since, end])
    order = np.lexsort(key)
    alike = (key[:, order][:, 1:] == key[:, order][:, :-1]).all(axis=0)
    number = np.arange(len(order))
    first = np.maximum.accumulate(np.where(np.append(False, alike)[: len(order)], 0, number))
    size = np.array([sizes.get(name, 0) for name in day.trace.names["operation"]], dtype=np.int64)
    size = size[told.operation[row[order]]]
    rank = number - first
    kept = (rank == 0) | ((size > 0) & (rank % np.maximum(size, 1) == 0))
    return np.sort(order[kept])


def attended(run: Run, network: Network) -> Iterator[tuple[int, int]]:
    """The parts of a run in which its crews are in; the whole of it where it runs alone or is finished in any case."""
    there = _needed(network, run)
    if there is None:
        yield run.begin, run.end
        return
    inside: tuple[int, int] | None = None
    for week in range(run.begin // WEEK, (run.end - 1) // WEEK + 1):
        monday = week * WEEK
        k = bisect_right(there.ends, run.begin - monday)
        while k < len(there.ends) and monday + there.begins[k] < run.end:
            begin, end = max(monday + there.begins[k], run.begin), min(monday + there.ends[k], run.end)
            if inside and inside[1] < begin:
                yield inside
                inside = None
            inside = (inside[0] if inside else begin, end)
            k += 1
    if inside:
        yield inside


class _There(NamedTuple):
    """From and to of stretches of the week, in order."""

    begins: list[int]
    ends: list[int]


def _needed(network: Network, run: Run) -> _There | None:
    """When in the week all are there who must be by all the time; None where it runs alone or is finished in any case.

    Where one team began the work and another ended it, anybody who can may have gone on with it in between.
    """
    known: dict[tuple[str, str], _There | None] = network.notes.setdefault("needed all the time", {})
    key = (run.what, run.crew[0] if len(run.crew) == 1 else "")
    if key not in known:
        calendars = _by_all_the_time(network, *key)
        known[key] = _together(calendars) if calendars else None
    return known[key]


def _by_all_the_time(network: Network, what: str, crew: str) -> list[Calendar]:
    """The hours of those who must be by, where ``crew`` (joined by a plus; empty: anybody who can) does the work."""
    rows, ids = network.operations, network.crews.ids
    o = rows.ids.index(what)
    if not rows.hands_all[o] or rows.stop[o] == Stops.FINISH or _stands(network, o):
        return []
    team = [ids.index(one) for one in crew.split("+") if one]
    if team:
        return [network.calendars[int(network.crews.calendar[k])] for k in team]
    return [able_to(network, k) for k in rows.crews.row(o)[0].tolist()]


def _together(calendars: list[Calendar]) -> _There:
    """Every stretch of the week in which all are there."""
    steps = sorted({0, WEEK, *(int(at) for calendar in calendars for at in calendar.at)})
    pairs = [(a, b) for a, b in pairwise(steps) if all(calendar.at_time(a) > 0 for calendar in calendars)]
    return _There([a for a, _ in pairs], [b for _, b in pairs])


def _stands(network: Network, o: int) -> bool:
    """Whether a piece stands at its place after the work, which goes on while nobody is there."""
    return bool(network.operations.stand.mean[o] > 0)
