"""The chart that fits what was read: subgroups, single readings, or counts with the size of each sample.

One call for a command or a notebook; each chart stays a function of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from linewright.base.arrays import number
from linewright.base.problems import Problems, did_you_mean
from linewright.quality.charts.chart import Chart, Floats, Known
from linewright.quality.charts.counts import faults, faults_per_unit, number_faulty, share_faulty
from linewright.quality.charts.memory import cumulative_sum, weighted_mean
from linewright.quality.charts.rules import USUAL_RULES, Rule, false_alarm
from linewright.quality.charts.variables import mean_and_deviation, mean_and_range, single_readings
from linewright.quality.readings import Counts, Measurements

MEASURED = ("mean-and-range", "mean-and-deviation", "single", "weighted-mean", "cumulative-sum")
COUNTED = ("share-faulty", "number-faulty", "faults", "faults-per-unit")
_LARGE = 10  # readings in a subgroup beyond which the range wastes information, as in mean_and_range


def draw_chart(
    data: Measurements | Counts,
    kind: str = "",
    *,
    known: Known | None = None,
    first: int | None = None,
    corrected: bool = False,
    rules: Sequence[Rule] = USUAL_RULES,
) -> Chart:
    """The chart of what was read from a table.

    Equation: none; it chooses. Equal subgroups of up to 10: mean and range; other subgroups: mean and deviation; no
        subgroups: single readings. Faulty units: share faulty; faults: faults a unit.
    Takes:
        data [as read]: Measurements or Counts.
        kind ["" or a name of MEASURED or COUNTED]: another chart than the one chosen.
        known [as the chart]: centre and spread given beforehand: phase II.
        first [points]: limits from the first so many points (phase I), then all points judged by them (phase II).
        corrected [yes or no]: counts only: widen the limits by the spread between points.
        rules [Rules]: looked for; a chart that remembers has only its limits.
    Gives: a Chart.
    Range: as the chart.
    Source: as the chart.

    >>> draw_chart(Measurements(np.array([5.0, 5.2, 4.9, 5.1]), "mm", None)).kind
    'single readings'
    >>> draw_chart(Counts(np.array([4.0, 6, 3, 7, 5]), np.full(5, 200.0), False)).kind
    'share faulty'
    """
    chosen = kind or _choose(data)
    problems = Problems()
    possible = COUNTED if isinstance(data, Counts) else MEASURED
    if chosen not in possible:
        what = "this chart is not for counts" if isinstance(data, Counts) else "this chart is not for measurements"
        expected, hint = "one of " + ", ".join(possible), did_you_mean(chosen, possible)
        problems.error("kind", what, value=chosen, expected=expected, hint=hint)
    if first is not None and known is not None:
        problems.error("first", "limits are given, and asked from the first points as well", expected="one of the two")
    problems.raise_errors()
    draw, points = (
        _counted(data, chosen, corrected, rules) if isinstance(data, Counts) else _measured(data, chosen, rules)
    )
    if first is None:
        return draw(slice(None), known)
    if not 3 <= first < points:
        problems.error("first", "not so many points", value=first, expected=f"from 3, below {points}")
        problems.raise_errors()
    base = draw(slice(0, first), None)
    judged = draw(slice(None), base.known)
    return replace(judged, notes=(f"limits from the first {first} points", *judged.notes))


Draw = Callable[[slice, Known | None], Chart]


def _choose(data: Measurements | Counts) -> str:
    if isinstance(data, Counts):
        return "faults-per-unit" if data.faults else "share-faulty"
    if data.subgroups is None:
        return "single"
    equal = isinstance(data.subgroups, np.ndarray)
    return "mean-and-range" if equal and data.subgroups[0].size <= _LARGE else "mean-and-deviation"


def _counted(data: Counts, kind: str, corrected: bool, rules: Sequence[Rule]) -> tuple[Draw, int]:
    count, size = data.counts, data.sizes

    def draw(part: slice, known: Known | None) -> Chart:
        match kind:
            case "share-faulty":
                return share_faulty(count[part], size[part], known=known, corrected=corrected, rules=rules)
            case "number-faulty":
                return number_faulty(count[part], _one_size(size), known=known, rules=rules)
            case "faults":
                return faults(count[part], known=known, rules=rules)
            case _:
                return faults_per_unit(count[part], size[part], known=known, corrected=corrected, rules=rules)

    return draw, int(count.size)


def _one_size(size: Floats) -> int:
    if np.ptp(size) != 0:
        problems = Problems()
        problems.error("kind", "number faulty needs samples of one size", hint="take share-faulty")
        problems.raise_errors()
    return int(size[0])


def _measured(data: Measurements, kind: str, rules: Sequence[Rule]) -> tuple[Draw, int]:
    grouped = kind in ("mean-and-range", "mean-and-deviation")
    if grouped and data.subgroups is None:
        problems = Problems()
        hint = "name the subgroup of every reading in a column, or say how many readings make one"
        problems.error("kind", "there are no subgroups", value=kind, hint=hint)
        problems.raise_errors()
    rows: Any = data.subgroups if grouped else _points(data)

    def draw(part: slice, known: Known | None) -> Chart:
        match kind:
            case "mean-and-range":
                return mean_and_range(rows[part], known=known, rules=rules)
            case "mean-and-deviation":
                return mean_and_deviation(rows[part], known=known, rules=rules)
            case "weighted-mean":
                return weighted_mean(rows[part], known=known)
            case "cumulative-sum":
                return cumulative_sum(rows[part], known=known)
            case _:
                return single_readings(rows[part], known=known, rules=rules)

    return draw, len(rows)


def _points(data: Measurements) -> Floats:
    """Single readings, or the means of subgroups where there are some: a chart that remembers takes either."""
    if data.subgroups is None:
        return data.values
    return np.array([float(np.mean(row)) for row in data.subgroups])


def chance_signals(rules: Sequence[Rule], points: int) -> float:
    """How many signals of the rules chance alone gives in so many points of a steady process, at most.

    Equation: points x sum of each rule's false-alarm rate; windows that overlap and signals counted twice make it less.
    Takes:
        rules [Rules]: looked for.
        points [1]: of the chart, 0 or more.
    Gives: signals [1].
    Range: independent normal points with known centre and spread.
    Source: false_alarm.

    >>> round(chance_signals(USUAL_RULES, 1000), 1)
    19.1
    """
    problems = Problems()
    number(points, "points", problems, low=0, whole=True)
    problems.raise_errors()
    return points * sum(false_alarm(rule) for rule in rules)


def is_steady(chart: Chart, rules: Sequence[Rule]) -> bool | None:
    """Whether a chart speaks for a steady process: yes without a signal, no with one that chance does not explain.

    Equation: no where the first track signals more than 1.5 times chance_signals, or at all where chance gives fewer
        than 3; None between, as a long chart of a steady process signals now and then.
    Takes:
        chart [a Chart]: of any kind.
        rules [Rules]: that were looked for on its first track.
    Gives: yes, no or None.
    Range: as chance_signals.
    Source: false_alarm; 1.5 and 3 are our own.

    >>> is_steady(single_readings([10.0, 10.2, 9.9, 10.1, 10.0]), USUAL_RULES)
    True
    """
    if chart.steady:
        return True
    expected = chance_signals(rules, int(chart.tracks[0].values.size))
    seen = sum(len(where) for where in chart.tracks[0].signals.values())
    return False if expected < 3 or seen > 1.5 * expected else None


def in_subgroups(data: Measurements, size: int) -> Measurements:
    """Readings taken in subgroups of so many, one after the other; a last one that is not full is left out.

    Equation: none.
    Takes:
        data [as read]: Measurements without subgroups of their own.
        size [readings]: in a subgroup, at least 2.
    Gives: Measurements.
    Range: at least two full subgroups.
    Source: none.

    >>> in_subgroups(Measurements(np.arange(7.0), "", None), 3).subgroups.tolist()
    [[0.0, 1.0, 2.0], [3.0, 4.0, 5.0]]
    """
    problems = Problems()
    whole = data.values.size // size if size >= 2 else 0
    if whole < 2:
        problems.error("size", f"{data.values.size} readings make no two subgroups", value=size, expected="2 or more")
    if data.subgroups is not None:
        problems.error("size", "the table names its subgroups already", value=size)
    problems.raise_errors()
    return replace(data, subgroups=data.values[: whole * size].reshape(whole, size))
