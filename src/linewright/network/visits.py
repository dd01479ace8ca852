"""Visits: consecutive operations of a route at one station hold one place from first to last."""

from __future__ import annotations

from linewright.network.carry import Step
from linewright.network.context import Context
from linewright.network.model import NOWHERE, Visits
from linewright.network.rows import ints
from linewright.plan.model import Operation


def compile_visits(context: Context, steps: dict[str, list[Step]]) -> tuple[Visits, list[int]]:
    """The visits, and the visit of every operation.

    A visit ends where the station changes, where the piece goes to a store, and where one counted piece becomes
    several. An operation without a station happens at a bench and is a visit of its own.
    """
    first: list[int] = []
    last: list[int] = []
    station: list[int] = []
    visit: list[int] = []
    for route in context.plan.routes.values():
        before: Operation | None = None
        split = False
        for position, operation in enumerate(route.operations):
            here = places(operation, context)
            goes_on = (
                before is not None
                and here != ()
                and here == places(before, context)
                and before.then_to in (None, "next")
                and not split
            )
            if goes_on:
                last[-1] = len(visit)
            else:
                first.append(len(visit))
                last.append(len(visit))
                station.append(context.stations.get(here[0], NOWHERE) if here else NOWHERE)
            visit.append(len(first) - 1)
            before = operation
            split = steps[route.id][position].pieces_out != 1.0 and position + 1 < len(route.operations)
    return Visits(ints(first), ints(last), ints(station)), visit


def places(operation: Operation, context: Context) -> tuple[str, ...]:
    """The stations an operation may use, a move's station included."""
    by = operation.move.by if operation.move is not None else None
    return (*operation.station, by) if by is not None and by in context.stations else operation.station
