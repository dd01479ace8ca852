"""The problem of balancing as plain data: tasks, times, order and rules, checked once.

A ``Line`` needs no plan. Times are whole ticks (``resolution`` says how long one is), so sums are exact; the order is a
compressed list of the tasks that come before each. ``make_line`` builds one from plain Python and finds every problem
in one pass.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from linewright.balance.circles import find_circles
from linewright.balance.contradictions import check_rules, check_takt
from linewright.balance.rules import Rules
from linewright.base.problems import Problems, did_you_mean

Number = int | float | Fraction | str
LONGEST = 2**53  # ticks: sums of weights stay exact far below the edge of int64


@dataclass(frozen=True)
class Line:
    """A line to be balanced: ``names`` of its tasks, ``times`` in ticks, and what comes before each task.

    ``before[starts[i]:starts[i + 1]]`` are the tasks that must be done before task ``i``, at its station or an earlier
    one. ``resolution`` is the length of one tick in ``unit`` (empty: plain numbers).
    """

    names: tuple[str, ...]
    times: NDArray[np.int64]
    starts: NDArray[np.int64]
    before: NDArray[np.int64]
    rules: Rules = field(default_factory=Rules)
    resolution: Fraction = Fraction(1)
    unit: str = ""

    def __post_init__(self) -> None:
        for array in (self.times, self.starts, self.before):
            array.setflags(write=False)

    @property
    def n(self) -> int:
        """How many tasks."""
        return len(self.names)

    @cached_property
    def index(self) -> dict[str, int]:
        """Task name to its place in the arrays."""
        return {name: i for i, name in enumerate(self.names)}

    @property
    def pairs(self) -> list[tuple[int, int]]:
        """Every (earlier, later) pair of the order as written."""
        return [(int(p), i) for i in range(self.n) for p in self.before[self.starts[i] : self.starts[i + 1]]]

    def ticks(self, time: Number) -> int:
        """A takt in ticks, rounded down: a station may never be loaded beyond what was said."""
        return math.floor(as_fraction(time) / self.resolution)

    def amount(self, ticks: int) -> float:
        """Ticks as a time in ``unit``."""
        return float(ticks * self.resolution)

    def with_rules(self, rules: Rules) -> Line:
        """The same tasks under other rules, checked again. Raises ProblemsError."""
        line = Line(self.names, self.times, self.starts, self.before, rules, self.resolution, self.unit)
        problems = Problems()
        check_rules(line, problems)
        problems.raise_errors()
        return line

    def check(self, takt: int | None = None, stations: int | None = None) -> None:
        """Raise ProblemsError where no balance can exist at ``takt`` ticks, naming what would help."""
        problems = Problems()
        check_takt(self, takt, stations, problems)
        problems.raise_errors()


def as_fraction(value: Number) -> Fraction:
    """A number exactly as written: 0.1 is one tenth. Raises ValueError for what is no finite number.

    >>> as_fraction(0.1)
    Fraction(1, 10)
    """
    if isinstance(value, float | np.floating):
        if not math.isfinite(value):
            raise ValueError(f"{value} is not a finite number")
        return Fraction(repr(float(value)))
    return Fraction(int(value)) if isinstance(value, np.integer) else Fraction(value)


def make_line(
    times: Mapping[str, Number],
    after: Mapping[str, Iterable[str]] | None = None,
    *,
    rules: Rules | None = None,
    unit: str = "",
    path: str = "tasks",
) -> Line:
    """A checked line from times by task name and, for each task, the names of the tasks it comes after.

    Raises ProblemsError with every problem: names not known, times that are no times, circles named in full, rules
    that contradict each other.

    >>> line = make_line({"cut": 3, "bend": 2.5}, {"bend": ["cut"]})
    >>> line.times.tolist(), line.pairs
    ([6, 5], [(0, 1)])
    """
    problems = Problems()
    names = tuple(times)
    exact = {name: _time(name, value, path, problems) for name, value in times.items()}
    if not names:
        problems.error(path, "a line needs at least one task")
    order = _order(names, after or {}, path, problems)
    for circle in find_circles(len(names), order):
        told = " -> ".join(names[i] for i in (*circle, circle[0]))
        problems.error(
            f"{path}.after",
            f"the order goes round in a circle: {told}",
            hint="take one of these 'after' away",
        )
    problems.raise_errors()
    resolution = _resolution(exact.values())
    ticks = [int(exact[name] / resolution) for name in names]
    if sum(ticks) > LONGEST:
        problems.error(path, "the times are too long or too finely divided to be added exactly")
        problems.raise_errors()
    starts, before = _compress(len(names), order)
    line = Line(names, np.array(ticks, np.int64), starts, before, rules or Rules(), resolution, unit)
    check_rules(line, problems)
    problems.raise_errors()
    return line


def _time(name: str, value: Number, path: str, problems: Problems) -> Fraction:
    where = f"{path}.{name}"
    try:
        time = as_fraction(value)
    except (ValueError, TypeError, ZeroDivisionError):
        problems.error(where, "not a time", value=value, expected="a number of zero or more")
        return Fraction(0)
    if time < 0:
        problems.error(where, "a time cannot be negative", value=value, expected="zero or more")
    return time


def _order(
    names: tuple[str, ...], after: Mapping[str, Iterable[str]], path: str, problems: Problems
) -> list[tuple[int, int]]:
    index = {name: i for i, name in enumerate(names)}
    order: set[tuple[int, int]] = set()
    for name, earlier in after.items():
        where = f"{path}.{name}.after"
        if name not in index:
            problems.error(where, f'there is no task "{name}"', hint=did_you_mean(name, names))
            continue
        for other in earlier:
            if other not in index:
                problems.error(where, "no such task", value=other, hint=did_you_mean(other, names))
            else:
                order.add((index[other], index[name]))
    return sorted(order)


def _resolution(times: Iterable[Fraction]) -> Fraction:
    """The longest tick that divides every time; one where all are zero."""
    values = [t for t in times if t > 0]
    if not values:
        return Fraction(1)
    below = math.lcm(*(t.denominator for t in values))
    if below == 1:
        return Fraction(1)
    return Fraction(math.gcd(*(int(t * below) for t in values)), below)


def _compress(n: int, order: list[tuple[int, int]]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    by_task: list[list[int]] = [[] for _ in range(n)]
    for earlier, later in order:
        by_task[later].append(earlier)
    starts = np.zeros(n + 1, np.int64)
    starts[1:] = np.cumsum([len(b) for b in by_task])
    return starts, np.array([p for b in by_task for p in b], np.int64)
