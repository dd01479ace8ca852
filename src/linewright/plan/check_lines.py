"""Lines: groups and ties name operations of the line's own routes, and do not contradict each other."""

from __future__ import annotations

from linewright.plan.model import Line, Plan
from linewright.plan.paths import join
from linewright.plan.reading import Reading


def check_lines(plan: Plan, reading: Reading) -> None:
    """Note the problems of lines."""
    for id, line in plan.lines.items():
        path = join("lines", id)
        own = {o.id for route in line.routes if route in plan.routes for o in plan.routes[route].operations}
        for place, operation in _named(line, path):
            if operation not in own:
                what = f'line "{id}" has no operation "{operation}": it is in another route'
                reading.error(place, what, operation, "an operation of the routes of the line")
        for number, group in enumerate(line.apart):
            tied = [pair for pair in line.together if len(set(pair) & set(group)) > 1]
            if tied:
                names = ", ".join(sorted(set(tied[0]) & set(group)))
                what = f'line "{id}" wants {names} both together and apart'
                reading.error(f"{path}.apart[{number}]", what, list(group), "one of the two")
        if line.stations is not None:
            for operation, station in line.fixed.items():
                if station > line.stations:
                    what = f'line "{id}" has {line.stations} stations'
                    place = join(f"{path}.fixed", operation)
                    reading.error(place, what, station, f"a station from 1 to {line.stations}")


def _named(line: Line, path: str) -> list[tuple[str, str]]:
    """Place and id of every operation that a line names."""
    named = [(join(f"{path}.fixed", o), o) for o in line.fixed]
    named += [(join(f"{path}.sides", o), o) for o in line.sides]
    for field, groups in (("together", line.together), ("apart", line.apart)):
        for number, group in enumerate(groups):
            named += [(f"{path}.{field}[{number}][{k}]", o) for k, o in enumerate(group)]
    return named
