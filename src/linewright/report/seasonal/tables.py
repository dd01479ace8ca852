"""Tables of a season: the bound beside what was played, what limits it, and the weeks of both."""

from __future__ import annotations

from linewright.answer.model import Answer
from linewright.answer.seasonal import amount_called
from linewright.base.results import Interval, Table, Told, show_interval
from linewright.report import tables
from linewright.report.words import listed, name_of
from linewright.season.tanks_model import Choice


def named(answer: Answer, thing: str) -> str:
    """An item, or a station with what follows its comma, as people call it."""
    plan = answer.plan
    first, comma, rest = thing.partition(",")
    known = plan.items.get(first) or plan.stations.get(first) or plan.crews.get(first) or plan.stores.get(first)
    said = known.name if known is not None else tables.operation_names(answer).get(first, "")
    said = said or name_of(first)
    return f"{said}{comma}{rest}"


def outcome(answer: Answer) -> Table:
    """What is finished, at most and as it was played; what of the harvest spoils and is left."""
    season, run = answer.season, answer.season_run
    assert season is not None
    rows: list[tuple[object, ...]] = []
    for k, (item, unit) in enumerate(zip(season.products, season.units, strict=True)):
        played = run.finished[k] if run is not None else None
        rows.append((f"{named(answer, item)} finished", unit, season.most[k], _said(played)))
        rows += _variants(answer, item)
    if season.potential is not None and season.wanted is None:
        first = named(answer, season.limits_item)
        rows.append((f"the harvest would give ({first} is used up first)", season.units[0], season.potential, ""))
    if season.wanted is not None:
        rows += [
            (f"{named(answer, i)} wanted", unit, wanted, "")
            for i, unit, wanted in zip(season.products, season.units, season.wanted, strict=True)
        ]
    for k, (item, unit) in enumerate(zip(season.harvest, season.harvest_units, strict=True)):
        rows.append((f"{named(answer, item)} delivered", unit, season.came[k], ""))
        spoiled = run.spoiled.interval(k) if run is not None else None
        if season.spoiled[k] > 0 or (spoiled is not None and spoiled.mean > 0):
            rows.append((f"{named(answer, item)} spoiled", unit, season.spoiled[k], _said(spoiled)))
        left = run.left.interval(k) if run is not None else None
        rows.append(
            (f"{named(answer, item)} left over", unit, season.left[k] - season.spoiled[k], _said(left, season.came[k]))
        )
    for item, unit, station, amount in run.unfinished if run is not None else ():
        where = f"in {named(answer, station)}" if station else "waiting"
        rows.append((f"{named(answer, item)} {where} at the end", unit, "", show_interval(amount)))
    title = f"The season from {season.begins} to {season.ends}"
    return Table(title, ("what", "unit", "by the balance, at most", "played"), tuple(rows), answer.season_why)


def _variants(answer: Answer, item: str) -> list[tuple[object, ...]]:
    """A row for each variant of an item that is wanted."""
    season, run = answer.season, answer.season_run
    assert season is not None
    rows: list[tuple[object, ...]] = []
    for k, one in enumerate(season.variants):
        written, _, values = one.name.partition(" [")
        if written == item and values:
            played = run.variants[k][1] if run is not None else None
            rows.append((f"of it {values.removesuffix(']')}", one.unit, one.most, _said(played)))
    return rows


def _said(found: Interval | None, whole: float = 1.0) -> str:
    """The interval; nothing but rounding, a billionth of the ``whole``, is nothing."""
    if found is None:
        return ""
    dust = max(1e-6, 1e-9 * whole)
    if abs(found.mean) < dust and found.half_width < dust:
        return "0"
    return show_interval(found)


def limits(answer: Answer) -> Table:
    """What limits the season, by its weight; nothing where the harvest alone does."""
    season = answer.season
    assert season is not None
    rows = tuple(
        (limit.kind, named(answer, limit.name), 100 * limit.weight, *limit.weeks)
        for limit in season.limits
        if not season.fits
    )
    columns = ("kind", "what", "of the reason [%]", "from the week of", "to the week of")
    return Table("What limits the season", columns, rows, "By the prices of the balance: together they are all of it.")


