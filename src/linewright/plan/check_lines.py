"""Lines: what they name belongs to their own routes, and does not contradict itself."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from linewright.plan.model import Line, Operation, Plan
from linewright.plan.paths import join
from linewright.plan.reading import Reading


def check_lines(plan: Plan, reading: Reading) -> None:
    """Note the problems of lines."""
    for id, line in plan.lines.items():
        path = join("lines", id)
        own = {o.id: o for route in line.routes if route in plan.routes for o in plan.routes[route].operations}
        for place, operation in _named(line, path):
            if operation not in own:
                what = f'line "{id}" has no operation "{operation}": it is in another route'
                reading.error(place, what, operation, "an operation of the routes of the line")
        _check_groups(line, path, reading)
        _check_numbers(line, path, reading)
        _check_zones(line, path, own, reading)
        _check_machines(line, path, own, reading)
        _check_skills(plan, line, path, own, reading)
        _check_limits(line, path, reading)


def _check_groups(line: Line, path: str, reading: Reading) -> None:
    for number, group in enumerate(line.apart):
        tied = [pair for pair in line.together if len(set(pair) & set(group)) > 1]
        if tied:
            names = ", ".join(sorted(set(tied[0]) & set(group)))
            what = f'line "{line.id}" wants {names} both together and apart'
            reading.error(f"{path}.apart[{number}]", what, list(group), "one of the two")


def _check_numbers(line: Line, path: str, reading: Reading) -> None:
    """Station numbers lie within the line, where it says how many stations it has."""
    if line.stations is None:
        return
    numbered: list[tuple[str, Mapping[str, tuple[int, ...]]]] = [("fixed", line.fixed), ("zones", line.zones)]
    if isinstance(line.current, Mapping):
        numbered.append(("current", {name: (number,) for name, number in line.current.items()}))
    for field, table in numbered:
        for name, numbers in table.items():
            if numbers and min(numbers) > line.stations:
                what = f'line "{line.id}" has {line.stations} stations'
                place = join(f"{path}.{field}", name)
                reading.error(place, what, min(numbers), f"a station from 1 to {line.stations}")


def _check_zones(line: Line, path: str, own: Mapping[str, Operation], reading: Reading) -> None:
    known = {o.zone for o in own.values() if o.zone}
    for zone in line.zones:
        if own and zone not in known:
            what = f'no operation of line "{line.id}" is in zone "{zone}"'
            reading.error(
                join(f"{path}.zones", zone), what, zone, "a zone that an operation names", reading.near(zone, known)
            )


def _check_machines(line: Line, path: str, own: Mapping[str, Operation], reading: Reading) -> None:
    used = {name for o in own.values() for name in (*o.station, *o.uses)}
    for number, machine in enumerate(line.machines):
        if own and machine not in used:
            what = f'no operation of line "{line.id}" is at "{machine}" or uses it'
            hint = reading.near(machine, used)
            reading.error(f"{path}.machines[{number}]", what, machine, "a station or tool of its operations", hint)


def _check_skills(plan: Plan, line: Line, path: str, own: Mapping[str, Operation], reading: Reading) -> None:
    known = {o.skill for o in own.values() if o.skill} | set(plan.crews)
    for crew, skills in line.skills.items():
        for number, skill in enumerate(skills):
            if own and skill not in known:
                what = f'no operation of line "{line.id}" needs "{skill}", and no crew is called so'
                place = f"{join(f'{path}.skills', crew)}[{number}]"
                reading.error(place, what, skill, "a skill of an operation, or a crew", reading.near(skill, known))


def _check_limits(line: Line, path: str, reading: Reading) -> None:
    if line.within is not None and not 0.5 <= line.within < 1:
        what = "a probability from 50 % to below 100 %"
        reading.error(f"{path}.within", what, f"{100 * line.within:g} %", 'such as "95 %"')
    if bool(line.strain) != (line.strain_limit is not None):
        missing = "strain_limit" if line.strain else "strain"
        reading.error(f"{path}.{missing}", "`strain` and `strain_limit` belong together", None, f"`{missing}`")


def _named(line: Line, path: str) -> Iterator[tuple[str, str]]:
    """Place and id of every operation that a line names."""
    tables: list[tuple[str, Mapping[str, object]]] = [
        ("fixed", line.fixed),
        ("sides", line.sides),
        ("strain", line.strain),
    ]
    if isinstance(line.current, Mapping):
        tables.append(("current", line.current))
    for field, table in tables:
        yield from ((join(f"{path}.{field}", operation), operation) for operation in table)
    for field, groups in (("together", line.together), ("apart", line.apart)):
        for number, group in enumerate(groups):
            yield from ((f"{path}.{field}[{number}][{k}]", operation) for k, operation in enumerate(group))
