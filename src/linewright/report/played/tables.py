"""The tables of a simulation, in a person's words, each number with its interval where there is room for it."""

from __future__ import annotations

import math

from linewright.answer.model import Answer
from linewright.base.nouns import plural
from linewright.base.results import Interval, Table, show, show_interval
from linewright.base.units import BASE
from linewright.network.clumps import clumps_of
from linewright.report import tables, words
from linewright.report.good.tables import of_million
from linewright.simulate import Simulation

BUSY = ("working", "standing", "setting up", "down")
"""States in which a place is taken up by the work itself or by its stoppages."""


def runs(answer: Answer) -> list[tuple[str, Simulation]]:
    """What was simulated, with a name for each way of letting work in."""
    played = answer.simulation
    if played is None:
        return []
    first = played.as_planned.release
    named = [(f"as planned ({first})" if played.flat_out is not None else first, played.as_planned)]
    return named + ([("flat out", played.flat_out)] if played.flat_out is not None else [])


def outcome(answer: Answer) -> Table:
    """Rates against demand and bound, open pieces, and time in the plant, for every way of letting work in."""
    found = runs(answer)
    names = tables.item_names(answer)
    rows: list[tuple[object, ...]] = []
    for k, item in enumerate(found[0][1].items if found else ()):
        what = plural(names.get(item, item))
        limit = next((w.rate for w in answer.capacity.wanted if w.item == item), math.inf)
        rows.append((f"{what} a day", *(show_interval(run.rates[k]) for _, run in found)))
        rows.append(("asked for", *(show(float(run.demand[k])) for _, run in found)))
        rows.append(("at most, by the bounds", *(show(limit) for _ in found)))
    rows.append(("open pieces", *(show_interval(run.work_in_progress) for _, run in found)))
    rows.append(("time in the plant, on average", *(time_of(run.time_in_plant) for _, run in found)))
    for q, level in enumerate(found[0][1].quantile_levels if found else ()):
        rows.append((f"{_of_pieces(level)} are through in", *(tail_of(run.quantiles[q]) for _, run in found)))
    rows.append(("weeks simulated", *(f"{run.weeks}, {run.warm_up_weeks} of them warm-up" for _, run in found)))
    rows.append(("replications", *(run.honesty.replications for _, run in found)))
    note = (
        "Means with the half-width of their 95 % interval, over independent replications. "
        "Time in the plant counts nights and weekends, on the product's own route; the time of its parts on theirs "
        "comes before it."
    )
    return Table("What the simulation shows", ("", *(name for name, _ in found)), tuple(rows), note)


def time_of(interval: Interval) -> str:
    """A time in s with its half-width, in the unit in which a person says it; what flows is not told piece by piece."""
    if not math.isfinite(interval.mean):
        return "no piece to tell it by"
    factor, unit = words.step_of(interval.mean)
    return f"{show_interval(Interval(interval.mean / factor, interval.half_width / factor))} {unit}"


VAGUE = 0.5
"""A tail whose half-width is a greater part of it than this is told by its upper end."""


def tail_of(interval: Interval) -> str:
    """A time within which so many are through; one that few replications spread widely is told as what it is at most.

    >>> tail_of(Interval(5 * 3600.0, 12 * 3600.0)), tail_of(Interval(5 * 3600.0, 1800.0))
    ('17 h at most', '5.0 ± 0.5 h')
    """
    if not _vague(interval):
        return time_of(interval)
    if not math.isfinite(interval.half_width):
        return f"about {words.seconds(interval.mean)}"
    return f"{words.seconds(interval.high)} at most"


def _vague(interval: Interval) -> bool:
    return math.isfinite(interval.mean) and interval.half_width > VAGUE * interval.mean


def _own_route(answer: Answer) -> str:
    """Says that the parts' own time is not in it, where the plan makes parts."""
    return ", on its own route" if len(answer.network.routes.ids) > len(answer.capacity.wanted) else ""


def time_through(answer: Answer) -> str:
    """Time in the plant: simulated where it was, else the estimate of the closed formula."""
    if answer.simulation is not None:
        run = answer.simulation.as_planned
        if not math.isfinite(run.time_in_plant.mean):
            return time_of(run.time_in_plant)
        tail = next((q for level, q in zip(run.quantile_levels, run.quantiles, strict=True) if level == 0.9), None)
        within = f", nine of ten within {tail_of(tail)}" if tail is not None else ""
        said = f"{time_of(run.time_in_plant)} on average{within}, nights counted{_own_route(answer)}"
        if tail is not None and _vague(tail):
            return f"{said}; too few weeks were played to say closer"
        if tail is not None and tail.high < run.time_in_plant.low:
            return f"{said}; the slowest tenth makes the average that long"
        return said
    if answer.capacity.lead_time is None:
        return "without end: more is let in than gets through"
    return f"about {words.seconds(3600 * answer.capacity.lead_time)} of open time, waiting included (an estimate)"


