"""Each operation by itself: its id, its time, its shares, where its rework goes, and circles of ``after``."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from linewright.plan.beside import OutsideError, beside
from linewright.plan.model import Operation, Plan
from linewright.plan.paths import join
from linewright.plan.reading import Reading
from linewright.plan.whole import Placed, reactions_of, times_of


def check_operations(plan: Plan, placed: list[Placed], reading: Reading, document: Mapping[str, Any]) -> None:
    """Note the problems of single operations."""
    _check_ids(document, reading)
    for one in placed:
        _check_time(one, reading)
        _check_shares(one, reading)
        _check_height(one, plan, reading)
    _check_studies(plan, placed, reading)
    _check_rework(plan, placed, reading)
    _check_after(plan, placed, reading)


def _check_ids(document: Mapping[str, Any], reading: Reading) -> None:
    """Ids are looked up in the document, so that an operation that could not be read still counts."""
    seen: dict[str, tuple[str, str]] = {}
    routes = document.get("routes")
    for route, table in routes.items() if isinstance(routes, Mapping) else ():
        rows = table.get("operations") if isinstance(table, Mapping) else None
        for number, row in enumerate(rows if isinstance(rows, list) else ()):
            id = row.get("id") if isinstance(row, Mapping) else None
            if not isinstance(id, str):
                continue
            path = f"{join('routes', route)}.operations[{number}].id"
            if id in seen:
                first, place = seen[id]
                what = f'two operations are called "{id}": the other is in route "{first}" ({place})'
                reading.error(path, what, id, "an id of its own in the whole plan")
            else:
                seen[id] = (route, path.removesuffix(".id"))


def _check_time(one: Placed, reading: Reading) -> None:
    operation, path, row = one.operation, one.path, one.row
    if "time" not in row and operation.hands_on is not None:
        reading.error(f"{path}.hands_on", f"{one.title} has hands-on time but no time", None, "`time`")
    if not row.keys() & {"time", "stand", "move", "setup"}:
        reading.problems.warn(path, f"{one.title} takes no time", hint="write `time` or `stand`")
    hands, time = operation.hands_on, operation.time
    if hands is not None and time is not None and time.fixed is not None and time.each is None:
        total = sum(part.value for part in (hands.start, hands.end) if part is not None)
        if total > time.fixed.value * (1 + 1e-9):
            what = f"{one.title} has more hands-on time than time"
            reading.error(f"{path}.hands_on", what, f"{total:g} s", f"at most {time.fixed.text}")
    if operation.tends > 1 and "crew" not in row:
        reading.error(f"{path}.tends", f"{one.title} has no crew that could tend it", operation.tends, "`crew`")


def _check_shares(one: Placed, reading: Reading) -> None:
    operation = one.operation
    out = [*operation.gives, *operation.loses]
    total = sum(amount.share for amount in out if amount.share is not None)
    field = "gives" if any(a.share is not None for a in operation.gives) else "loses"
    if total > 1 + 1e-9:
        what = f"{one.title} gives and loses {100 * total:.4g} % of what goes in: shares over 100 %"
        reading.error(f"{one.path}.{field}", what, None, "shares that add up to 100 % at most")
    if sum(amount.rest for amount in out) > 2:  # two are told apart by their moisture, in network
        what = f"{one.title} names more than two rests"
        reading.error(f"{one.path}.{field}", what, None, 'one "rest", or two of different moisture')
    _check_twice(operation, one, reading)


def _check_twice(operation: Operation, one: Placed, reading: Reading) -> None:
    names = [amount.item for amount in operation.gives]
    for amount in operation.loses:
        if amount.item in names:
            what = f'{one.title} both gives and loses "{amount.item}"'
            reading.error(join(f"{one.path}.loses", amount.item), what, None, "one of them")


def _check_height(one: Placed, plan: Plan, reading: Reading) -> None:
    operation = one.operation
    if operation.load is None or operation.load.height is None:
        return
    near = [plan.routes[one.route].gives, *(a.item for a in (*operation.takes, *operation.takes_per_load))]
    if not any(plan.items[i].thickness for i in near if i in plan.items):
        what = f"{one.title} loads by height, but neither what it takes nor what it makes has a thickness"
        reading.error(f"{one.path}.load.height", what, operation.load.height.text, "`thickness` of the item")


def _check_studies(plan: Plan, placed: list[Placed], reading: Reading) -> None:
    for path, time in times_of(plan, placed):
        why = why_unread(reading.folder, time.study) if time.study is not None else ""
        if why:
            what = f'a time comes from "{time.study}", and {why}'
            hint = "its path begins at the folder of the plan"
            reading.error(f"{path}.study", what, time.study, "a file of observed times", hint)


def why_unread(folder: Path, name: str) -> str:
    """Why a file named in a plan cannot be read, empty where it can; a name that no file can have is not there."""
    try:
        return "" if beside(folder, name).is_file() else "there is no such file"
    except OutsideError as wrong:
        return str(wrong)
    except (OSError, ValueError):
        return "there is no such file"


def _check_rework(plan: Plan, placed: list[Placed], reading: Reading) -> None:
    where = {one.operation.id: (one.route, number) for number, one in enumerate(placed)}
    for number, one in enumerate(placed):
        for place, reaction in reactions_of(one):
            if reaction.seconds is not None and reaction.seconds == plan.routes[one.route].gives:
                what = f'{one.title} turns a rejected piece into "{reaction.seconds}", which is what the route makes'
                reading.error(f"{place}.seconds", what, reaction.seconds, "another item")
            if reaction.rework is None or reaction.rework not in where:
                continue
            route, target = where[reaction.rework]
            if route != one.route:
                what = f'{one.title} sends pieces back to "{reaction.rework}", which is in route "{route}"'
                reading.error(f"{place}.rework", what, reaction.rework, f'an operation of route "{one.route}"')
            elif target > number:
                what = f'{one.title} sends pieces back to "{reaction.rework}", which comes after it'
                reading.error(f"{place}.rework", what, reaction.rework, "this operation or one before it")


def _check_after(plan: Plan, placed: list[Placed], reading: Reading) -> None:
    before: dict[str, tuple[str, ...]] = {}
    paths = {one.operation.id: one.path for one in placed}
    for route in plan.routes.values():
        above: tuple[str, ...] = ()
        for operation in route.operations:
            before.setdefault(operation.id, above if operation.after is None else operation.after)
            above = (operation.id,)
    for circle in circles(before):
        names = " -> ".join([*circle, circle[0]])
        what = f"these operations wait for each other in a circle: {names}"
        hint = "an operation without `after` comes after the one above it"
        reading.error(f"{paths[circle[0]]}.after", what, None, "an order without a circle", hint)


def circles(before: Mapping[str, tuple[str, ...]]) -> list[list[str]]:
    """One circle from each group of things that wait for each other; each list is in order of waiting.

    >>> circles({"a": ("b",), "b": ("a",), "c": ("a",)})
    [['a', 'b']]
    """
    found: list[list[str]] = []
    state: dict[str, int] = {}  # 1: on the way, 2: done
    for start in before:
        if start in state:
            continue
        way, iterators = [start], [iter(before[start])]
        state[start] = 1
        while way:
            following = next(iterators[-1], None)
            if following is None:
                state[way.pop()] = 2
                iterators.pop()
            elif state.get(following) == 1:
                found.append(way[way.index(following) :])
            elif following not in state and following in before:
                state[following] = 1
                way.append(following)
                iterators.append(iter(before[following]))
    return found
