"""The shape of a control chart: one or two tracks of points with a centre, limits and what the run rules see.

A chart made from its own readings is phase I: it asks whether the process was steady. ``chart.known`` then carries the
centre and spread to phase II, where new readings are judged by limits they had no part in.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linewright.base.problems import Problems
from linewright.base.results import Shown, Table, plain
from linewright.quality.charts.rules import Rule, find_signals

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Known:
    """Centre and spread of a steady process: mean and standard deviation of single readings, in their unit.

    For counts ``mean`` is the rate a unit (faults a unit, share of units) and ``sd`` the spread between points as a
    multiple of chance alone (1 where there is none).
    """

    mean: float
    sd: float


@dataclass(frozen=True, eq=False)
class Track:
    """One line of points: values, centre and limits (one a point), one standard deviation of a point, and signals.

    ``signals`` maps a rule's name to the positions at which it signals, from 0.
    """

    name: str
    values: Floats
    centre: Floats
    lower: Floats
    upper: Floats
    sd: Floats
    signals: Mapping[str, NDArray[np.int64]]

    @property
    def out(self) -> NDArray[np.int64]:
        """Positions of points outside the limits."""
        return np.flatnonzero((self.values > self.upper) | (self.values < self.lower))

    def points(self, most: int = 10_000) -> list[dict[str, float]]:
        """Points as plain data for a picture. A longer track is thinned by keeping the least and most of each stretch
        and every point outside the limits, so that what matters stays.
        """
        return [
            {
                "index": int(i),
                "value": float(self.values[i]),
                "centre": float(self.centre[i]),
                "lower": float(self.lower[i]),
                "upper": float(self.upper[i]),
            }
            for i in _kept(self.values, self.out, most)
        ]


@dataclass(frozen=True, eq=False)
class Chart(Shown):
    """A control chart. ``phase`` is 1 where the limits come from these readings, 2 where they were given."""

    kind: str
    tracks: tuple[Track, ...]
    phase: int
    known: Known
    notes: tuple[str, ...] = ()

    @property
    def signals(self) -> int:
        """How many signals there are in all."""
        return sum(len(where) for track in self.tracks for where in track.signals.values())

    @property
    def steady(self) -> bool:
        """Whether no rule signals anywhere."""
        return self.signals == 0

    def to_dict(self, most: int = 10_000) -> dict[str, Any]:
        """Plain data for JSON; each track thinned to about ``most`` points and signals, with the true counts beside."""
        return {
            "kind": self.kind,
            "phase": self.phase,
            "known": plain(self.known),
            "steady": self.steady,
            "notes": list(self.notes),
            "tracks": [
                {
                    "name": t.name,
                    "count": int(t.values.size),
                    "points": t.points(most),
                    "signals": {rule: plain(where[:most]) for rule, where in t.signals.items()},
                    "signal_counts": {rule: int(where.size) for rule, where in t.signals.items()},
                }
                for t in self.tracks
            ],
        }

    def to_table(self) -> Table:
        """One row a track and rule; limits are those of the first point where they vary."""
        rows = []
        for t in self.tracks:
            for rule, where in t.signals.items():
                first = int(where[0]) + 1 if len(where) else None
                limits = (float(t.centre[0]), float(t.lower[0]), float(t.upper[0]))
                rows.append((t.name, *limits, t.values.size, rule, len(where), first))
        columns = ("track", "centre", "lower limit", "upper limit", "points", "rule", "signals", "first at point")
        phase = "limits from these readings" if self.phase == 1 else "limits as given"
        return Table(f"Control chart: {self.kind}", columns, tuple(rows), "; ".join((phase, *self.notes)))


def make_track(
    name: str,
    values: Floats,
    centre: Floats | float,
    sd: Floats | float,
    rules: Sequence[Rule],
    *,
    lower: Floats | float | None = None,
    upper: Floats | float | None = None,
    floor: float | None = None,
    ceiling: float | None = None,
) -> Track:
    """A track with limits three standard deviations out, unless given, kept inside floor and ceiling.

    Equation: limits = centre -+ 3 sd; z = (value - centre)/sd is what the rules see.
    Takes:
        name [a word]: of the track.
        values [the unit of the plotted statistic]: one a point.
        centre [as values]: one, or one a point.
        sd [as values]: one standard deviation of a point, above 0; one, or one a point.
        rules [Rules]: looked for.
        lower [as values]: limit, where it is not 3 sd below.
        upper [as values]: limit, where it is not 3 sd above.
        floor [as values]: least value possible; a limit at it cannot be crossed.
        ceiling [as values]: greatest value possible.
    Gives: a Track.
    Range: any.
    Source: Shewhart, Economic Control of Quality of Manufactured Product, 1931.

    >>> make_track("mean", np.array([1.0, 9.0]), 2.0, 1.0, []).out.tolist()
    [1]
    """
    shape = values.shape
    middle = np.broadcast_to(np.asarray(centre, dtype=float), shape)
    one = np.broadcast_to(np.asarray(sd, dtype=float), shape)
    low = np.broadcast_to(np.asarray(lower if lower is not None else middle - 3 * one, dtype=float), shape)
    high = np.broadcast_to(np.asarray(upper if upper is not None else middle + 3 * one, dtype=float), shape)
    if floor is not None:
        low = np.maximum(low, floor)
    if ceiling is not None:
        high = np.minimum(high, ceiling)
    signals = dict(find_signals((values - middle) / one, rules))
    if "beyond the limits" in signals:  # by the limits shown, which need not be symmetrical
        signals["beyond the limits"] = np.flatnonzero((values > high) | (values < low))
    return Track(name, values, middle, low, high, one, signals)


def check_known(known: Known | None, problems: Problems) -> None:
    """Check a given centre and spread.

    Equation: none.
    Takes:
        known [the readings' unit]: centre and spread, or None.
        problems [a list]: where a problem goes.
    Gives: nothing.
    Range: finite, spread above 0.
    Source: none.

    >>> check_known(Known(1.0, 2.0), Problems())
    """
    if known is None:
        return
    if not np.isfinite(known.mean):
        problems.error("known.mean", "not a finite number", value=known.mean)
    if not (np.isfinite(known.sd) and known.sd > 0):
        problems.error("known.sd", "not a spread", value=known.sd, expected="a number above 0")


def _kept(values: Floats, out: NDArray[np.int64], most: int) -> NDArray[np.int64]:
    if values.size <= most:
        return np.arange(values.size)
    stretch = -(-values.size * 2 // most)
    whole = values.size // stretch * stretch
    block = values[:whole].reshape(-1, stretch)
    start = np.arange(block.shape[0]) * stretch
    ends = [start + block.argmin(axis=1), start + block.argmax(axis=1), np.arange(whole, values.size)]
    return np.unique(np.concatenate([*ends, out[:most]]))