def _of_pieces(level: float) -> str:
    return {0.5: "half of the pieces", 0.9: "nine of ten", 0.95: "nineteen of twenty"}.get(level, f"{level:.0%}")


def busy_share(run: Simulation, station: int) -> float:
    """The share of all time in which the places of a station are taken up by the work itself or a stoppage."""
    return float(run.state_share.mean[station, [run.states.index(state) for state in BUSY]].sum())


def attended(run: Simulation) -> list[tuple[int, float]]:
    """Stations (index, share of all time that is not unmanned) that do anything, the busiest first."""
    unmanned = run.states.index("unmanned")
    found = []
    for s in range(len(run.stations)):
        there = 1.0 - float(run.state_share.mean[s, unmanned])
        if there > 1e-9:
            found.append((busy_share(run, s) / there, s, there))
    return [(s, there) for share, s, there in sorted(found, key=lambda row: (-row[0], row[1])) if share > 0]


def states(answer: Answer, run: Simulation) -> Table:
    """What the places of each station do, in percent of the time that somebody is there or they run alone."""
    shown = [k for k, state in enumerate(run.states) if state != "unmanned"]
    rows = tuple(
        (
            station_name(answer, run.stations[s]),
            *(_percent(float(run.state_share.mean[s, k]) / there) for k in shown),
        )
        for s, there in attended(run)
    )
    widest = max((float(run.state_share.half_width[s].max()) / there for s, there in attended(run)), default=0.0)
    sure = _sure_to(widest, run.honesty.replications or 1)
    note = f"In percent of the time that somebody who works there is in, or that it runs alone.{sure}"
    columns = ("station", *(run.states[k] for k in shown))
    return tables.without_empty(Table("What the stations do, simulated", columns, rows, note))


VAGUE_SHARE = 0.1
"""A half-width above this part of the time says nothing of a share of it."""


def _sure_to(widest: float, replications: int) -> str:
    """How sure the shares are; that they are not, where too few replications were played."""
    if widest <= VAGUE_SHARE:
        return f" Each is sure to {100 * widest:.1f} points or better."
    few = "one replication" if replications == 1 else f"{replications} replications"
    return f" Means of {few}, which are too few to tell how far they are off."


def crews(answer: Answer, run: Simulation) -> Table:
    """How much of their time the people work, simulated, beside what the loads at the demand say."""
    loads = {r.id: r for r in answer.capacity.resources if r.kind == "crew"}
    rows = [
        (name, loads[crew].count if crew in loads else None, _points(run.crew_use.interval(k)),
         f"{100 * loads[crew].use:.0f} %" if crew in loads else "", float(run.crew_use.mean[k]))
        for k, crew in enumerate(run.crews)
        for name in (crew_name(answer, crew),)
    ]  # fmt: skip
    rows.sort(key=lambda row: -float(row[4] or 0))
    columns = ("crew", "people", "at work, simulated", "by loads at the demand")
    return Table("How busy the people are, simulated", columns, tuple(row[:4] for row in rows))


def standing_in(answer: Answer, run: Simulation) -> Table:
    """Who did another crew's work, and for how long."""
    plan = answer.plan
    rows = [
        (crew_name(answer, who), crew_name(answer, whose), skill.people, f"{100 * skill.pace:.0f} %",
         show_interval(run.lent.interval(k)))
        for k, (who, whose) in enumerate(run.lends)
        for skill in (plan.crews[who].can[whose],)
    ]  # fmt: skip
    columns = ("crew", "does work of", "people who can", "pace", "hours a working day, simulated")
    return Table("Who stood in for whom", columns, tuple(rows))


