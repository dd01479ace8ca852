"""Stations with their stoppages, stores and tools as tables."""

from __future__ import annotations

import math

from linewright.base.calendar import Calendar
from linewright.base.distributions import Shape, spread
from linewright.network.context import Context
from linewright.network.evaluate import evaluate
from linewright.network.items import ItemFacts
from linewright.network.model import NOWHERE, Stations, Stoppages, Stores, Tools, Utilities
from linewright.network.people import station_calendar
from linewright.network.rows import DurationRows, LinkRows, bools, floats, ints
from linewright.plan.model import Station


def compile_stations(context: Context, calendars: list[Calendar]) -> Stations:
    """The stations; those with hours of their own add a calendar."""
    stations = list(context.plan.stations.values())
    calendar: list[int] = []
    for station in stations:
        path = f"stations.{station.id}"
        if station.places < 1:
            context.problems.error(f"{path}.places", "a station has at least one place", value=station.places)
        hours = station_calendar(station.hours, path, context)
        if hours is None:
            calendar.append(NOWHERE)
        else:
            calendar.append(len(calendars))
            calendars.append(hours)
    power = [_kilowatts(station, context) for station in stations]
    rate = [s.machine_rate.value * 3600.0 if s.machine_rate is not None else math.nan for s in stations]
    return Stations(
        ids=tuple(context.plan.stations),
        places=ints([s.places for s in stations]),
        calendar=ints(calendar),
        machine_rate=floats(rate),
        running=floats([p[0] for p in power]),
        idle=floats([p[1] for p in power]),
        holding=floats([p[2] for p in power]),
        utility=ints([p[3] for p in power]),
        sizes=tuple(tuple((size.value, count) for size, count in s.sizes) for s in stations),
        size_names=tuple(tuple(size.text for size, _ in s.sizes) for s in stations),
    )


def _kilowatts(station: Station, context: Context) -> tuple[float, float, float, int]:
    """What one place draws running, idle and holding, and of which utility; NOWHERE where it draws nothing."""
    power = station.power
    if power is None:
        return 0.0, 0.0, 0.0, NOWHERE
    idle = power.idle.value if power.idle is not None else 0.0
    holding = power.holding.value if power.holding is not None else idle
    names = list(context.plan.utilities)
    path = f"stations.{station.id}.power"
    if power.of is not None:
        of = context.look_up({name: k for k, name in enumerate(names)}, power.of, f"{path}.of", "utility")
    elif len(names) == 1:
        of = 0
    else:
        what = "no utility is declared" if not names else "there are several utilities"
        hint = '[utilities.electricity] with price = "0.24 EUR/kWh"' if not names else f'of = "{names[0]}"'
        context.problems.error(path, f"what this runs on is not said: {what}", hint=hint)
        of = NOWHERE
    return power.running.value, idle, holding, of


def compile_utilities(context: Context) -> Utilities:
    """What stations run on."""
    price = [u.price.value if u.price is not None else math.nan for u in context.plan.utilities.values()]
    return Utilities(tuple(context.plan.utilities), floats(price))


def compile_stoppages(context: Context) -> Stoppages:
    """Every named stoppage of every station; a plain time between stops is read as exponential."""
    names: list[str] = []
    station: list[int] = []
    clock: list[bool] = []
    between, repair, crews = DurationRows(), DurationRows(), LinkRows()
    for number, owner in enumerate(context.plan.stations.values()):
        for k, stoppage in enumerate(owner.stoppages):
            path = f"stations.{owner.id}.stoppages[{k}]"
            time = evaluate(stoppage.between, f"{path}.between", context.problems, context.plan.folder)
            if time.mean <= 0:
                context.problems.error(f"{path}.between", "the time between stoppages is above zero")
            elif time.is_fixed:
                time = spread(time.mean, 1.0, Shape.EXPONENTIAL)
            names.append(stoppage.name)
            station.append(number)
            clock.append(stoppage.clock == "calendar")
            between.add(time)
            repair.add(evaluate(stoppage.repair, f"{path}.repair", context.problems, context.plan.folder))
            crews.add(_crew(stoppage.crew, path, context))
    return Stoppages(tuple(names), ints(station), between.done(), repair.done(), bools(clock), crews.done())


def _crew(crew: object, path: str, context: Context) -> list[tuple[int, float]]:
    assert hasattr(crew, "items")
    pairs = [
        (context.look_up(context.crews, name, f"{path}.crew", "crew"), float(people)) for name, people in crew.items()
    ]
    return [pair for pair in pairs if pair[0] >= 0]


def compile_stores(context: Context, facts: list[ItemFacts]) -> tuple[Stores, list[int]]:
    """The stores, and the store of every item (NOWHERE: unlimited)."""
    stores = list(context.plan.stores.values())
    for store in stores:
        if not store.room.value > 0:
            context.problems.error(f"stores.{store.id}.room", "a store holds more than nothing", value=store.room.text)
    kept = [
        context.look_up(context.stores, item.store, f"items.{item.id}.store", "store")
        if item.store is not None
        else NOWHERE
        for item in context.plan.items.values()
    ]
    room = [store.room.value for store in stores]
    for held, fact in zip(kept, facts, strict=True):
        if held < 0:
            continue
        written = stores[held].room
        if written.dimension == "mass" and fact.dimension != "mass" and fact.mass > 0:
            room[held] = written.value / fact.mass  # a room by mass for what is held in another unit
        elif written.dimension not in ("number", "count", fact.dimension):
            context.problems.error(
                f"stores.{stores[held].id}.room",
                f"the room is a {written.dimension}, and {fact.id} is a {fact.dimension}",
                value=written.text,
            )
    return Stores(tuple(context.plan.stores), floats(room)), kept


def compile_tools(context: Context) -> Tools:
    """The shared tools."""
    tools = list(context.plan.tools.values())
    for tool in tools:
        if tool.count < 1:
            context.problems.error(f"tools.{tool.id}.count", "there is at least one of a tool", value=tool.count)
    return Tools(tuple(context.plan.tools), ints([tool.count for tool in tools]))
