"""A stretch of a simulated day event by event, with where every open piece stood when it began: what moves is drawn
from this.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from linewright.answer.model import Answer
from linewright.answer.play import Stop, Wish, middle_day, play, play_flat_out
from linewright.answer.simulated import FLAT_OUT
from linewright.base.calendar import WEEK
from linewright.base.trace import EVENTS, Trace
from linewright.network.model import Network

MOST = 80_000
GONE = ("finished", "scrapped", "seconds")


@dataclass(frozen=True, slots=True)
class Played:
    """What happened from ``begin`` up to ``end`` ns of a week; ``before`` the last word on each piece that was open
    then; ``cut`` where the end came early because so much happened.
    """

    begin: int
    end: int
    before: Trace
    trace: Trace
    release: str
    cut: bool


def play_stretch(
    found: Answer, *, begin: int | None = None, end: int | None = None, seed: int = 0, stop: Stop | None = None
) -> Played:
    """One replication with a stretch of its last week kept, by default the working day in the middle.

    Flat out where the bounds rule the demand out: by takt work would only pile up. Raises ProblemsError for a plan that
    cannot be played.
    """
    network, flow = found.to_play
    first, last = middle_day(network)
    begin, end = first if begin is None else begin, last if end is None else end
    wish = Wish(replications=1, seed=seed, trace=(begin - WEEK, end), threads=1)
    if found.capacity.makes:
        run = play(network, flow, wish, stop=stop)
    else:
        run = play_flat_out(network, flow, replace(wish, release=FLAT_OUT), None, stop, found.capacity)
    assert run.trace is not None  # it was asked for
    shift = (run.weeks - 1) * WEEK
    trace = _as_written(replace(run.trace, time=run.trace.time - shift), network)
    earlier, during = trace.between(-(1 << 62), begin), trace.between(begin, end)
    before = _taken(earlier, last_words(earlier))
    left = max(MOST - len(before), 0)
    cut = len(during) > left
    if cut:
        during = _taken(during, np.arange(left))
        end = int(during.time[-1]) if left else begin
    return Played(begin, end, before, during, run.release, cut)


def _as_written(trace: Trace, network: Network) -> Trace:
    """The trace with the operations of all variants under the ids that the plan writes."""
    origin = network.origin
    if origin is None:
        return trace
    operation = np.append(origin.operation, -1)[trace.operation]
    return replace(trace, operation=operation, names={**trace.names, "operation": origin.operations})


def last_words(trace: Trace) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Places of the last record of every piece that has not left, in order of time; stoppages still open included."""
    gone = [EVENTS.index(event) for event in GONE]
    stops, mended = EVENTS.index("stops"), EVENTS.index("mended")
    of_place = np.isin(trace.event, (stops, mended))
    key = np.where(of_place, -1 - trace.station, trace.lot)
    _, back = np.unique(key[::-1], return_index=True)
    last = len(key) - 1 - back
    open_ = ~np.isin(trace.event[last], [*gone, mended])
    found: np.ndarray[tuple[int], np.dtype[np.int64]] = np.sort(last[open_])
    return found


def _taken(trace: Trace, rows: np.ndarray[tuple[int], np.dtype[np.int64]]) -> Trace:
    columns = {f.name: getattr(trace, f.name)[rows] for f in fields(trace) if f.name != "names"}
    return replace(trace, **columns)