def weeks(answer: Answer) -> Table:
    """Every week of the balance."""
    season = answer.season
    assert season is not None
    balance = season.balance
    columns = ["week of"]
    for name in balance.harvest:
        said = named(answer, name)
        columns += [f"{said} in", f"{said} on hand"]
    columns += [f"{named(answer, name)} waiting" for name in balance.kept]
    columns += [
        f"{named(answer, name)}, of {count}" for name, count in zip(balance.vessels, balance.counts, strict=True)
    ]
    columns += [f"{named(answer, name)} finished" for name in balance.products]
    rows = []
    for w, monday in enumerate(balance.mondays):
        row: list[object] = [monday]
        for h in range(len(balance.harvest)):
            row += [_tidy(balance.came[w, h]), _tidy(balance.on_hand[w, h])]
        row += [_tidy(v) for v in balance.stock[w]]
        row += [round(float(v), 1) for v in balance.most_in_use[w]]
        row += [_tidy(v) for v in balance.finished[w]]
        rows.append(tuple(row))
    note = "Stocks at the week's end; places in use at their most of the week; finished as early as can be."
    return Table("The weeks, by the balance", tuple(columns), tuple(rows), note)


def busy_weeks(table: Table) -> Table:
    """Of a table of weeks those in which something comes, stands or is finished, and the columns that say anything."""
    rows = [row for row in table.rows if any(row[1:])]
    columns = [0, *(k for k in range(1, len(table.columns)) if any(row[k] for row in rows))]
    left = len(table.rows) - len(rows)
    other = "the other week" if left == 1 else f"the other {left} weeks"
    idle = f" In {other} nothing comes, stands or is finished." if left else ""
    return Table(
        table.title,
        tuple(table.columns[k] for k in columns),
        tuple(tuple(row[k] for k in columns) for row in rows),
        f"{table.note}{idle}".strip(),
    )


def weeks_in_short(answer: Answer) -> list[Table]:
    """The weeks of the balance for a terminal: what comes and is finished, and the vessels in use."""
    season = answer.season
    assert season is not None
    balance = season.balance
    comes = tuple(f"{named(answer, name)} in" for name in balance.harvest)
    done = tuple(f"{named(answer, name)} finished" for name in balance.products)
    goods = tuple(
        (monday, *map(_whole, balance.came[w]), *map(_whole, balance.finished[w]))
        for w, monday in enumerate(balance.mondays)
    )
    used = tuple(
        (monday, *(round(float(v), 1) for v in balance.most_in_use[w])) for w, monday in enumerate(balance.mondays)
    )
    full = tuple(
        f"{named(answer, name)} ({count})" for name, count in zip(balance.vessels, balance.counts, strict=True)
    )
    finished = "As early as can be. What waits in between is in the report."
    found = [
        busy_weeks(Table("The weeks, by the balance", ("week of", *comes, *done), goods, finished)),
        busy_weeks(Table("Vessels in use", ("week of", *full), used, "At their most in the week; in brackets all.")),
    ]
    return [table for table in found if len(table.columns) > 1 and table.rows]


def _whole(value: float) -> float:
    """An amount of a week to the whole unit where it is large."""
    return _tidy(value) if abs(float(value)) < 100 else round(float(value))


def played_weeks(answer: Answer) -> Table:
    """Every week as it was played, on average."""
    run = answer.season_run
    assert run is not None
    used = [s for s in range(len(run.stations)) if run.most_in_use[s] > 0 and _is_vessel(answer, run.stations[s])]
    columns = ("week of", *(f"{named(answer, h)} on hand" for h in run.harvest),
               *(f"{named(answer, run.stations[s])} in use" for s in used),
               *(f"{named(answer, p)} finished" for p in run.products))  # fmt: skip
    rows = tuple(
        (monday, *(_tidy(v) for v in run.week_on_hand.mean[w]),
         *(round(float(run.week_in_use.mean[w, s]), 1) for s in used),
         *(_tidy(v) for v in run.week_finished.mean[w]))
        for w, monday in enumerate(run.mondays)
    )  # fmt: skip
    note = f"Means of {run.honesty.replications} replications. Places that hold something at midnight, at their most."
    return Table("The weeks, played", columns, rows, note)


def _is_vessel(answer: Answer, station: str) -> bool:
    season = answer.season
    assert season is not None
    return any(station in name.split(",")[0] or station in name for name in season.balance.vessels)


def _tidy(value: float) -> float:
    """A number without the dust of rounding."""
    return 0.0 if abs(float(value)) < 1e-6 else round(float(value), 3)


