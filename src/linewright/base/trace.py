"""What happened, one flat record an event: the same columns for a simulation's trace and for a log from the floor.

So plan against actual is one query. Times are ns from the Monday 00:00 on which the record begins.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, fields, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from linewright.base.calendar import NS, WEEK

COLUMNS = ("time", "item", "lot", "operation", "station", "crew", "event", "speed")
"""Time in seconds; lot is the serial number of the piece or lot, or of the run of a flow; an empty text is "none".

Speed is written where a flow changes its rate: the part of its full rate, in millionths.
"""

Column = NDArray[np.int64]
EVENTS = ("enters", "moves in", "starts", "ends", "finished", "scrapped", "seconds", "stops", "mended", "runs at")
"""The closed list of events."""


@dataclass(frozen=True, slots=True)
class Record:
    """One thing that happened."""

    time: int
    item: str
    lot: int
    operation: str
    station: str
    crew: str
    event: str
    speed: int = -1


NAMED = ("item", "operation", "station", "crew", "event")
"""The columns that hold names."""


@dataclass(frozen=True, slots=True)
class Trace:
    """Records in the order in which they happened, kept as columns: a plant writes millions.

    ``time`` in ns, ``lot`` and ``speed`` (-1: none) [n]; the others [n] are places in their list of ``names``, -1 where
    there is none.
    """

    time: Column
    lot: Column
    item: Column
    operation: Column
    station: Column
    crew: Column
    event: Column
    speed: Column
    names: dict[str, tuple[str, ...]]

    def __len__(self) -> int:
        return len(self.time)

    @property
    def records(self) -> tuple[Record, ...]:
        """One Record each."""
        named = [[(*self.names[name], "")[k] for k in getattr(self, name).tolist()] for name in NAMED]
        item, operation, station, crew, event = named
        columns = (item, self.lot.tolist(), operation, station, crew, event, self.speed.tolist())
        return tuple(map(Record, self.time.tolist(), *columns))

    def write(self, path: str | Path) -> None:
        """Write a CSV file with ``COLUMNS``, times in seconds."""
        with Path(path).open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file)
            writer.writerow(COLUMNS)
            for r in self.records:
                seconds, rest = divmod(r.time, NS)
                text = f"{seconds}.{rest:09d}".rstrip("0").rstrip(".")
                speed = r.speed if r.speed >= 0 else ""
                writer.writerow((text, r.item, r.lot, r.operation, r.station, r.crew, r.event, speed))

    def between(self, begin: int, end: int) -> Trace:
        """The records from ``begin`` up to ``end`` ns."""
        part = slice(*(int(k) for k in np.searchsorted(self.time, [begin, end])))
        return replace(self, **{f.name: getattr(self, f.name)[part] for f in fields(self) if f.name != "names"})

    def week(self, number: int) -> Trace:
        """The records of one week, counted from 0."""
        return self.between(number * WEEK, (number + 1) * WEEK)
