"""What was worked on at the stations on one simulated day, from its trace.

A trace says when work begins and ends at a station, piece by piece; a load of pieces is one run. It does not say when
work pauses, so crewed work is told only while its crews are in.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from linewright.answer.simulated import Day
from linewright.base.calendar import WEEK, Calendar
from linewright.base.trace import Record
from linewright.network.lending import able_to
from linewright.network.model import Network, Stops


@dataclass(frozen=True, slots=True)
class Run:
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


def loads_of_day(day: Day, network: Network) -> Iterator[Run]:
    """Every run of the day at a station, loads told once."""
    yield from _loads(_runs(day), network)


def _runs(day: Day) -> Iterator[Run]:
    """Starts and ends of the trace, paired by piece and operation."""
    begun: dict[tuple[int, str], Record] = {(r.lot, r.operation): r for r in day.under_way}
    for record in day.trace.records:
        key = (record.lot, record.operation)
        if record.event == "starts":
            begun[key] = record
        elif record.event == "ends" and record.station:
            start = begun.pop(key, None)
            since = start.time if start is not None else day.begin
            if record.time > since:
                begin = max(since, day.begin)
                who = tuple(dict.fromkeys(one.crew for one in (start, record) if one is not None and one.crew))
                yield Run(record.station, record.item, begin, record.time, record.operation, since, who)
    for record in begun.values():
        if record.station and record.time < day.end:
            begin = max(record.time, day.begin)
            who = (record.crew,) if record.crew else ()
            yield Run(record.station, record.item, begin, day.end, record.operation, record.time, who)


def _loads(runs: Iterable[Run], network: Network) -> Iterator[Run]:
    """Pieces of a load are told one by one, all with the same times; a load is one bar.

    What is measured comes in lots of any size, so that all with the same times are taken for one load.
    """
    together: dict[tuple[str, str, int, int], int] = {}
    rows = network.operations
    counted = network.items.counted[network.routes.item[rows.route]].tolist()
    sizes = {
        name: max(int(most), 1) if whole else 0
        for name, most, whole in zip(rows.ids, rows.load_most.tolist(), counted, strict=True)
    }
    for run in runs:
        key = (run.station, run.what, run.since, run.end)
        size, count = sizes[run.what], together.get(key, 0)
        if count == 0 or (size and count % size == 0):
            yield run
        together[key] = count + 1


def attended(run: Run, network: Network) -> Iterator[tuple[int, int]]:
    """The parts of a run in which its crews are in; the whole of it where it runs alone or is finished in any case."""
    calendars = _needed(network, run)
    if not calendars:
        yield run.begin, run.end
        return
    steps = {run.begin, run.end}
    for calendar in calendars:
        weeks = range(run.begin // WEEK, run.end // WEEK + 1)
        steps |= {t for week in weeks for at in calendar.at.tolist() if run.begin < (t := week * WEEK + at) < run.end}
    inside: tuple[int, int] | None = None
    for begin, end in pairwise(sorted(steps)):
        if all(calendar.at_time(begin) > 0 for calendar in calendars):
            inside = (inside[0] if inside else begin, end)
        elif inside:
            yield inside
            inside = None
    if inside:
        yield inside


def _needed(network: Network, run: Run) -> list[Calendar]:
    """When those are there who must be by all the time; none where it runs alone or is finished in any case.

    Where one team began the work and another ended it, anybody who can may have gone on with it in between.
    """
    known: dict[tuple[str, str], list[Calendar]] = network.notes.setdefault("needed all the time", {})
    key = (run.what, run.crew[0] if len(run.crew) == 1 else "")
    if key not in known:
        rows, ids = network.operations, network.crews.ids
        o = rows.ids.index(run.what)
        team = [ids.index(crew) for crew in key[1].split("+") if crew]
        if not rows.hands_all[o] or rows.stop[o] == Stops.FINISH or _stands(network, o):
            known[key] = []
        elif team:
            known[key] = [network.calendars[int(network.crews.calendar[k])] for k in team]
        else:
            known[key] = [able_to(network, k) for k in rows.crews.row(o)[0].tolist()]
    return known[key]


def _stands(network: Network, o: int) -> bool:
    """Whether a piece stands at its place after the work, which goes on while nobody is there."""
    return bool(network.operations.stand.mean[o] > 0)