def tanks(answer: Answer) -> Table:
    """How many vessels of each size: the plan's own, and the combinations than which no fewer are enough."""
    found = answer.tanks
    assert found is not None
    rows = []
    for choice in found.choices:
        played = "" if choice.played is None else f"{_share(choice.played)} %"
        what = "as planned" if choice.planned else "enough, no fewer are"
        rows.append((named(answer, choice.station), counted(answer, choice), what, 100 * choice.most, played))
    columns = ("station", "vessels", "what", "at most [%]", "played")
    note = (
        "Of what the harvest would give. Each station by itself, the vessels of the others being there without limit."
    )
    note = " ".join([note, *found.notes])
    return Table("How many vessels of each size", columns, tuple(rows), note)


def counted(answer: Answer, choice: Choice) -> str:
    """The vessels of a choice: ``4 of 50 hL and 2 of 100 hL``."""
    found = answer.tanks
    assert found is not None
    sizes = found.sizes[found.stations.index(choice.station)]
    said = [f"{n} of {size}" if size else f"{n}" for n, size in zip(choice.counts, sizes, strict=True) if n or not size]
    return " and ".join(said) or "none"


def least_enough(answer: Answer, station: str) -> str:
    """One sentence: the combination that holds least of those that are enough."""
    found = answer.tanks
    assert found is not None
    enough = [choice for choice in found.of(station) if not choice.planned]
    if not enough and found.honesty.status == "stopped":
        return ""
    if not enough:
        return f"No number of {named(answer, station)} is enough by itself."
    least = min(enough, key=lambda choice: choice.volume)
    planned = next((choice for choice in found.of(station) if choice.planned), None)
    has = f", the plan has {counted(answer, planned)}" if planned is not None else ""
    return f"{named(answer, station)}: {counted(answer, least)} would do{has}."


def _share(found: Interval) -> str:
    return show_interval(Interval(100 * found.mean, 100 * found.half_width))


def failures(answer: Answer) -> Table:
    """What is lost if one fails."""
    found = answer.tanks
    assert found is not None
    rows = []
    for one in found.failures:
        name = f"{named(answer, one.station)}{f', {one.size}' if one.size else ''}"
        money = None if one.money is None else max(round(one.money), 0)
        rows.append((name, one.of, _tidy(one.lost), _said(one.played_lost), money))
    columns = ("one of", "there are", f"lost at the bound [{found.unit}]", f"lost, played [{found.unit}]",
               f"money lost [{found.money}]")  # fmt: skip
    return Table("What is lost if one fails", columns, tuple(rows), "Out of use for the whole season.")


def campaigns(answer: Answer) -> Table:
    """How often each route with a campaign began one."""
    run = answer.season_run
    assert run is not None
    routes = answer.plan.routes
    rows = tuple((routes[route].name or name_of(route), _said(often)) for route, often in run.campaigns)
    return Table("Campaigns", ("what", "times in the season"), rows)


def cares(answer: Answer) -> Table:
    """Work during stands: done, late, missed."""
    run = answer.season_run
    assert run is not None
    rows = tuple(
        (
            tables.operation_names(answer).get(one.operation, name_of(one.operation)),
            one.name,
            _said(one.done),
            _said(one.late),
            _said(one.missed),
            round(one.delay, 2),
        )
        for one in run.cares
    )
    columns = ("while", "what", "done", "of it late", "missed", "mean lateness [h]")
    return Table("Work while it stands", columns, rows, "Times in the season. The stand goes on whatever happens.")


def costs(answer: Answer) -> Table:
    """What all of the season costs, its parts called as in the cost of one."""
    found = answer.season_cost
    if found is None:
        return Table("What the season costs", (), ())
    called = {part.replace("_", " "): word for part, word in tables.PARTS.items()}
    table = found.to_table()
    rows = tuple(
        (called.get(str(part), part), Told(float(whole), f"{whole:,}"), None if one is None else tables.money(one))
        for part, whole, one in table.rows
    )
    units = listed(
        amount_called(answer.plan, item, unit, n)
        for item, unit, n in zip(found.products, found.unit, found.units, strict=True)
    )
    note = f"For all that the season aims at: {units}. People are paid on every working day, idle weeks too."
    return Table(table.title, table.columns, rows, note)


def months(answer: Answer) -> Table:
    """The money of every month."""
    found = answer.season_cost
    if found is None:
        return Table("The season's money by month", (), ())
    table = found.month_table()
    finished = (f"{named(answer, item)} finished" for item in found.products)
    fixed = len(table.columns) - len(found.products)
    return Table(table.title, (*table.columns[:fixed], *finished), table.rows, table.note)