def stores(answer: Answer, run: Simulation) -> Table:
    """How full the declared stores are."""
    plan = answer.plan
    rows = []
    for k, key in enumerate(run.stores):
        known = plan.stores.get(key)
        unit = BASE.get(known.room.dimension, "") if known is not None else ""
        room = float(answer.network.stores.room[k])
        amounts = (show(room), show_interval(run.store_level.interval(k)), show(float(run.store_most[k])))
        name = words.name_of(key, known.name if known is not None else "")
        full = float(run.store_level.mean[k]) / room if 0 < room < math.inf else math.nan
        rows.append((name, *(f"{a} {unit}".strip() for a in amounts), "" if math.isnan(full) else words.share(full)))
    columns = ("store", "room", "content on average", "most seen", "full")
    return Table("How full the stores are, simulated", columns, tuple(rows))


def on_hand(answer: Answer, run: Simulation, most: int = 12) -> Table:
    """Parts made here that wait for their user outside a declared store, the largest number of days' use first."""
    names = tables.item_names(answer)
    flow, in_store = answer.flow, _stored(answer)
    rows = []
    for k, item in enumerate(run.all_items):
        level, used = float(run.stock.mean[k]), float(flow.used[k])
        if level > 0.005 and used > 0 and k not in in_store and item not in run.items:
            rows.append((names.get(item, item), show_interval(run.stock.interval(k)), flow.units[k], level / used))
    rows.sort(key=lambda row: -row[3])
    shown = tuple((*row[:3], f"{row[3]:.2g}") for row in rows[:most])
    return Table("Parts on hand, simulated", ("part", "on hand", "unit", "days of use"), shown)


def _stored(answer: Answer) -> set[int]:
    """Items that wait in a declared store, by the item or by the last step of its route."""
    network = answer.network
    after = network.operations.then_to[network.routes.last]
    return {
        *(k for k, store in enumerate(network.item_store.tolist()) if store >= 0),
        *network.routes.item[after >= 0].tolist(),
    }


def escaped(answer: Answer, run: Simulation) -> Table:
    """Of a million delivered units, those that carry each fault: counted in the simulation, beside the computed."""
    names = tables.item_names(answer)
    network, several = answer.network, len({e.item for e in run.escapes}) > 1
    computed = {(network.items.ids[e.item], network.faults[e.fault]): e.share for e in answer.flow.escapes}
    rows = []
    for e in run.escapes:
        fault = e.fault or "any of them"
        told = f"{names.get(e.item, e.item)}: {fault}" if several else fault
        million = Interval(1e6 * e.share.mean, 1e6 * e.share.half_width)
        share = computed.get((e.item, e.fault), 0.0)
        rows.append((told, of_million(1e6 * share) if e.fault else "", show_interval(million)))
    note = (
        "Counted are the units that left the plant after the warm-up; after none at all the half-width still says how "
        "many there may be."
    )
    if clumps_of(network).of_items:
        note += (
            " Where a load is spoilt as a whole, the computed share has its pieces go into their users in the order in "
            "which they were made, and out of full loads; where places or rework mix them, more users carry the fault."
        )
    return Table(
        "Faults that reach the customer, of a million delivered", ("fault", "computed", "counted"), tuple(rows), note
    )


def lost(answer: Answer, run: Simulation, most: int = 12) -> Table:
    """Pieces scrapped and sent back, simulated, beside what the balance expects at the demand."""
    names = tables.operation_names(answer)
    expected = answer.flow.scrapped()
    rows = [
        (names.get(o, o), show_interval(run.scrapped.interval(k)), float(expected[k]),
         show_interval(run.reworked.interval(k)), float(run.scrapped.mean[k] + run.reworked.mean[k]))
        for k, o in enumerate(run.operations)
        if run.scrapped.mean[k] + run.reworked.mean[k] > 0
    ]  # fmt: skip
    rows.sort(key=lambda row: -float(row[4]))
    columns = ("operation", "scrapped a day", "scrap expected", "sent back a day")
    return Table("Scrap and rework, simulated", columns, tuple(row[:4] for row in rows[:most]))


def station_name(answer: Answer, key: str) -> str:
    """A station as its author calls it."""
    known = answer.plan.stations.get(key)
    return words.name_of(key, known.name if known is not None else "")


def crew_name(answer: Answer, key: str) -> str:
    """A crew as its author calls it."""
    known = answer.plan.crews.get(key)
    return words.name_of(key, known.name if known is not None else "")


def _points(share: Interval) -> str:
    return f"{show_interval(Interval(100 * share.mean, 100 * share.half_width))} %"


def _percent(share: float) -> str:
    return "" if share < 5e-4 else f"{100 * share:.0f}" if share >= 0.0095 else f"{100 * share:.1f}"
