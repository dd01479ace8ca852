"""Windows as rows: open time, flash-off and the like, from the end of one operation to the start of another."""

from __future__ import annotations

from linewright.base.calendar import NS
from linewright.base.distributions import Shape
from linewright.network.carry import Step
from linewright.network.checks import reject_of
from linewright.network.context import Context
from linewright.network.model import Durations, Operations, Windows
from linewright.network.rows import ints
from linewright.plan.model import Route


def compile_windows(context: Context, steps: dict[str, list[Step]], operations: Operations) -> Windows:
    """All windows of all routes; one that can never be met is a problem."""
    after, operation, least, most, rejects = [], [], [], [], []
    for route in context.plan.routes.values():
        positions = {o.id: p for p, o in enumerate(route.operations)}
        for position, one in enumerate(route.operations):
            if one.wait is None or one.wait.after not in positions:
                continue
            path = f"routes.{route.id}.operations[{position}].wait"
            begins = positions[one.wait.after]
            after.append(context.operations[one.wait.after])
            operation.append(context.operations[one.id])
            least.append(round(one.wait.least.value * NS) if one.wait.least is not None else 0)
            most.append(round(one.wait.most.value * NS) if one.wait.most is not None else 0)
            rejects.append(
                reject_of(one.wait.otherwise, route, begins, positions, steps[route.id], f"{path}.else", context)
            )
            if most[-1]:
                _can_be_met(context, route, begins, position, operations, most[-1], path)
    return Windows(ints(after), ints(operation), ints(least), ints(most), tuple(rejects))


def _can_be_met(
    context: Context, route: Route, begins: int, ends: int, operations: Operations, most: int, path: str
) -> None:
    """What lies between surely takes no longer than the window is open."""
    between = [context.operations[o.id] for o in route.operations[begins + 1 : ends]]
    spans = {route.operations[begins + 1 + k].id: _shortest(operations, o) for k, o in enumerate(between)}
    total = sum(spans.values())
    if total > most:
        named = ", ".join(f'"{id}"' for id, span in spans.items() if span > 0)
        last, first = route.operations[ends], route.operations[begins]
        what = (
            f'the window of "{last.id}" can never be met: between it and "{first.id}" lies {named} with '
            f"{total / NS / 60:g} min at least, and it closes after {most / NS / 60:g} min"
        )
        context.problems.error(
            f"{path}.most", what, value=last.wait.most.text,  # type: ignore[union-attr]
            expected=f"more than {total / NS / 60:g} min", hint="a longer window, or `after` a later operation",
        )  # fmt: skip


def _shortest(operations: Operations, o: int) -> float:
    return _least(operations.time, o) + float(operations.each[o]) + _least(operations.stand, o)


def _least(durations: Durations, row: int) -> float:
    """The shortest that a time can be, in ns."""
    shape = int(durations.shape[row])
    return float(durations.parameters[row][0]) if shape in (Shape.FIXED, Shape.TRIANGULAR, Shape.UNIFORM) else 0.0
