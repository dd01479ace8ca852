"""Walking over a plan: its operations with their paths, and what each takes and gives."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from linewright.plan.model import Amount, Duration, Operation, Plan, Reaction
from linewright.plan.paths import join


@dataclass(frozen=True, slots=True)
class Placed:
    """An operation, its route, its path (numbered as in the document), and its table as written."""

    operation: Operation
    route: str
    path: str
    row: Mapping[str, Any]

    @property
    def title(self) -> str:
        """The operation as a problem names it."""
        return f'operation "{self.operation.id}" of route "{self.route}"'


def operations_of(plan: Plan, document: Mapping[str, Any]) -> list[Placed]:
    """Every operation that could be read, in order; rows that could not be read keep their number."""
    placed = []
    for route in plan.routes.values():
        path = f"{join('routes', route.id)}.operations"
        rows = list(enumerate(document["routes"][route.id]["operations"]))
        at = 0
        for operation in route.operations:
            while not (isinstance(rows[at][1], Mapping) and rows[at][1].get("id") == operation.id):
                at += 1  # a row that could not be read
            number, row = rows[at]
            placed.append(Placed(operation, route.id, f"{path}[{number}]", row))
            at += 1
    return placed


def tables_of(document: Mapping[str, Any], kind: str) -> Iterator[Mapping[str, Any]]:
    """The tables of one kind as written, those of the wrong form left out."""
    tables = document.get(kind)
    for table in tables.values() if isinstance(tables, Mapping) else ():
        if isinstance(table, Mapping):
            yield table


def rows_of(document: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    """Every operation as written, those of the wrong form left out."""
    for route in tables_of(document, "routes"):
        rows = route.get("operations")
        for row in rows if isinstance(rows, list) else ():
            if isinstance(row, Mapping):
                yield row


def wanted_of(document: Mapping[str, Any]) -> set[str]:
    """The items that are wanted, as written in [plan] and [[demand]]."""
    header, rows = document.get("plan"), document.get("demand")
    named = [header.get("makes")] if isinstance(header, Mapping) else []
    named += [row.get("item") for row in rows if isinstance(row, Mapping)] if isinstance(rows, list) else []
    return {name for name in named if isinstance(name, str)}


def takes_of(operation: Operation) -> Iterator[Amount]:
    """Everything that an operation uses up, setups and cleaning included."""
    yield from operation.takes
    yield from operation.takes_per_load
    yield from operation.setup.takes if operation.setup else ()
    yield from operation.clean.takes if operation.clean else ()


def items_of(amount: Amount) -> tuple[str, ...]:
    """The items that an amount may draw on."""
    return amount.any_of or (amount.item,)


def reactions_of(one: Placed) -> Iterator[tuple[str, Reaction]]:
    """Path and reaction, for each reaction of the check and of the window of an operation, chains included."""
    if one.operation.wait is not None:
        yield from _chain(f"{one.path}.wait.else", one.operation.wait.otherwise)
    if one.operation.check is None:
        return
    check = one.row.get("check")
    then = check.get("then") if isinstance(check, Mapping) else None
    for fault, first in one.operation.check.then.items():
        several = isinstance(then, Mapping) and fault in then
        path = join(f"{one.path}.check.then", fault) if several else f"{one.path}.check.then"
        yield from _chain(path, first)


def _chain(path: str, first: Reaction) -> Iterator[tuple[str, Reaction]]:
    reaction: Reaction | None = first
    while reaction is not None:
        yield path, reaction
        path, reaction = f"{path}.else", reaction.otherwise


def times_of(plan: Plan, placed: list[Placed]) -> Iterator[tuple[str, Duration]]:
    """Path and time, for every time that a plan holds."""
    for one in placed:
        operation = one.operation
        parts = {"setup": operation.setup, "clean": operation.clean, "start": operation.start, "move": operation.move}
        times = {"time": operation.time, "stand": operation.stand}
        times |= {f"{name}.time": part.time for name, part in parts.items() if part is not None}
        yield from ((f"{one.path}.{field}", time) for field, time in times.items() if time is not None)
    for station in plan.stations.values():
        for number, stoppage in enumerate(station.stoppages):
            path = f"{join('stations', station.id)}.stoppages[{number}]"
            yield f"{path}.between", stoppage.between
            yield f"{path}.repair", stoppage.repair
    for carrier in plan.carriers.values():
        path = join("carriers", carrier.id)
        spans = (("way_back", carrier.way_back), ("between_losses", carrier.between_losses), ("repair", carrier.repair))
        yield from ((f"{path}.{field}", time) for field, time in spans if time is not None)


def crews_of(operation: Operation) -> Iterator[tuple[str, Mapping[str, float]]]:
    """Path below the operation and crew, for each crew that an operation names."""
    if operation.crew:
        yield "crew", operation.crew
    if operation.setup and operation.setup.crew:
        yield "setup.crew", operation.setup.crew
    if operation.clean and operation.clean.crew:
        yield "clean.crew", operation.clean.crew
