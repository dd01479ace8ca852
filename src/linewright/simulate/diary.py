"""What a replication writes down: who left the plant, and every event of a stretch of time that is to be shown.

With the events of the stretch come the beginnings of what was under way when it began, so that a chart of one day can
show work that began the day before.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from linewright.network.model import Ints
from linewright.simulate.kernel import rows as r

STARTS, ENDS, FINISHED, LOST = 3, 4, 6, 7
"""Kernel events. Lost are scrap and seconds."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """From ``begin`` up to ``end`` ns; events are written from ``since`` (ns) on, to know what is under way."""

    begin: int
    end: int
    since: int = 0


WHOLE = Stretch(0, 1 << 62)
"""All of a replication."""


@dataclass(slots=True)
class Diary:
    """Kernel records [n, 8] week by week; without a ``stretch`` only those who left are kept."""

    stretch: Stretch | None
    left: list[Ints] = field(default_factory=list)
    shown: list[Ints] = field(default_factory=list)
    under_way: Ints = field(default_factory=lambda: np.zeros((0, r.LOG_WIDTH), dtype=np.int64))

    def add(self, log: Ints) -> None:
        """Take the records of one more week."""
        event = log[:, r.L_EVENT]
        self.left.append(log[(event == FINISHED) | (event == LOST)])
        if self.stretch is None:
            return
        begin, end = np.searchsorted(log[:, r.L_TIME], [self.stretch.begin, self.stretch.end]).tolist()
        if begin:
            self.under_way = still_under_way(np.concatenate([self.under_way, log[:begin]]))
        if begin < end:
            self.shown.append(log[begin:end].copy())  # a view, even of nothing, would keep the whole log

    @property
    def gone(self) -> Ints:
        """Records of those who left the plant."""
        return np.concatenate(self.left)

    @property
    def trace(self) -> Ints | None:
        """The beginnings of what was under way, then every event of the stretch."""
        return None if self.stretch is None else np.concatenate([self.under_way, *self.shown])


def still_under_way(log: Ints) -> Ints:
    """Beginnings of operations that have not ended: the last word on a piece and an operation is its start."""
    told = log[np.isin(log[:, r.L_EVENT], (STARTS, ENDS, LOST))]
    order = np.lexsort((told[:, r.L_OPERATION], told[:, r.L_SERIAL]))  # stable, so each pair stays in order of time
    pairs = told[order][:, [r.L_SERIAL, r.L_OPERATION]]
    last = np.append((pairs[1:] != pairs[:-1]).any(axis=1), True)[: len(order)]
    rows = np.sort(order[last])
    found: Ints = told[rows][told[rows][:, r.L_EVENT] == STARTS]
    return found
