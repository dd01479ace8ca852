"""Ideas about how the work is done: time, variation, setups, loads, move lots and faults of operations."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from linewright.base.calendar import HOUR
from linewright.improve.edits import more_of, scaled, value_at
from linewright.improve.ideas import Ideas
from linewright.improve.resources import longer
from linewright.network.model import Ints, Setups
from linewright.plan.called import called
from linewright.plan.model import Operation
from linewright.plan.paths import join

LESS = 0.9
"""10 % less of it."""


def think_of_steps(ideas: Ideas) -> None:
    """Gather every idea about operations."""
    number = 0
    for route in ideas.plan.routes.values():
        for operation in route.operations:
            path = f"{join('routes', route.id)}.operations[{operation.id}]"
            _times(ideas, operation, number, path)
            _setups(ideas, operation, number, path)
            _faults(ideas, operation, path)
            number += 1
    _loads(ideas)
    _lots(ideas)


def _written(ideas: Ideas, path: str) -> Any:
    return value_at(ideas.plan.document, path)


def _times(ideas: Ideas, operation: Operation, o: int, path: str) -> None:
    """10 % less time, standing or variation."""
    worth = ideas.pressure.of_operation(o)
    p = ideas.network.operations
    whole = float(p.time.mean[o] + p.each[o] * p.load_most[o] + p.stand.mean[o])
    for word, where in (("time", f"{path}.time"), ("time", f"{path}.move.time"), ("standing", f"{path}.stand")):
        before = _written(ideas, where)
        if before is None:
            continue
        part = float(p.stand.mean[o]) / whole if word == "standing" and whole > 0 else 1.0
        after = longer(before, LESS)
        if after is None:
            form = "a study" if isinstance(before, Mapping) and "study" in before else "a model of physics"
            ideas.leave_out(
                f"less {word} at {called(operation)}: it follows from {form}; change that, or write it as a number"
            )
        else:
            hands = {f"{path}.hands_on": h} if word == "time" and (h := _hands(ideas, path)) is not None else {}
            what = f"10 % less {word} at {called(operation)}"
            ideas.add("time", (operation.id,), what, {where: after, **hands}, 0.1 * worth * part)
        calmer = _calmer(before)
        if calmer is not None:
            spread = p.stand if word == "standing" else p.time
            cv2 = float(spread.variance[o] / max(spread.mean[o], 1.0) ** 2)
            what = f"10 % less variation at {called(operation)}"
            ideas.add("variation", (operation.id,), what, {where: calmer}, 0.05 * cv2 * worth * part)


def _hands(ideas: Ideas, path: str) -> Any:
    """The hands-on part made shorter with its time."""
    before = _written(ideas, f"{path}.hands_on")
    if isinstance(before, Mapping):
        return {key: scaled(part, LESS) for key, part in before.items()}
    return scaled(before, LESS) if before is not None else None


def _calmer(time: object) -> Any:
    """A time with the same mean and 10 % less standard deviation; None where none is written.

    >>> _calmer({"mean": "5 min", "cv": 0.2})
    {'mean': '5 min', 'cv': 0.18}
    """
    if not isinstance(time, Mapping):
        return None
    if time.get("cv"):
        return {**time, "cv": scaled(time["cv"], LESS)}
    if "least" not in time or "rate" in time:
        return None
    from linewright.base.units import read_quantity

    ends = [read_quantity(time[key], ["time"]).value for key in ("least", "likely", "most")]
    mean = sum(ends) / 3
    drawn = dict(zip(("least", "likely", "most"), (f"{mean + LESS * (e - mean):.6g} s" for e in ends), strict=True))
    return {**time, **drawn}


def _setups(ideas: Ideas, operation: Operation, o: int, path: str) -> None:
    """Half the time of setups, cleaning and start-up."""
    p, pressure = ideas.network.operations, ideas.pressure
    sides = (("setup", "setup", p.setup), ("cleaning", "clean", p.clean), ("start-up", "start", p.start))
    for word, key, took in sides:
        before = _written(ideas, f"{path}.{key}")
        if before is None or not (took.mean[o] > 0 or (isinstance(before, Mapping) and "table" in before)):
            continue
        after = _half(before)
        what = f"half the {word} at {called(operation)}"
        if after is None:
            ideas.leave_out(f"{what}: its time is not written as a number")
            continue
        lost = _lost(ideas, o, word)
        stations = p.stations.row(o)[0]
        worth = float(pressure.station[stations].max(initial=0.0)) if len(stations) else pressure.of_operation(o)
        ideas.add("setup", (operation.id,), what, {f"{path}.{key}": after}, 0.5 * lost * worth)


def _lost(ideas: Ideas, o: int, word: str) -> float:
    """About which part of the station's hours goes into it: 5 % for a start-up or what is done by shift."""
    p = ideas.network.operations
    cycle = float(p.time.mean[o] + p.each[o] * p.load_most[o] + p.stand.mean[o]) / max(float(p.load_most[o]), 1.0)
    time, every = (p.setup.mean[o], p.setup_every[o]) if word == "setup" else (p.clean.mean[o], p.clean_every[o])
    if word == "start-up" or not np.isfinite(every):
        return 0.05
    a_piece = float(time) / max(float(every), 1.0)
    return a_piece / max(a_piece + cycle, 1e-9 * HOUR)


