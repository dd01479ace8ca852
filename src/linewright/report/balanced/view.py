"""A balance as every picture of it needs it, whether it came from a plan or from a file of tasks."""

from __future__ import annotations

from dataclasses import dataclass

from linewright.balance import Balance, Line
from linewright.balance.line_balance import LineBalance
from linewright.base.results import show
from linewright.plan.model import Plan
from linewright.report import words

LONG = 600.0
"""Seconds of takt from which times are said in minutes."""


@dataclass(frozen=True, slots=True)
class Task:
    """One operation of a station: its id, what it is called, and its time in the unit of the view."""

    id: str
    name: str
    time: float


@dataclass(frozen=True, slots=True)
class Station:
    """One station: ``label`` in a few words, who works there, its load, how full it is, its operations in order."""

    number: int
    label: str
    who: str
    load: float
    use: float
    copies: int
    tasks: tuple[Task, ...]


@dataclass(frozen=True, slots=True)
class View:
    """A line: ``unit`` of every time (empty: plain numbers), ``order`` as pairs of task ids."""

    id: str
    title: str
    unit: str
    takt: float
    stations: tuple[Station, ...]
    order: tuple[tuple[str, str], ...]

    def time(self, value: float) -> str:
        """A time as it is said in this view."""
        number = f"{value:,.2f}" if self.unit == "min" else f"{value:,.0f}" if self.unit else show(value)
        return f"{number} {self.unit}".rstrip()


def view_of_line(found: LineBalance, plan: Plan) -> View:
    """The view of a line of a plan: names as the plan writes them."""
    balance, line = found.balance, found.line
    takt = balance.takt or 0.0
    unit, each = ("min", 60.0) if takt >= LONG else ("s", 1.0)
    names = {o.id: words.name_of(o.id, o.name) for route in plan.routes.values() for o in route.operations}
    crews = {key: words.in_sentence(words.name_of(key, crew.name)) for key, crew in plan.crews.items()}
    stations = []
    for post in found.posts:
        tasks = tuple(Task(o, names.get(o, o), found.seconds(o) / each) for o in post.operations)
        crew = crews.get(post.crew, post.crew)
        who = crew if post.people == 1 else f"{crew}, {post.people} people"
        stations.append(
            Station(post.number, f"{post.number} {crew}", who, post.load / each, post.use, post.copies, tasks)
        )
    return View(line.id, line.name, unit, takt / each, tuple(stations), _order(line.line))


def view_of_graph(balance: Balance, line: Line, title: str) -> View:
    """The view of a file of tasks."""
    stations = tuple(
        Station(
            s.number,
            str(s.number),
            s.crew,
            s.load,
            s.load / (balance.takt * s.people) if balance.takt else 0.0,
            s.copies,
            tuple(Task(t, t, line.amount(int(line.times[line.index[t]]))) for t in s.tasks),
        )
        for s in balance.stations
    )
    return View(title, title, balance.unit, balance.takt or 0.0, stations, _order(line))


def _order(line: Line) -> tuple[tuple[str, str], ...]:
    return tuple((line.names[a], line.names[b]) for a, b in line.pairs)
