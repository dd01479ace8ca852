"""Ideas about what there is: places, people, tools, rooms, stoppages, breaks, and crews that learn second jobs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from linewright.base.nouns import plural
from linewright.improve.edits import more_of, scaled, value_at
from linewright.improve.ideas import Ideas
from linewright.improve.pressure import MOST_RELIEF
from linewright.improve.second_jobs import think_of_second_jobs
from linewright.plan.called import called
from linewright.plan.model import Shift, Station
from linewright.plan.paths import join

MONEY = "the price of it is not in the plan; only its running cost is counted"


def think_of_resources(ideas: Ideas) -> None:
    """Gather every idea about stations, crews, tools and stores."""
    _places(ideas)
    _people(ideas)
    _manned_places(ideas)
    _tools(ideas)
    _carriers(ideas)
    _rooms(ideas)
    _stoppages(ideas)
    _breaks(ideas)
    think_of_second_jobs(ideas)


def _places(ideas: Ideas) -> None:
    for s, station in enumerate(ideas.plan.stations.values()):
        promise = float(ideas.pressure.station[s]) * _relief(station.places)
        for more, change in _one_more(station):
            ideas.add(
                "place",
                (station.id,),
                f"one more {more} at {called(station)}",
                change,
                promise,
                MONEY,
            )


def _one_more(station: Station) -> list[tuple[str, dict[str, int]]]:
    """One more place of a station, or one more vessel of each of its sizes: in words and as a change of the plan."""
    path = join("stations", station.id)
    if not station.sizes:
        return [("place", {f"{path}.places": station.places + 1})]
    return [(f"vessel of {size.text}", {join(f"{path}.sizes", size.text): n + 1}) for size, n in station.sizes]


def _relief(count: int) -> float:
    """The part of the hours that one more takes off each of so many."""
    return min(1 / (count + 1), MOST_RELIEF)


def _people(ideas: Ideas) -> None:
    for c, crew in enumerate(ideas.plan.crews.values()):
        path = f"{join('crews', crew.id)}.people"
        by_shift = isinstance(value_at(ideas.plan.document, path), Mapping)
        for shift, people in crew.people.items():
            more = float(ideas.pressure.crew[c]) * _relief(people)
            promise = max(more, float(ideas.pressure.wait_for_crew[c])) / len(crew.people)
            where = join(path, shift) if by_shift else path
            at = f" on the {shift.replace('_', ' ')} shift" if len(crew.people) > 1 else ""
            ideas.add(
                "person",
                (crew.id, shift),
                f"one more {called(crew)}{at}",
                {where: people + 1},
                promise,
            )


def _manned_places(ideas: Ideas) -> None:
    """One more place with one more person to work it, for a machine and its people may limit alike."""
    stations, crews, p = list(ideas.plan.stations.values()), list(ideas.plan.crews.values()), ideas.network.operations
    pairs = {(int(s), int(c)) for o in range(len(p.ids)) for s in p.stations.row(o)[0] for c in p.crews.row(o)[0]}
    for s, c in sorted(pairs):
        station, crew = stations[s], crews[c]
        path = f"{join('crews', crew.id)}.people"
        by_shift = isinstance(value_at(ideas.plan.document, path), Mapping)
        people = {shift: n + 1 for shift, n in crew.people.items()}
        relief = min(_relief(station.places), _relief(max(crew.people.values())))
        waiting = max(float(ideas.pressure.crew[c]), float(ideas.pressure.wait_for_crew[c]))
        place, change = _one_more(station)[-1]
        what = f"one more {place} at {called(station)} with one more {called(crew)}"
        what += " on every shift" if len(people) > 1 else ""
        after = {**change, path: people if by_shift else sum(people.values())}
        promise = min(float(ideas.pressure.station[s]), waiting) * relief
        ideas.add("place", (station.id, crew.id), what, after, promise, MONEY)


def _tools(ideas: Ideas) -> None:
    for t, tool in enumerate(ideas.plan.tools.values()):
        promise = max(float(ideas.pressure.tool[t]) * _relief(tool.count), float(ideas.pressure.wait_for_tool[t]))
        path = f"{join('tools', tool.id)}.count"
        ideas.add("tool", (tool.id,), f"one more {called(tool)}", {path: tool.count + 1}, promise, MONEY)


def _carriers(ideas: Ideas) -> None:
    """A quarter more of every kind; where the number is written by size, of that size."""
    carriers = ideas.network.carriers
    for carrier in ideas.plan.carriers.values():
        kinds = [k for k, id in enumerate(carriers.ids) if id == carrier.id or id.startswith(f"{carrier.id} [")]
        if not kinds:
            continue
        path = f"{join('carriers', carrier.id)}.count"
        before = value_at(ideas.plan.document, path)
        promise = max(float(ideas.pressure.carrier[k]) for k in kinds) * MOST_RELIEF
        if isinstance(before, Mapping):
            after: object = _each_entry(before, lambda count: more_of(count, 0.25))
            by = before["by"] if isinstance(before["by"], str) else " and ".join(before["by"])
            what = f"a quarter more {plural(called(carrier))} of every {by}"
        else:
            after = more_of(before, 0.25)
            what = f"{after} instead of {before} {plural(called(carrier))}"
        ideas.add("carriers", (carrier.id,), what, {path: after}, promise, MONEY)


def _rooms(ideas: Ideas) -> None:
    for k, store in enumerate(ideas.plan.stores.values()):
        path = f"{join('stores', store.id)}.room"
        before = value_at(ideas.plan.document, path)
        pressure = float(ideas.pressure.store[k])
        rooms = [before + 1] if isinstance(before, int) else []
        for room in dict.fromkeys([*rooms, more_of(before, 0.25)]):
            if room is None:
                ideas.leave_out(f"more room in {called(store)}: how it is written cannot be made larger")
                continue
            part = 1 / (before + 1) if rooms and room == before + 1 else 0.25
            what = f"room for {room} instead of {before} in {called(store)}"
            ideas.add("room", (store.id,), what, {path: room}, pressure * part, MONEY)


def _stoppages(ideas: Ideas) -> None:
    """Half as often, or mended in half the time."""
    network, stations = ideas.network, list(ideas.plan.stations.values())
    for k, name in enumerate(network.stoppages.names):
        s = int(network.stoppages.station[k])
        station = stations[s]
        between, repair = float(network.stoppages.between.mean[k]), float(network.stoppages.repair.mean[k])
        promise = float(ideas.pressure.station[s]) * 0.5 * repair / max(between + repair, 1.0)
        base = join("stations", station.id)
        number = [q for q in range(len(network.stoppages.names)) if network.stoppages.station[q] == s].index(k)
        table = ideas.plan.document["stations"][station.id]
        if "between_stops" in table:
            number -= 1
        often, long = (
            (f"{base}.between_stops", f"{base}.repair")
            if number < 0
            else (f"{base}.stoppages[{number}].between", f"{base}.stoppages[{number}].repair")
        )
        said = called(station) if number < 0 else f"{called(station)} ({name})"
        for path, factor, what in (
            (often, 2.0, f"stoppages of {said} half as often"),
            (long, 0.5, f"stoppages of {said} mended in half the time"),
        ):
            after = longer(value_at(ideas.plan.document, path), factor)
            if after is None:
                ideas.leave_out(f"{what}: the time is not written as a number")
            else:
                ideas.add("stoppages", (station.id, name), what, {path: after}, promise)


def _each_entry(written: Mapping[str, Any], change: Callable[[Any], Any]) -> dict[str, Any] | None:
    """A table by an option, or by two, with every entry changed; None where one of them cannot be."""
    two = not isinstance(written["by"], str) and len(written["by"]) > 1

    def changed(part: Any, depth: int) -> Any:
        return {key: changed(one, depth - 1) for key, one in part.items()} if depth else change(part)

    table = changed(written["table"], 2 if two else 1)
    rows = table.values() if two else [table]
    other = {"else": change(written["else"])} if "else" in written else {}
    if None in other.values() or any(None in row.values() for row in rows):
        return None
    return {"by": written["by"], "table": table, **other}


def longer(time: object, factor: float) -> Any:
    """A time as written, in every form that is numbers, times a factor; None for a study or a model of physics.

    >>> longer({"mean": "5 min", "cv": 0.2}, 0.9), longer("4 min", 0.9), longer({"rate": "3 t/h"}, 0.5)
    ({'mean': '4.5 min', 'cv': 0.2}, '3.6 min', {'rate': '6 t/h'})
    """
    if not isinstance(time, Mapping):
        return scaled(time, factor)
    if "by" in time:
        return _each_entry(time, lambda one: longer(one, factor))
    after = dict(time)
    for key in ("fixed", "each", "mean", "least", "likely", "most"):
        if key in after:
            after[key] = scaled(after[key], factor)
    if "rate" in after:
        after["rate"] = scaled(after["rate"], 1 / factor)
    return None if None in after.values() or after == dict(time) or "study" in after else after


def _breaks(ideas: Ideas) -> None:
    """Half of a crew, or where it is one person all of it, takes its breaks when the others are back."""
    plan = ideas.plan
    for c, crew in enumerate(plan.crews.values()):
        for name, people in crew.people.items():
            shift = plan.shifts[name]
            together = people > 1 or any(name in other.people for other in plan.crews.values() if other.id != crew.id)
            later = _later_breaks(shift)
            if not together or later is None:
                continue
            new = f"{name}_{crew.id}_later"
            half = people // 2 if people > 1 else 1
            lost = sum((b - a) % 1440 for a, b in shift.breaks) / sum((b - a) % 1440 for a, b in shift.hours)
            who = f"{half} of {people} {plural(called(crew))}" if people > 1 else called(crew)
            left = {s: n for s, n in crew.people.items() if s != name} | (
                {name: people - half} if people > half else {}
            )
            pressed = max(ideas.pressure.crew[c], ideas.pressure.served[c])
            base = join("crews", crew.id)
            after: dict[str, object] = {
                join("shifts", new): {**plan.document["shifts"][name], "breaks": later},
                f"{base}.shift": None,
                f"{base}.people": left | {new: half},
            }
            for station in plan.stations.values():
                if name in station.hours:
                    after[f"{join('stations', station.id)}.hours"] = [*station.hours, new]
            what = f"{who} on the {name.replace('_', ' ')} shift take{'s' if half == 1 else ''} breaks after the others"
            ideas.add("breaks", (crew.id, name), what, after, float(pressed) * lost / 4)


def _later_breaks(shift: Shift) -> list[str] | None:
    """Each break later by its own length; None where there is none, or one would leave the hours or meet the next."""
    later = [(b, b + (b - a) % 1440) for a, b in shift.breaks]
    spans = [(a, b if b > a else b + 1440) for a, b in shift.hours]
    ends = [a for a, _ in shift.breaks[1:]]
    if not later or any(end > nxt for (_, end), nxt in zip(later, ends, strict=False)):
        return None
    if any(b > 1440 or not any(begin <= a and b < end for begin, end in spans) for a, b in later):
        return None
    return [f"{a // 60:02d}:{a % 60:02d}-{b // 60:02d}:{b % 60:02d}" for a, b in later]
