"""Phase I in rounds: leave out points with a known cause, draw the limits again, until the rest is steady.

What is left out is listed. A point may be left out only because its cause is known; the rounds here suggest which to
look into, and say so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from linewright.base.arrays import number
from linewright.base.problems import Problems
from linewright.base.results import Shown, Table
from linewright.quality.charts.chart import Chart


@dataclass(frozen=True)
class Settled(Shown):
    """The last chart of phase I, the points left out on the way (numbered from 0 as given), and how many drawings."""

    chart: Chart
    left_out: tuple[int, ...]
    rounds: int

    def to_table(self) -> Table:
        """The chart's table, with what was left out in the note."""
        table = self.chart.to_table()
        out = ", ".join(str(i + 1) for i in self.left_out) or "none"
        return Table(table.title, table.columns, table.rows, f"left out: {out}; look for the cause of each")


def settle(draw: Callable[[Any], Chart], readings: ArrayLike, most: int | None = None) -> Settled:
    """Draw a phase I chart again and again, each time without the point farthest outside its limits.

    Equation: none; each round leaves out the one point with the greatest |value - centre|/standard deviation among
        those outside, of the first track that has any. One at a time, because a stray point drags the limits away from
        good ones.
    Takes:
        draw [a function]: makes a chart of readings, such as mean_and_range.
        readings [any one unit]: as that chart takes them, one row a point.
        most [points]: at most so many are left out, 0 or more; default a third of them.
    Gives: a Settled.
    Range: where points are still outside when ``most`` is reached, the process is not steady: ``chart`` shows them.
    Source: ISO 7870-2:2013 on the preliminary (phase I) study; one at a time, and a third: common practice, no source.

    >>> from linewright.quality.charts.variables import mean_and_range
    >>> rows = [[5.0, 5.4], [4.9, 5.3], [5.1, 4.8], [7.0, 7.1], [5.0, 4.6], [5.1, 5.4], [4.8, 5.1], [5.3, 5.0]]
    >>> settle(mean_and_range, rows).left_out
    (3,)
    """
    rows: Any = readings if isinstance(readings, np.ndarray) else list(np.asarray(readings, dtype=object))
    problems = Problems()
    limit = number(len(rows) // 3 if most is None else most, "most", problems, low=0, high=1e9, whole=True)
    problems.raise_errors()
    kept = np.arange(len(rows))
    while True:
        chart = draw(rows[kept] if isinstance(rows, np.ndarray) else [rows[i] for i in kept])
        worst = _farthest(chart)
        if worst is None or len(rows) - kept.size >= limit:
            break
        kept = np.delete(kept, worst)
    left = tuple(int(i) for i in np.setdiff1d(np.arange(len(rows)), kept))
    return Settled(chart, left, len(left) + 1)


def _farthest(chart: Chart) -> int | None:
    """The point farthest outside its limits, as a position of the first track; None where none is outside.

    The first track is asked first, since a stray reading makes two moving ranges stray. A moving range alone outside
    blames, of its two readings, the one farther from the centre.
    """
    first = chart.tracks[0]
    for track in chart.tracks:
        if not track.out.size:
            continue
        worst = int(track.out[np.argmax(np.abs(track.values - track.centre)[track.out] / track.sd[track.out])])
        if track.values.size == first.values.size:
            return worst
        pair = np.array([worst, worst + 1])
        return int(pair[np.argmax(np.abs(first.values - first.centre)[pair])])
    return None