def _half(value: object) -> Any:
    if not isinstance(value, Mapping):
        return longer(value, 0.5)
    after = dict(value)
    if "time" not in value and "table" not in value:
        return longer(value, 0.5)
    if "time" in value:
        after["time"] = longer(value["time"], 0.5)
    if "table" in value:
        after["table"] = {a: {b: scaled(t, 0.5) for b, t in row.items()} for a, row in value["table"].items()}
    return None if after.get("time", "") is None else after


def _faults(ideas: Ideas, operation: Operation, path: str) -> None:
    """Half of each fault, and half of what a yield loses."""
    most = ideas.pressure.most
    for fault, chance in operation.faults.items():
        if f"faults.{fault}" in operation.by_option:
            ideas.leave_out(f"less {fault} at {called(operation)}: it is told by an option; change its table")
            continue
        where = join(f"{path}.faults", fault)
        half = scaled(_written(ideas, where), 0.5)
        what = f"half as many with {fault} at {called(operation)}"
        ideas.add("faults", (operation.id, fault), what, {where: half}, 0.5 * chance * most)
    if operation.yields < 1 and "yields" not in operation.by_option:
        better = f"{100 * (1 + operation.yields) / 2:.6g} %"
        what = f"half the loss at {called(operation)}"
        ideas.add("faults", (operation.id,), what, {f"{path}.yield": better}, 0.5 * (1 - operation.yields) * most)


def _loads(ideas: Ideas) -> None:
    """Another load, for all operations of a visit that have one; another lot of a transport."""
    p, visits = ideas.network.operations, ideas.network.visits
    operations = [(route.id, o) for route in ideas.plan.routes.values() for o in route.operations]
    assumes = "the station holds so much, and a cycle takes what the plan says for any load"
    for v in range(len(visits.first)):
        group = range(int(visits.first[v]), int(visits.last[v]) + 1)
        for lot in (False, True):
            loaded = [operations[o] for o in group]
            loaded = [(route, o) for route, o in loaded if (_has_lot(o) if lot else _has_load(o))]
            paths = [
                f"{join('routes', route)}.operations[{o.id}].{'move.lot' if lot else 'load'}" for route, o in loaded
            ]
            worth = max(ideas.pressure.of_operation(o) for o in group)
            first = loaded[0][1].id if loaded else ""
            for part in (0.25, -0.5):
                after = {path: _other_load(_written(ideas, path), part) for path in paths}
                if not after or None in after.values() or float(p.load_most[list(group)].max()) * (1 + part) < 1:
                    continue
                now, then = _size(_written(ideas, paths[0])), _size(after[paths[0]])
                what = f"a {'move lot' if lot else 'load'} of {then} instead of {now} at {called(loaded[0][1])}"
                promise = (0.2 if part > 0 else 0.02) * worth
                ideas.add("move lot" if lot else "load", (first,), what, after, promise, "" if lot else assumes)


def _lots(ideas: Ideas) -> None:
    """Another lot where stations change over from item to item; a first one where none is written."""
    p, routes = ideas.network.operations, ideas.network.routes
    assumes = "what is made ahead can wait somewhere"
    for r, route in enumerate(ideas.plan.routes.values()):
        own = np.flatnonzero((p.route == r) & (p.setup_when == Setups.ITEM_CHANGES))
        if not len(own):
            continue
        path = f"{join('routes', route.id)}.lot"
        now = _written(ideas, path)
        if now is not None:
            sizes = [more_of(now, 1.0), more_of(now, -0.5)]
        elif ideas.network.items.counted[routes.item[r]]:
            sizes = [_first_lot(ideas, own)]
        else:
            continue
        worth = max(ideas.pressure.of_operation(int(o)) for o in own)
        for size in sizes:
            was = f"instead of {now}" if now is not None else "instead of one by one"
            what = f"{called(route)} in lots of {size} {was}"
            ideas.add("lot", (route.id,), what, {path: size}, 0.2 * worth, assumes)


def _first_lot(ideas: Ideas, own: Ints) -> int:
    """So many that the longest changeover takes a tenth of the time of the lot; from 2 to 100."""
    p = ideas.network.operations
    each = np.maximum((p.time.mean + p.each * p.load_most + p.stand.mean)[own] / np.maximum(p.load_most[own], 1.0), 1.0)
    return int(np.clip(np.ceil((p.setup.mean[own] / (0.1 * each)).max()), 2, 100))


def _has_lot(operation: Operation) -> bool:
    return operation.move is not None and operation.move.lot is not None


def _has_load(operation: Operation) -> bool:
    return operation.load is not None and operation.move is None


def _size(load: object) -> object:
    return load.get("most", load.get("height")) if isinstance(load, Mapping) else load


def _other_load(load: object, part: float) -> Any:
    """A load as written, larger or smaller by a part; its least no more than its most."""
    if not isinstance(load, Mapping):
        return None if load == 1 and part < 0 else more_of(load, part)
    after = dict(load)
    for key in ("most", "height") if part > 0 else ("least", "most", "height"):
        if key in after:
            after[key] = more_of(after[key], part)
    return None if None in after.values() else after
