"""A stretch of a simulated day as compact data for a picture that moves: columns of numbers, names beside them."""

from __future__ import annotations

from typing import Any

from linewright.answer.stretch import Played
from linewright.base.calendar import DAY, NS
from linewright.base.trace import Trace
from linewright.report.played.gantt import DAYS

NAMED = ("item", "operation", "station", "event")


def moving(played: Played) -> dict[str, Any]:
    """Times in seconds of the week, to the millisecond; other columns are places in the lists of ``names``, -1 none."""
    return {
        "begin": played.begin / NS,
        "end": played.end / NS,
        "day": DAYS[played.begin // DAY % 7],
        "release": played.release,
        "cut": played.cut,
        "names": {name: list(played.trace.names[name]) for name in NAMED},
        "before": _columns(played.before),
        "trace": _columns(played.trace),
    }


def _columns(trace: Trace) -> dict[str, list[Any]]:
    seconds = [round(time / NS, 3) for time in trace.time.tolist()]
    named = {name: getattr(trace, name).tolist() for name in NAMED}
    return {"time": seconds, "lot": trace.lot.tolist(), **named}
