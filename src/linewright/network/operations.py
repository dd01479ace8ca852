"""The table of operations: every field of an operation as columns, routes in plan order."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from linewright.network.carry import Step
from linewright.network.context import Context
from linewright.network.evaluate import evaluate
from linewright.network.items import ItemFacts, units_of
from linewright.network.loads import pieces_of
from linewright.network.model import (
    DIRECT,
    NOWHERE,
    Choice,
    Cleans,
    Operations,
    Setups,
    Starts,
    Stops,
)
from linewright.network.rows import DurationRows, LinkRows, bools, floats, ints
from linewright.network.times import Times, stretch_of, stretched, times_of
from linewright.plan.model import Amount, Operation, Route

_CLEANS = {"load": Cleans.LOAD, "shift": Cleans.SHIFT, "day": Cleans.DAY, "every": Cleans.EVERY}
_STOPS = {"anywhere": Stops.ANYWHERE, "finish": Stops.FINISH, "fits": Stops.FITS}
_DURATIONS = ("time", "stand", "setup", "clean", "start")
_LINKS = (
    "stations", "crews", "tools", "takes", "takes_per_load", "gives", "loses", "faults",
    "setup_crews", "setup_takes", "clean_crews", "clean_takes",
)  # fmt: skip
_INTS = (
    "route", "position", "each", "dwell", "hands_start", "hands_end", "tends", "waits", "stop", "then_to",
    "setup_when", "clean_when", "start_when",
)  # fmt: skip
_FLOATS = (
    "load_least", "load_most", "per_size", "size_least", "size_most", "pieces_out", "survives", "ullage", "piece_mass",
    "setup_every", "clean_every", "start_scrap",
)  # fmt: skip
_BOOLS = ("continuous", "hands_all", "faults_per_load")


@dataclass(slots=True)
class OperationRows:
    """The columns as they grow."""

    facts: list[ItemFacts]
    stretches: dict[str, float]
    context: Context
    ids: list[str] = field(default_factory=list)
    paths: list[str] = field(default_factory=list)
    columns: dict[str, list[Any]] = field(default_factory=lambda: {name: [] for name in (*_INTS, *_FLOATS, *_BOOLS)})
    durations: dict[str, DurationRows] = field(default_factory=lambda: {name: DurationRows() for name in _DURATIONS})
    links: dict[str, LinkRows] = field(default_factory=lambda: {name: LinkRows() for name in _LINKS})
    choices: list[Choice] = field(default_factory=list)

    def add(self, operation: Operation, step: Step, route: int, position: int, path: str) -> None:
        """Add one operation."""
        context, columns = self.context, self.columns
        self.ids.append(operation.id)
        self.paths.append(path)
        times = times_of(operation, step, path, self.facts, self.stretches, context)
        self.durations["time"].add(times.time)
        self.durations["stand"].add(times.stand)
        load = operation.move.lot if operation.load is None and operation.move is not None else operation.load
        waits = load.waits.value if load is not None and load.waits is not None else 0.0
        survives = operation.yields * self._kept(operation, times, path)
        for name, value in (
            ("route", route), ("position", position), ("each", times.each), ("dwell", times.dwell),
            ("continuous", times.continuous),
            ("hands_all", times.hands_all), ("hands_start", times.hands_start), ("hands_end", times.hands_end),
            ("tends", operation.tends), ("load_least", step.load_least), ("load_most", step.load_most),
            ("per_size", step.sized.per_size), ("size_least", step.sized.least), ("size_most", step.sized.most),
            ("waits", round(waits * 1e9)), ("pieces_out", step.pieces_out), ("survives", survives),
            ("ullage", operation.ullage.value / 1e9 if operation.ullage is not None else 0.0),
            ("piece_mass", step.mass), ("faults_per_load", operation.faults_per == "load"),
            ("stop", int(_STOPS[operation.stop])), ("then_to", self._then_to(operation, path)),
        ):  # fmt: skip
            columns[name].append(value)
        self._resources(operation, path)
        links = self.links
        links["takes"].add(step.takes)
        links["takes_per_load"].add(step.per_load)
        links["gives"].add((i, u) for i, u in step.gives if u > 0 or math.isnan(u))
        links["loses"].add((i, kg) for i, kg in step.loses if kg > 0)
        links["faults"].add((context.faults[name], p) for name, p in operation.faults.items())
        for feed in step.feeds:
            self.choices.append(Choice(len(self.ids) - 1, feed.label, feed.items, feed.units, feed.shares, feed.limits))
        self._check_shares(operation, path)
        self._setup(operation, step, path)
        self._clean(operation, step, path)
        self._start(operation, step, path)

    def _kept(self, operation: Operation, times: Times, path: str) -> float:
        """The share that is left after the mean stand, where it shrinks over time."""
        if operation.ullage is None:
            return 1.0
        lost = operation.ullage.value * times.stand.mean
        if lost >= 1:
            self.context.problems.error(
                f"{path}.ullage", "nothing is left at the end of the stand", value=operation.ullage.text
            )
            return 1.0
        return 1.0 - lost

    def _then_to(self, operation: Operation, path: str) -> int:
        if operation.then_to is None:
            return NOWHERE
        if operation.then_to == "next":
            return DIRECT
        return self.context.look_up(self.context.stores, operation.then_to, f"{path}.then_to", "store")

    def _resources(self, operation: Operation, path: str) -> None:
        """Stations, crews and tools; a move's ``by`` is one of the latter two."""
        context = self.context
        stations, uses = list(operation.station), dict(operation.uses)
        by = operation.move.by if operation.move is not None else None
        if by is not None and by in context.tools:
            uses[by] = uses.get(by, 0) + 1
        elif by is not None:
            stations.append(by)
        rows = [(context.look_up(context.stations, name, f"{path}.station", "station"), 1.0) for name in stations]
        self.links["stations"].add(row for row in rows if row[0] >= 0)
        self.links["crews"].add(self._crew(operation.crew, f"{path}.crew"))
        tools = [(context.look_up(context.tools, n, f"{path}.uses", "tool"), float(c)) for n, c in uses.items()]
        self.links["tools"].add(row for row in tools if row[0] >= 0)

    def _crew(self, crew: Mapping[str, float], path: str) -> list[tuple[int, float]]:
        context = self.context
        found = [(context.look_up(context.crews, name, path, "crew"), float(n)) for name, n in crew.items()]
        for (index, people), name in zip(found, crew, strict=True):
            if index >= 0 and not people > 0:
                context.problems.error(f"{path}.{name}", "an operation needs somebody", value=people)
        return [pair for pair in found if pair[0] >= 0]

    def _check_shares(self, operation: Operation, path: str) -> None:
        problems = self.context.problems
        if not 0 < operation.yields <= 1:
            problems.error(f"{path}.yield", "a yield is above 0 and at most 100 %", value=operation.yields)
        for name, share in operation.faults.items():
            if not 0 <= share <= 1:
                problems.error(f"{path}.faults.{name}", "a fault's share is from 0 to 100 %", value=share)

    def _setup(self, operation: Operation, step: Step, path: str) -> None:
        setup = operation.setup
        if setup is None:
            self._absent("setup")
            return
        crew = setup.crew or operation.crew
        self.columns["setup_when"].append(int(Setups.ITEM_CHANGES if setup.when != "every" else Setups.EVERY))
        if setup.when != "every":
            every = math.inf
        elif setup.every is None:
            every = step.load_most
            self.context.assumptions.append(
                f"{operation.id}: the setup is done before every cycle, as no `every` is written."
            )
        else:
            every = self._pieces(setup.every, step, f"{path}.setup.every")
        self.columns["setup_every"].append(every)
        self._work("setup", setup.time, crew, setup.takes, path)
        if setup.takes and setup.when != "every":
            self.context.problems.error(
                f"{path}.setup.takes", "what a changeover takes is not yet played", hint="write every with it"
            )

    def _clean(self, operation: Operation, step: Step, path: str) -> None:
        clean = operation.clean
        if clean is None:
            self._absent("clean")
            return
        self.columns["clean_when"].append(int(_CLEANS[clean.after]))
        every = math.inf
        if clean.after == "load":
            every = step.load_most
        elif clean.after == "every" and clean.every is not None:
            every = self._pieces(clean.every, step, f"{path}.clean.every")
        elif clean.after == "every":
            self.context.problems.error(f"{path}.clean.every", "how often to clean is not written", expected='"80 hL"')
        self.columns["clean_every"].append(every)
        self._work("clean", clean.time, clean.crew or operation.crew, clean.takes, path)

    def _work(self, kind: str, time: Any, crew: Mapping[str, float], takes: tuple[Amount, ...], path: str) -> None:
        """The time, the people and the parts of a setup or a cleaning."""
        value = evaluate(time, f"{path}.{kind}.time", self.context.problems, self.context.plan.folder)
        self.durations[kind].add(stretched(value, stretch_of(dict(crew), self.stretches)))
        self.links[f"{kind}_crews"].add(self._crew(crew, f"{path}.{kind}.crew"))
        self.links[f"{kind}_takes"].add(self._taken(takes, f"{path}.{kind}.takes"))

    def _absent(self, kind: str) -> None:
        self.columns[f"{kind}_when"].append(0)
        self.columns[f"{kind}_every"].append(math.inf)
        self.durations[kind].add(0.0)
        self.links[f"{kind}_crews"].add(())
        self.links[f"{kind}_takes"].add(())

    def _start(self, operation: Operation, step: Step, path: str) -> None:
        start = operation.start
        when, scrap = Starts.NONE, 0.0
        if start is not None:
            when = Starts.STOP if start.after == "stop" else Starts.SHIFT
            scrap = self._pieces(start.scrap, step, f"{path}.start.scrap") if start.scrap is not None else 0.0
        self.columns["start_when"].append(int(when))
        self.columns["start_scrap"].append(scrap)
        time = start.time if start is not None else None
        self.durations["start"].add(
            evaluate(time, f"{path}.start.time", self.context.problems, self.context.plan.folder)
        )

    def _pieces(self, quantity: Any, step: Step, path: str) -> float:
        pieces = pieces_of(quantity, path, step.mass, step.carried, step.amount, self.facts, self.context)
        if not pieces > 0:
            if pieces <= 0:
                self.context.problems.error(path, "this is above zero", value=quantity.text)
            return math.inf
        return pieces

    def _taken(self, amounts: tuple[Amount, ...], path: str) -> list[tuple[int, float]]:
        pairs = []
        for amount in amounts:
            here = f"{path}.{amount.item}"
            if amount.any_of:
                self.context.problems.error(here, "a choice of items is played only in an operation's takes")
                continue
            if amount.model:
                self.context.problems.error(here, "an amount by model is played only in an operation's takes")
                continue
            index = self.context.look_up(self.context.items, amount.item, here, "item")
            if index >= 0 and amount.quantity is not None:
                pairs.append((index, units_of(self.facts[index], amount.quantity, here, self.context.problems)))
        return pairs

    def done(self, visit: list[int]) -> Operations:
        """The table, frozen."""
        columns: dict[str, Any] = {name: ints(self.columns[name]) for name in _INTS}
        columns |= {name: floats(self.columns[name]) for name in _FLOATS}
        columns |= {name: bools(self.columns[name]) for name in _BOOLS}
        columns |= {name: rows.done() for name, rows in self.durations.items()}
        columns |= {name: rows.done() for name, rows in self.links.items()}
        return Operations(ids=tuple(self.ids), paths=tuple(self.paths), visit=ints(visit), **columns)


def compile_operations(
    context: Context, steps: dict[str, list[Step]], facts: list[ItemFacts], stretches: dict[str, float]
) -> OperationRows:
    """All operations of all routes, routes in plan order."""
    rows = OperationRows(facts, stretches, context)
    for number, route in enumerate(context.plan.routes.values()):
        _add_route(rows, route, steps[route.id], number)
    return rows


def _add_route(rows: OperationRows, route: Route, steps: list[Step], number: int) -> None:
    for position, (operation, step) in enumerate(zip(route.operations, steps, strict=True)):
        rows.add(operation, step, number, position, f"routes.{route.id}.operations[{position}]")
