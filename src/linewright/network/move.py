"""A plan as it would be after a line has been balanced anew: operations at other stations, people who stay at them.

Each function takes a plan and gives another, read anew from a document changed in the same way, so that it can be
changed further. Nothing here knows how a balance is found.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from linewright.base.problems import Problems
from linewright.plan.model import Crew, Demand, Operation, Plan
from linewright.plan.read import read_document

Document = dict[str, Any]
PLAYED = (
    "plan",
    "options",
    "items",
    "routes",
    "stations",
    "stores",
    "tools",
    "carriers",
    "crews",
    "shifts",
    "overhead",
    "utilities",
)
"""The tables that a part of a plan keeps; others speak of the whole."""


@dataclass(frozen=True, slots=True)
class Moves:
    """What changes where a line is balanced anew.

    ``station_of`` maps operation to station. A station not yet there is added with ``places`` of it (one where none is
    said); it takes stoppages, hours and hazards over from where its operations were. Operations that ``stays`` names
    are done by the station's people, but where they are now: at a machine that runs on its own, or where a load gathers
    (one that gathered at the only place of a station would wait there for ever). ``people`` maps a
    station to crew and number: so many leave the crew for good and do whatever is done at the station; where an
    operation asks for more of them at once, so many more do. ``order`` is the order in which operations are done;
    empty: as now.
    """

    station_of: Mapping[str, str]
    places: Mapping[str, int] = field(default_factory=dict)
    people: Mapping[str, Mapping[str, int]] = field(default_factory=dict)
    stays: tuple[str, ...] = ()
    order: tuple[str, ...] = ()


def move_operations(plan: Plan, moves: Moves) -> Plan:
    """A plan with operations at their new stations, and people who stay there.

    Raises KeyError for what does not exist, ProblemsError where the plan cannot be so.
    """
    operations = _operations(plan)
    for name in (*moves.station_of, *moves.order):
        if name not in operations:
            raise KeyError(f'there is no operation "{name}"')
    document = _copied(plan)
    at = {name: station for name, station in moves.station_of.items() if name not in moves.stays}
    stations = document.setdefault("stations", {})
    for station in dict.fromkeys(at.values()):
        if station not in plan.stations:
            here = [operations[name] for name, new in at.items() if new == station]
            stations[station] = {**_inherited(plan, here), "places": moves.places.get(station, 1)}
    for row in _rows(document):
        if row["id"] in at:
            row["station"] = at[row["id"]]
    for station, crews in moves.people.items():
        for crew, number in crews.items():
            rows = [row for row in _rows(document) if moves.station_of.get(row["id"]) == station]
            _man(plan, document, rows, station, crew, number)
    if moves.order:
        _reorder(document, moves.order)
    _forget_machines(document)
    _forget_skills(document)
    return _read(plan, document)


def _forget_machines(document: Document) -> None:
    """Lines keep only those machines that their operations are still at, or use."""
    for line in document.get("lines", {}).values():
        rows = [row for route in _list(line["routes"]) for row in document["routes"][route]["operations"]]
        used = {name for row in rows for name in (*_list(row.get("station", [])), *row.get("uses", {}))}
        if "machines" in line:
            line["machines"] = [name for name in _list(line["machines"]) if name in used]


def _forget_skills(document: Document) -> None:
    """Crews lend nobody to a crew that has gone to its stations as a whole."""
    for crew in document.get("crews", {}).values():
        if "can" in crew:
            crew["can"] = {other: how for other, how in crew["can"].items() if other in document["crews"]}
            if not crew["can"]:
                del crew["can"]


def _reorder(document: Document, order: tuple[str, ...]) -> None:
    """Put the operations of each route in order; what an operation came after so far is written down first."""
    place = {name: k for k, name in enumerate(order)}
    for route in document["routes"].values():
        rows = route["operations"]
        if not all(row["id"] in place for row in rows):
            continue
        for k, row in enumerate(rows):
            row.setdefault("after", [rows[k - 1]["id"]] if k else [])
        route["operations"] = sorted(rows, key=lambda row: place[row["id"]])


def only_routes(plan: Plan, routes: Iterable[str], wanted: Mapping[str, float]) -> Plan:
    """The part of a plan that is made by ``routes``: what other routes make is at hand, whenever and without end.

    ``wanted`` is what the part is asked for instead of the plan's demand: units of an item a working day. Raises
    ProblemsError.
    """
    chosen = set(routes)
    document = _copied(plan)
    document = {kind: part for kind, part in document.items() if kind in PLAYED}
    document["routes"] = {id: route for id, route in document["routes"].items() if id in chosen}
    kept = {row["id"] for row in _rows(document)}
    whole = {id: table for id, table in document.get("carriers", {}).items() if kept >= {*_ends(table)}}
    document["carriers"] = whole  # one that comes from elsewhere, or goes elsewhere, limits nothing here
    made = {plan.routes[id].gives for id in document["routes"]}
    for id, item in document["items"].items():
        if id not in made and "buy" not in item:
            item["free"] = True
    for key in ("makes", "demand"):
        document["plan"].pop(key, None)
    mixes = {one.item: document_mix(one) for one in plan.demand if one.options}
    document["demand"] = [
        {"item": item, "rate": f"{units:.12g} {plan.items[item].unit}/day", **mixes.get(item, {})}
        for item, units in wanted.items()
    ]
    return _read(plan, document)


def document_mix(demand: Demand) -> Document:
    """The mix of a demand as it would be written."""
    return {"options": {option: dict(mix) for option, mix in demand.options.items()}}


def _man(plan: Plan, document: Document, rows: list[Document], station: str, crew: str, number: int) -> None:
    """Move people of a crew to a station: a crew of their own, to which the operations in ``rows`` turn."""
    if crew not in plan.crews:
        raise KeyError(f'there is no crew "{crew}"')
    own = f"{crew}_at_{station}"
    most = 1.0
    for row in rows:
        if row.get("crew"):
            asked = _people(row["crew"])
            lead = crew if crew in asked else next(iter(asked))
            most = max(most, asked[lead])
            row["crew"] = {own if name == lead else name: count for name, count in asked.items()}
    at_once = -int(-most // 1)
    written = document["crews"][crew]
    written["people"], taken = _shared(plan.crews[crew], written["people"], max(number, at_once))
    written.pop("shift", None)
    document["crews"][own] = {**written, "people": taken}
    document["crews"][own].pop("can", None)  # they stay at their station
    if not written["people"] or not _asked_for(document, crew):
        del document["crews"][crew]


def _shared(crew: Crew, people: Any, number: int) -> tuple[dict[str, int], dict[str, int]]:
    """People of a crew by shift, left and taken: ``number`` are taken on the largest shift, alike on the others."""
    now = people if isinstance(people, dict) else dict(crew.people)
    most = max(now.values(), default=0)
    taken = {shift: min(number, max(1, round(number * count / most))) for shift, count in now.items()}
    return {shift: max(1, count - taken[shift]) for shift, count in now.items()}, taken


def _people(written: Any) -> dict[str, float]:
    return {written: 1.0} if isinstance(written, str) else dict(written)


def _asked_for(document: Document, crew: str) -> bool:
    """Whether anything in a plan still asks for a crew."""
    rows = [*_rows(document), *document.get("stations", {}).values()]
    return any(_names(part, crew) for row in rows for part in row.values())


def _names(part: Any, crew: str) -> bool:
    """Whether a crew is named anywhere in a part of the document as a word of its own."""
    if isinstance(part, Mapping):
        return crew in part or any(_names(value, crew) for value in part.values())
    if isinstance(part, list):
        return any(_names(value, crew) for value in part)
    return bool(part == crew)


def _inherited(plan: Plan, operations: list[Operation]) -> Document:
    """What a new station takes over from the stations where its operations were."""
    written = plan.document.get("stations", {})
    old = [written[name] for name in dict.fromkeys(o.station[0] for o in operations if o.station) if name in written]
    table: Document = {}
    stoppages: list[Any] = []
    for station in old:
        stoppages += station.get("stoppages", [])
        if "between_stops" in station:
            stoppages.append({"name": "stoppage", "between": station["between_stops"], "repair": station.get("repair")})
    for key in ("hours", "hazards"):
        lists = [_list(station.get(key, [])) for station in old]
        if any(lists) and (key == "hazards" or all(lists)):  # hours of its own only where every one has them
            table[key] = list(dict.fromkeys(word for words in lists for word in words))
    if stoppages:
        table["stoppages"] = stoppages
    return table


def _ends(carrier: Document) -> list[str]:
    """The operations that a carrier names."""
    return [*_list(carrier["from"]), *_list(carrier["to"])]


def _list(part: Any) -> list[Any]:
    return part if isinstance(part, list) else [part]


def _operations(plan: Plan) -> dict[str, Operation]:
    return {operation.id: operation for route in plan.routes.values() for operation in route.operations}


def _rows(document: Document) -> Iterable[Document]:
    for route in document["routes"].values():
        yield from route["operations"]


def _copied(plan: Plan) -> Document:
    """A plan's document, copied down to every table that is changed here."""
    document: Document = {kind: _copy(part) for kind, part in plan.document.items()}
    for route in document.get("routes", {}).values():
        route["operations"] = [dict(row) for row in route["operations"]]
    return document


def _copy(part: Any) -> Any:
    if not isinstance(part, Mapping):
        return part
    return {key: dict(value) if isinstance(value, Mapping) else value for key, value in part.items()}


def _read(plan: Plan, document: Document) -> Plan:
    problems = Problems()
    new = read_document(document, Path(plan.folder), problems)
    problems.raise_errors()
    assert new is not None  # a plan without errors is made
    return replace(new, places=plan.places)
