"""Which work is done where: by the stations of the plan, or by those of its balanced lines where there are any.

Every operation is at one post at least; those without a station share one bench. What can be done at several stations
is told at each.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from linewright.answer.hazards import cautions_at
from linewright.answer.model import Answer
from linewright.base.cautions import Caution


@dataclass(frozen=True, slots=True)
class Post:
    """A place of work: ``operations`` in order (ids), ``people`` by crew where a balance says them.

    ``station`` is its id in the plan, "" for the bench and for a station of a balanced line; then ``line`` names the
    line, ``number`` its place there of ``count``. ``use`` is the share of its time that it is busy at the demand,
    ``load`` and ``takt`` s for one piece (None where no balance says them), ``a_day`` pieces that begin at each
    operation in a working day; nan where they are of a route that is measured and not counted.
    """

    station: str
    operations: tuple[str, ...]
    places: int
    use: float | None
    a_day: tuple[float, ...]
    cautions: tuple[Caution, ...]
    line: str = ""
    number: int = 0
    count: int = 0
    crew: str = ""
    people: int = 0
    load: float | None = None
    takt: float | None = None


def posts(answer: Answer, *, balanced: bool = True) -> tuple[Post, ...]:
    """Every place of work of a plan; with ``balanced`` those of its balanced lines take the place of the stations."""
    shared = tuple(_of_lines(answer)) if balanced else ()
    taken = {operation for post in shared for operation in post.operations}
    return (*shared, *_of_stations(answer, taken))


def full_load(answer: Answer, operation: str) -> dict[str, tuple[float, str]]:
    """What an operation takes for a whole load, by item: amount and unit; empty where pieces go one by one.

    What is taken once a load anyhow is not among it, nor is a choice between items.
    """
    network = answer.network
    at = network.operations.ids.index(operation)
    most = float(network.operations.load_most[at])
    if most <= 1.0 or network.operations.continuous[at]:
        return {}
    index, amounts = network.operations.takes.row(at)
    items = network.items
    return {
        items.ids[i]: (most * each, items.units[i]) for i, each in zip(index.tolist(), amounts.tolist(), strict=True)
    }


def _of_lines(answer: Answer) -> Iterator[Post]:
    for found in answer.balanced.lines if answer.balanced is not None else ():
        for post in found.posts:
            at = tuple(key for o in post.operations for key in _stations(answer, o))
            yield Post(
                "", post.operations, post.copies, post.use, _a_day(answer, post.operations),
                cautions_at(answer.plan, post.operations, at), found.line.name, post.number, found.balance.count,
                post.crew, post.people, post.load, found.balance.takt,
            )  # fmt: skip


def _of_stations(answer: Answer, taken: set[str]) -> Iterator[Post]:
    plan = answer.plan
    at: dict[str, list[str]] = {key: [] for key in (*plan.stations, "")}
    for route in plan.routes.values():
        for operation in route.operations:
            if operation.id not in taken:
                for key in operation.station or ("",):
                    at[key].append(operation.id)
    use = {r.id: r.use for r in answer.capacity.resources if r.kind == "station"}
    for key, found in at.items():
        if found:
            places = plan.stations[key].places if key else 0
            told = cautions_at(plan, found, (key,))
            alone = not any(key in _stations(answer, o) for o in taken)
            yield Post(key, tuple(found), places, use.get(key) if alone else None, _a_day(answer, found), told)


def _stations(answer: Answer, operation: str) -> tuple[str, ...]:
    every = (o for route in answer.plan.routes.values() for o in route.operations if o.id == operation)
    return next(every).station


def _a_day(answer: Answer, operations: tuple[str, ...] | list[str]) -> tuple[float, ...]:
    network = answer.network
    counted = network.items.counted[network.routes.item[network.operations.route]]
    runs = dict(zip(answer.flow.operations, np.where(counted, answer.flow.runs, np.nan), strict=True))
    return tuple(float(runs[operation]) for operation in operations)
