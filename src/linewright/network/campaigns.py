"""Routes that run in campaigns, and work that comes again and again while a load stands, as rows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linewright.network.context import Context
from linewright.network.evaluate import evaluate
from linewright.network.items import ItemFacts, units_of
from linewright.network.model import Durations, Floats, Ints, Links, Operations, Stores
from linewright.network.rows import DurationRows, LinkRows, ints
from linewright.network.times import stretch_of, stretched
from linewright.plan.model import Route


@dataclass(frozen=True, slots=True)
class Campaigns:
    """[n_campaigns] each: ``route`` begins once ``starts`` units of ``item`` are on hand, ends when they are used up.

    It begins with less after ``waits`` ns (0: never).
    """

    route: Ints
    item: Ints
    starts: Floats
    waits: Ints


@dataclass(frozen=True, slots=True)
class Cares:
    """[n_cares] each: work ``every`` ns while a load of ``operation`` stands, for ``time``, by ``crews``."""

    names: tuple[str, ...]
    operation: Ints
    every: Ints
    time: Durations
    crews: Links

    def a_load(self, stand: Floats) -> Floats:
        """[n_cares] how often each comes in a stand of so long (ns, by operation): not again when the stand ends."""
        if not len(self.every):
            return np.zeros(0)
        return np.asarray(np.maximum(np.ceil(stand[self.operation] / self.every - 1e-9) - 1, 0.0))


def compile_campaigns(context: Context, facts: list[ItemFacts], stores: Stores, kept: list[int]) -> Campaigns:
    """The campaigns of the routes."""
    rows: list[tuple[int, int, float, int]] = []
    for number, route in enumerate(context.plan.routes.values()):
        if route.campaign is None:
            continue
        path = f"routes.{route.id}.campaign"
        item = _what(route, path, context)
        if item < 0:
            continue
        starts = units_of(facts[item], route.campaign.starts, f"{path}.starts", context.problems)
        store = kept[item]
        if store >= 0 and starts > float(stores.room[store]) * (1 + 1e-9):
            context.problems.error(
                f"{path}.starts", f"the campaign waits for more than {stores.ids[store]} ever holds",
                value=route.campaign.starts.text, hint="a smaller start, or more room",
            )  # fmt: skip
        waits = route.campaign.waits
        rows.append((number, item, starts, round(waits.value * 1e9) if waits is not None else 0))
    return Campaigns(
        ints([row[0] for row in rows]), ints([row[1] for row in rows]),
        np.array([row[2] for row in rows], dtype=np.float64), ints([row[3] for row in rows]),
    )  # fmt: skip


def _what(route: Route, path: str, context: Context) -> int:
    """The item that a campaign waits for: as written, else the first that is made here or comes in season."""
    campaign = route.campaign
    assert campaign is not None
    taken = [a.item for o in route.operations for a in o.takes if not a.any_of]
    if campaign.item is not None:
        if campaign.item not in taken:
            context.problems.error(f"{path}.item", "no operation of the route takes this", value=campaign.item)
            return -1
        return context.items.get(campaign.item, -1)
    made = {other.gives for other in context.plan.routes.values()} | {i.item for i in context.plan.intake}
    found = next((item for item in taken if item in made), None)
    if found is None:
        context.problems.error(
            path, "nothing that the route takes is made here, so nothing can be waited for", hint="take it out"
        )
        return -1
    return context.items.get(found, -1)


def compile_cares(context: Context, stretches: dict[str, float], operations: Operations) -> Cares:
    """Work during the stands of all operations."""
    names: list[str] = []
    number: list[int] = []
    every: list[int] = []
    times, crews = DurationRows(), LinkRows()
    for route in context.plan.routes.values():
        for position, operation in enumerate(route.operations):
            path = f"routes.{route.id}.operations[{position}]"
            if (operation.during or operation.ullage is not None) and operation.stand is None:
                field = "during" if operation.during else "ullage"
                context.problems.error(f"{path}.{field}", "this operation does not stand", hint="write `stand`")
                continue
            for k, care in enumerate(operation.during):
                crew = dict(care.crew or operation.crew)
                o = context.operations[operation.id]
                here = f"{path}.during[{k}]"
                time = evaluate(care.time, f"{here}.time", context.problems, context.plan.folder)
                if care.every.value >= float(operations.stand.mean[o]) / 1e9 * (1 - 1e-9):
                    context.problems.error(
                        f"{here}.every", f"{care.name} never comes: the stand is shorter", value=care.every.text
                    )
                names.append(care.name)
                number.append(o)
                every.append(round(care.every.value * 1e9))
                times.add(stretched(time, stretch_of(crew, stretches)))
                found = [(context.look_up(context.crews, c, f"{here}.crew", "crew"), float(n)) for c, n in crew.items()]
                crews.add(pair for pair in found if pair[0] >= 0)
    return Cares(tuple(names), ints(number), ints(every), times.done(), crews.done())
