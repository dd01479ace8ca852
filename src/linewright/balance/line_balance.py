"""The balance of a line of a plan: what was asked of it, who stands where, and how its people are used.

``balance_line`` asks; the answer names stations and crews as the plan would, and turns itself into the moves that let
the simulation play it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from linewright.balance.line import Line, Number
from linewright.balance.of_network import PlanLine, line_of
from linewright.balance.result import IMPOSSIBLE, PROVED, Balance, Curve
from linewright.balance.solve import Progress, balance, curve
from linewright.base.problems import Problem, ProblemsError
from linewright.base.results import Shown, Table, plain
from linewright.network.model import Network
from linewright.network.move import Moves
from linewright.plan.paths import join

REACH = 3
"""Stations fewer and more that a trade-off curve shows."""


@dataclass(frozen=True, slots=True)
class Post:
    """One station as a shift leader reads it.

    ``load`` is the time for one piece in s, for each copy, and ``use`` its share of the time that those have who work
    there at once; ``people`` are all who stand at its copies, those counted who only come to help.
    """

    number: int
    id: str
    crew: str
    copies: int
    people: int
    operations: tuple[str, ...]
    load: float
    use: float


@dataclass(frozen=True, slots=True)
class Staff:
    """One crew of the line: ``needed`` people if each stays at a station, ``walking`` if one may serve several stations
    of the crew that fit into a takt together, ``there`` in the plan."""

    crew: str
    stations: int
    needed: int
    walking: int
    there: int


@dataclass(frozen=True)
class LineBalance(Shown):
    """A line of a plan shared over stations. ``curve`` is the trade-off of stations against takt, where it was asked;
    ``crews_there`` are the people of each crew in the plan."""

    line: PlanLine
    balance: Balance
    curve: Curve | None = None
    crews_there: tuple[tuple[str, int], ...] = ()

    @property
    def yes(self) -> bool:
        """False where it is proved that no sharing keeps the takt."""
        return self.balance.honesty.status != IMPOSSIBLE

    @property
    def posts(self) -> tuple[Post, ...]:
        """The stations in order."""
        takt = self.balance.takt or math.inf
        posts = []
        for station in self.balance.stations:
            crew = station.crew or self._crew(station.tasks)
            at_once = max([station.people, *(self.line.people[task] for task in station.tasks)])
            posts.append(
                Post(
                    station.number,
                    f"{self.line.id}_{station.number}",
                    crew,
                    station.copies,
                    station.copies * at_once,
                    station.tasks,
                    station.load,
                    station.load / (takt * station.people),
                )
            )
        return tuple(posts)

    def _crew(self, tasks: Sequence[str]) -> str:
        """Who works at a station where the line asks for no skills: whoever has most of its time."""
        time: dict[str, float] = {}
        for task in tasks:
            time[self.line.crew[task]] = time.get(self.line.crew[task], 0.0) + self.seconds(task)
        return max(time, key=lambda crew: time[crew])

    @property
    def staff(self) -> tuple[Staff, ...]:
        """The people of each crew."""
        there = dict(self.crews_there)
        found = []
        for crew in dict.fromkeys(post.crew for post in self.posts):
            posts = [post for post in self.posts if post.crew == crew]
            needed = sum(post.people for post in posts)
            found.append(Staff(crew, len(posts), needed, _walking(posts), there.get(crew, 0)))
        return tuple(found)

    @property
    def people(self) -> int:
        """Everyone on the line, if each stays at a station."""
        return sum(post.people for post in self.posts)

    @property
    def pace(self) -> float | None:
        """The takt in s that the sharing could keep without variation: when the last station is through."""
        if not self.balance.schedule:
            return self.balance.longest
        return max(placed.start + self.seconds(placed.task) for placed in self.balance.schedule)

    @property
    def labour_efficiency(self) -> float | None:
        """Work of all people over the time they are there: sum of times x people at once / (people x takt)."""
        offered = self.people * (self.balance.takt or 0.0)
        line = self.line.line
        work = sum(line.amount(int(line.times[line.index[name]])) * n for name, n in self.line.people.items())
        return work / offered if offered > 0 else None

    def moves(self) -> Moves:
        """The moves that make the plan like this balance: what ``Network.with_stations`` takes."""
        return Moves(
            station_of={operation: post.id for post in self.posts for operation in post.operations},
            places={post.id: post.copies for post in self.posts},
            people={post.id: {post.crew: post.people} for post in self.posts},
            stays=self.line.stays,
            order=self._sequence(),
        )

    def _sequence(self) -> tuple[str, ...]:
        """All operations of the line, station by station; one that nobody does follows what it comes after."""
        at = {operation: post.number for post in self.posts for operation in post.operations}
        earlier: dict[str, list[str]] = {name: [] for name in self.line.operations}
        for before, after in self.line.order:
            earlier[after].append(before)
        place = {name: k for k, name in enumerate(self.line.operations)}
        done: dict[str, int] = {}
        while len(done) < len(place):
            free = [n for n in place if n not in done and all(before in done for before in earlier[n])]
            reached = {n: at.get(n, max((done[before] for before in earlier[n]), default=0)) for n in free}
            first = min(free, key=lambda n: (reached[n], place[n]))
            done[first] = reached[first]
        return tuple(done)

    def seconds(self, operation: str) -> float:
        """Time of an operation for one piece, in s."""
        return self.line.line.amount(int(self.line.line.times[self.line.line.index[operation]]))

    def to_table(self) -> Table:
        """One row a station."""
        rows = tuple(
            (p.number, p.crew, p.people, ", ".join(p.operations), p.load, 100 * p.use, p.copies) for p in self.posts
        )
        columns = ("station", "crew", "people", "operations", "load [s]", "of takt [%]", "copies")
        return Table(f"Who does what: {self.line.name}", columns, rows, self.balance.sentence)

    def to_dict(self) -> dict[str, Any]:
        """The balance, its posts and people, ready for JSON."""
        return {
            "line": {"id": self.line.id, "name": self.line.name, "pieces_a_day": plain(self.line.pieces)},
            "yes": self.yes,
            **self.balance.to_dict(),
            "posts": plain(self.posts),
            "staff": plain(self.staff),
            "people": self.people,
            "labour_efficiency": plain(self.labour_efficiency),
            "assumptions": list(self.line.assumptions),
            "curve": None if self.curve is None else self.curve.to_dict(),
        }


def _walking(posts: Sequence[Post]) -> int:
    """People enough if one may serve several stations that fit into a takt together: the fullest first, where it fits.

    A first-fit sharing, so an upper bound; stations with several people or copies are not shared.
    """
    alone = sum(post.people for post in posts if post.people > 1)
    free: list[float] = []
    for use in sorted((post.use for post in posts if post.people == 1), reverse=True):
        at = next((k for k, left in enumerate(free) if use <= left + 1e-9), None)
        if at is None:
            free.append(1.0 - use)
        else:
            free[at] -= use
    return alone + len(free)


def balance_line(
    network: Network,
    id: str,
    *,
    runs: Sequence[float] | None = None,
    takt: Number | None = None,
    stations: int | None = None,
    goal: str | None = None,
    smooth: bool = False,
    seconds: float = 10.0,
    seed: int = 0,
    progress: Progress | None = None,
    cancel: Callable[[], bool] | None = None,
) -> LineBalance:
    """Balance a line of a plan. Arguments as for ``balance``; ``takt`` in s.

    Where neither takt nor stations are given, the plan's are taken: the fewest stations for its takt, or, where it says
    how many stations, the smoothest sharing over them. ``smooth`` evens the loads out once the fewest stations are
    found. Raises ProblemsError, each problem at the field of the plan that it is about.
    """
    line = line_of(network, id, runs=runs)
    if takt is None and stations is None:
        takt, stations = line.takt, line.stations
    elif stations is None and goal == "smoothest":
        stations = line.stations
    elif takt is None and (goal == "smoothest" or (smooth and stations is not None)):
        takt = line.takt
    if takt is None and (stations is None or goal in ("fewest", "cheapest", "smoothest")):
        what = "no takt follows from the plan: nothing that the line makes is wanted, or its crews never meet"
        path = f"{join('lines', id)}.takt"
        raise ProblemsError([network.plan.placed(Problem(path, what, expected='takt = "12 min"'))])
    try:
        ask = {"seed": seed, "progress": progress, "cancel": cancel}
        found = _ask(line, takt, stations, goal, smooth, seconds, ask)
    except ProblemsError as wrong:
        raise ProblemsError([network.plan.placed(line.placed(p)) for p in wrong.problems]) from None
    return LineBalance(line, found, crews_there=_there(network, line))


def _ask(
    line: PlanLine,
    takt: Number | None,
    stations: int | None,
    goal: str | None,
    smooth: bool,
    seconds: float,
    ask: dict[str, Any],
) -> Balance:
    first = balance(line.line, takt=takt, stations=stations, goal=goal, seconds=seconds / (2 if smooth else 1), **ask)
    if not smooth or not first.stations or first.goal != "fewest":
        return first
    return evened_out(line.line, first, seconds=seconds / 2, **ask)


def evened_out(line: Line, first: Balance, *, seconds: float, **ask: Any) -> Balance:
    """The fewest stations of ``first``, their loads evened out; ``first`` itself where that cannot be done in time."""
    if line.rules.people > 1 or line.rules.parallel > 1:
        return first  # the general engine evens out neither people nor copies
    assert first.takt is not None
    takt = line.resolution * line.ticks(first.takt)  # a takt as told may have been rounded down to a tick already
    found = balance(line, takt=takt, stations=first.count, goal="smoothest", seconds=seconds, **ask)
    if not found.stations or found.count > first.count:
        return first
    said = f"{first.count} stations are {'proved fewest' if first.honesty.status == PROVED else 'the fewest found'}"
    return replace(found, honesty=replace(found.honesty, notes=(said, *found.honesty.notes)))


def curve_of(
    found: LineBalance, reach: int = REACH, *, seconds: float = 10.0, cancel: Callable[[], bool] | None = None
) -> LineBalance:
    """The same with its trade-off curve: ``reach`` stations fewer and more than it has."""
    rules = found.line.line.rules
    if not found.balance.stations or rules.people > 1 or rules.parallel > 1:
        return found
    count = found.balance.count
    least = max([1, *(min(allowed) for allowed in rules.fixed.values())])
    numbers = range(max(least, count - reach), min(found.line.line.n, count + reach) + 1)
    return replace(found, curve=curve(found.line.line, numbers, seconds=seconds, cancel=cancel))


def _there(network: Network, line: PlanLine) -> tuple[tuple[str, int], ...]:
    crews = dict.fromkeys([*line.crew.values(), *line.line.rules.crews])
    return tuple((crew, max(network.plan.crews[crew].people.values(), default=0)) for crew in crews)
