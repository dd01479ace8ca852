"""What happened, one flat record an event: the same columns for a simulation's trace and for a log from the floor.

So plan against actual is one query. Times are ns from the Monday 00:00 on which the record begins.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

from linewright.base.calendar import NS, WEEK

COLUMNS = ("time", "item", "lot", "operation", "station", "crew", "event")
"""Time in seconds; lot is the serial number of the piece or lot; an empty text is "none"."""

EVENTS = ("enters", "moves in", "starts", "ends", "finished", "scrapped", "seconds", "stops", "mended")
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


@dataclass(frozen=True, slots=True)
class Trace:
    """Records in the order in which they happened."""

    records: tuple[Record, ...]

    def __len__(self) -> int:
        return len(self.records)

    def write(self, path: str | Path) -> None:
        """Write a CSV file with ``COLUMNS``, times in seconds."""
        with Path(path).open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file)
            writer.writerow(COLUMNS)
            for r in self.records:
                seconds, rest = divmod(r.time, NS)
                text = f"{seconds}.{rest:09d}".rstrip("0").rstrip(".")
                writer.writerow((text, r.item, r.lot, r.operation, r.station, r.crew, r.event))

    def between(self, begin: int, end: int) -> Trace:
        """The records from ``begin`` up to ``end`` ns."""
        return Trace(tuple(r for r in self.records if begin <= r.time < end))

    def week(self, number: int) -> Trace:
        """The records of one week, counted from 0."""
        return self.between(number * WEEK, (number + 1) * WEEK)
