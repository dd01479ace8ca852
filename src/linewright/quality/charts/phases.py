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


def settle(draw: Callable[[Any], Chart], readings: ArrayLike, most_rounds: int = 10) -> Settled:
    """Draw a phase I chart again and again without the points outside its limits.

    Equation: none; each round leaves out the points of any track outside their limits.
    Takes:
        draw [a function]: makes a chart of readings, such as mean_and_range.
        readings [any one unit]: as that chart takes them, one row a point.
        most_rounds [1]: at most so many drawings, 1 to 100.
    Gives: a Settled.
    Range: where more than a third of the points would go, the process is not steady and it stops there.
    Source: ISO 7870-2:2013 on the preliminary (phase I) study; the limit of a third is common practice, no source.

    >>> from linewright.quality.charts.variables import mean_and_range
    >>> rows = [[5.0, 5.4], [4.9, 5.3], [5.1, 4.8], [7.0, 7.1], [5.0, 4.6], [5.1, 5.4], [4.8, 5.1], [5.3, 5.0]]
    >>> settle(mean_and_range, rows).left_out
    (3,)
    """
    problems = Problems()
    number(most_rounds, "most_rounds", problems, low=1, high=100, whole=True)
    problems.raise_errors()
    rows: Any = readings if isinstance(readings, np.ndarray) else list(np.asarray(readings, dtype=object))
    kept = np.arange(len(rows))
    drawn = 0
    while True:
        drawn += 1
        chart = draw(rows[kept] if isinstance(rows, np.ndarray) else [rows[i] for i in kept])
        out = np.unique(np.concatenate([track.out for track in chart.tracks]))
        if not out.size or drawn >= most_rounds or kept.size - out.size < max(3, 2 * len(rows) / 3):
            break
        kept = np.delete(kept, out)
    left = tuple(int(i) for i in np.setdiff1d(np.arange(len(rows)), kept))
    return Settled(chart, left, drawn)
