"""The general problem as a constraint model: variables, one function per rule, and nothing about solving it.

``y[i][s]`` says that task ``i`` is at station ``s`` or before, so that order is a plain implication; ``x[i][s]`` that
it is at ``s``. Stations count from 0 here. OR-Tools is imported only where a model is built.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from fractions import Fraction
from statistics import NormalDist
from typing import Any

import numpy as np

from linewright.balance.line import Line, as_fraction

WIDE = 1 << 60  # sums of a model stay below this


class Model:
    """A constraint model of a line with ``stations`` stations. ``room`` in ticks; None leaves the takt free.

    ``windows`` are the first and last station (from 0) of each task, where bounds tell them: a place outside is no
    variable.
    """

    def __init__(
        self, line: Line, stations: int, room: int | None, windows: Sequence[tuple[int, int]] | None = None
    ) -> None:
        from ortools.sat.python import cp_model

        self.line, self.rules, self.m = line, line.rules, stations
        self.windows = windows or [(0, stations - 1)] * line.n
        # a common unit keeps numbers small; limits that are no sums of times need every tick
        whole = bool({"models", "variance", "parallel"} & set(self.rules.asked))
        self.unit = 1 if whole else max(1, math.gcd(*(int(t) for t in line.times)))
        self.ticks = room
        self.times = [int(t) // self.unit for t in line.times]
        self.cp = cp_model.CpModel()
        self.widest: int = sum(self.times) if room is None else room // self.unit
        self.room: Any = self.widest  # a number, or a variable where the takt is free
        if room is None:
            self.room = self.cp.new_int_var(max(self.times, default=0), max(1, self.widest), "takt")
        self._place()
        self._copies()
        self._loads()
        for kind in self.rules.asked:
            rule: Callable[[], None] | None = getattr(self, f"_{kind}", None)
            if rule is not None:
                rule()
        self._twins()

    # -- variables ---------------------------------------------------------------------------------------------

    def _place(self) -> None:
        cp, n, stations = self.cp, self.line.n, range(self.m)
        never, always = cp.new_constant(0), cp.new_constant(1)
        self.y = [[never] * first + [always] * (self.m - first) for first, _ in self.windows]
        self.x = [[never] * self.m for _ in range(n)]
        self.used = [cp.new_bool_var(f"used{s}") for s in stations]
        for i, (first, last) in enumerate(self.windows):
            for s in range(first, last):
                self.y[i][s] = cp.new_bool_var(f"y{i},{s}")
            for s in range(first, last + 1):
                self.x[i][s] = cp.new_bool_var(f"x{i},{s}")
                cp.add(self.x[i][s] == (self.y[i][s] - self.y[i][s - 1] if s > first else self.y[i][s]))
                cp.add_implication(self.x[i][s], self.used[s])
        for a, b in self.line.pairs:
            for s in range(self.windows[b][0], self.windows[a][1]):
                cp.add_implication(self.y[b][s], self.y[a][s])
        for s in stations[1:]:
            cp.add_implication(self.used[s], self.used[s - 1])
        for s in stations[1:]:  # used only up to the last task
            if all(first < s for first, _ in self.windows):
                later = [self.y[i][s - 1].negated() for i, (_, last) in enumerate(self.windows) if last >= s]
                cp.add_bool_or([self.used[s].negated(), *later])

    def _copies(self) -> None:
        """``more[s][k]``: station s has at least k + 2 copies, because a task there is longer than k + 1 takts."""
        self.more: list[list[Any]] = [[] for _ in range(self.m)]
        if self.rules.parallel == 1:
            return
        for s in range(self.m):
            for k in range(1, self.rules.parallel):
                long = [self.x[i][s] for i, t in enumerate(self.times) if t > k * self.room]
                more = self.cp.new_bool_var(f"more{s},{k}")
                for there in long:
                    self.cp.add_implication(there, more)
                self.cp.add_bool_or([more.negated(), *long])
                self.more[s].append(more)

    def _loads(self) -> None:
        self.load = [self.dot(self.times, s) for s in range(self.m)]
        if self.rules.people > 1:
            return  # the time of several people is kept by _people
        for s in range(self.m):
            self.cp.add(self.load[s] <= self.time_at(s))
            if not self.more[s] and isinstance(self.room, int):
                self.cp.add(self.load[s] <= self.room * self.used[s])

    def dot(self, values: Sequence[int], s: int) -> Any:
        """The sum of ``values`` over the tasks at station ``s``."""
        return sum(
            v * self.x[i][s] for i, v in enumerate(values) if v and self.windows[i][0] <= s <= self.windows[i][1]
        )

    def _may_stand(self, task: str, s: int) -> bool:
        first, last = self.windows[self.line.index[task]]
        return first <= s <= last

    def time_at(self, s: int) -> Any:
        """The time that station ``s`` has, copies counted."""
        return self.room + self.room * sum(self.more[s]) if self.more[s] else self.room

    @property
    def count(self) -> Any:
        """Stations, copies counted."""
        return sum(self.used) + sum(more for row in self.more for more in row)

    # -- rules, each named as in KINDS -------------------------------------------------------------------------

    def _fixed(self) -> None:
        for name, allowed in self.rules.fixed.items():
            row = self.x[self.line.index[name]]
            for s in range(self.m):
                if s + 1 not in allowed:
                    self.cp.add(row[s] == 0)

    def _together(self) -> None:
        for group in self.rules.together:
            first = self.y[self.line.index[group[0]]]
            for name in group[1:]:
                for a, b in zip(first, self.y[self.line.index[name]], strict=True):
                    self.cp.add(a == b)

    def _apart(self) -> None:
        for group in self.rules.apart:
            for s in range(self.m):
                self.cp.add_at_most_one(self.x[self.line.index[name]][s] for name in group)

    def _side(self) -> None:
        sides = sorted(set(self.rules.side.values()))
        for s in range(self.m):
            works = {side: self.cp.new_bool_var(f"side{s},{side}") for side in sides}
            self.cp.add_at_most_one(works.values())
            for name, side in self.rules.side.items():
                self.cp.add_implication(self.x[self.line.index[name]][s], works[side])

    def _tools(self) -> None:
        for tool, number in self.rules.tools.items():
            users = [self.line.index[name] for name, tools in self.rules.uses.items() if tool in tools]
            at = [self.cp.new_bool_var(f"tool {tool},{s}") for s in range(self.m)]
            for s in range(self.m):
                for i in users:
                    self.cp.add_implication(self.x[i][s], at[s])
            self.cp.add(sum(at) <= number)

    def _skill(self) -> None:
        crews = self.rules.crews
        self.crew = [{name: self.cp.new_bool_var(f"crew{s},{name}") for name in crews} for s in range(self.m)]
        for s in range(self.m):
            self.cp.add(sum(self.crew[s].values()) == self.used[s])
            for task, skill in self.rules.skill.items():
                if not self._may_stand(task, s):
                    continue
                able = [self.crew[s][name] for name, crew in crews.items() if skill in crew.skills]
                self.cp.add_bool_or([self.x[self.line.index[task]][s].negated(), *able])
        for name, crew in crews.items():
            if crew.people is not None:
                self.cp.add(sum(row[name] for row in self.crew) <= crew.people)

    def _people(self) -> None:
        """Starts on one time axis, a takt per station; no more tasks at once than people."""
        room, end = self.room, self.room * self.m
        self.start = []
        intervals = []
        for i, t in enumerate(self.times):
            within = self.cp.new_int_var(0, room - t, f"within{i}")
            start = self.cp.new_int_var(0, end - t, f"start{i}")
            self.cp.add(start == within + room * sum(s * self.x[i][s] for s in range(self.m)))
            self.start.append(within)
            intervals.append((start, self.cp.new_fixed_size_interval_var(start, t, f"does{i}")))
        self.cp.add_cumulative([v for _, v in intervals], [1] * self.line.n, self.rules.people)
        for a, b in self.line.pairs:
            self.cp.add(intervals[a][0] + self.times[a] <= intervals[b][0])

    def _models(self) -> None:
        assert self.rules.model_times is not None
        assert self.rules.worst_model is not None
        worst = as_fraction(self.rules.worst_model).limit_denominator(1_000_000)
        for row in self.rules.model_times:
            times = [int(t) * worst.denominator for t in row]
            for s in range(self.m):
                self.cp.add(self.dot(times, s) <= worst.numerator * self.time_at(s))

    def _variance(self) -> None:
        """mean + z x spread <= room, squared: the spare time in fine steps, its square against the variance."""
        assert self.rules.variance is not None
        assert self.rules.within is not None
        z = NormalDist().inv_cdf(self.rules.within)
        if z <= 0:
            return
        widest = max(1, self.widest) * self.rules.parallel
        fine = 1 << 20
        while fine > 1024 and (sum(self.times) + widest) * fine > WIDE:
            fine >>= 1
        scale = z * fine / widest / self.unit
        variance = [math.ceil(float(v) * scale * scale) for v in self.rules.variance]
        for s in range(self.m):
            spare = self.cp.new_int_var(0, fine, f"spare{s}")
            square = self.cp.new_int_var(0, fine * fine, f"square{s}")
            self.cp.add(spare * widest + fine * self.load[s] <= fine * self.time_at(s))
            self.cp.add_multiplication_equality(square, [spare, spare])
            self.cp.add(self.dot(variance, s) <= square)

    def _strain(self) -> None:
        assert self.rules.strain is not None
        assert self.rules.strain_limit is not None
        values, limit = in_whole_numbers([float(v) for v in self.rules.strain], self.rules.strain_limit)
        for s in range(self.m):
            self.cp.add(self.dot(values, s) <= limit)

    # -- symmetry and what is moved ----------------------------------------------------------------------------

    def _twins(self) -> None:
        """Of tasks that differ in nothing, the first is never behind the next."""
        rules, line = self.rules, self.line
        if rules.people > 1 or rules.variance is not None or rules.strain is not None or rules.models:
            return
        named = {n for g in (*rules.together, *rules.apart) for n in g}
        for each in (rules.fixed, rules.side, rules.uses, rules.skill, rules.current):
            named |= set(each)
        before: list[list[int]] = [[] for _ in range(line.n)]
        after: list[list[int]] = [[] for _ in range(line.n)]
        for a, b in line.pairs:
            before[b].append(a)
            after[a].append(b)
        last: dict[Any, int] = {}
        for i in range(line.n):
            if line.names[i] in named:
                continue
            kind = (self.times[i], tuple(sorted(before[i])), tuple(sorted(after[i])))
            if kind in last:
                for s in range(self.m):
                    self.cp.add_implication(self.y[i][s], self.y[last[kind]][s])
            last[kind] = i

    @property
    def moved(self) -> Any:
        """How many tasks leave their present station."""
        at = self.rules.current.items()
        return len(at) - sum(self.x[self.line.index[n]][s - 1] for n, s in at if s <= self.m)

    def hint(self, station: np.ndarray[Any, np.dtype[np.int64]]) -> None:
        """Start from a balance known for fewer rules; ``station`` counts from 0."""
        for i, (first, last) in enumerate(self.windows):
            for s in range(first, last + 1):
                self.cp.add_hint(self.x[i][s], bool(station[i] == s))
                if s < last:
                    self.cp.add_hint(self.y[i][s], bool(station[i] <= s))


def in_whole_numbers(values: Sequence[float], limit: float) -> tuple[list[int], int]:
    """Values and their limit as whole numbers: exact where they are short decimals, else rounded to the safe side.

    >>> in_whole_numbers([0.5, 0.25], 1.0)
    ([2, 1], 4)
    """
    exact = [as_fraction(v) for v in values]
    top = as_fraction(limit)
    below = math.lcm(top.denominator, *(v.denominator for v in exact))
    if below < 1 << 40 and sum(exact) * below < WIDE:
        return [int(v * below) for v in exact], int(top * below)
    fine = Fraction(1 << 40) / max(top, Fraction(1, 1 << 40))
    return [math.ceil(v * fine) for v in exact], math.floor(top * fine)
