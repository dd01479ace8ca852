"""What a plan leaves out without meaning it: it would count as nothing, so its author is asked by a warning."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import permutations

from linewright.plan.model import Amount, Operation, Plan
from linewright.plan.paths import join
from linewright.plan.reading import Reading
from linewright.plan.whole import Placed

_BUSY = {"time", "setup", "clean", "start", "move"}
"""Fields that make a place run."""


def check_silent(plan: Plan, placed: list[Placed], reading: Reading) -> None:
    """Warn of changeovers without a time, power that is never drawn, sides of which none is taken, idle stores."""
    for one in placed:
        _check_table(one, plan, reading)
    _check_power(plan, placed, reading)
    _check_made_of(plan, placed, reading)
    _check_stores(plan, placed, reading)


def _check_table(one: Placed, plan: Plan, reading: Reading) -> None:
    """A table of changeovers by an option names every pair of its values, or there is a `time` for the others."""
    setup = one.operation.setup
    if setup is None or not setup.table or setup.time is not None or setup.option not in plan.options:
        return
    missing = [pair for pair in permutations(plan.options[setup.option].values, 2) if pair not in setup.table]
    named = {name for pair in setup.table for name in pair}
    if missing and named <= set(plan.options[setup.option].values):
        pairs = ", ".join(f"{old} to {new}" for old, new in missing[:4]) + (", …" if len(missing) > 4 else "")
        what = f"no time is written for {pairs}: it counts as no time at all"
        reading.problems.warn(f"{one.path}.setup.table", what, hint="write it, or `time` for all other pairs")


def _check_power(plan: Plan, placed: Iterable[Placed], reading: Reading) -> None:
    """Where pieces only stand, `running` is never drawn."""
    busy = {station for one in placed for station in one.operation.station if one.row.keys() & _BUSY}
    used = {station for one in placed for station in one.operation.station}
    for station in plan.stations.values():
        power = station.power
        if power is None or station.id in busy or station.id not in used or power.holding or power.idle:
            continue
        what = "pieces only stand here, so it never runs, and what it draws then is not written: it counts as nothing"
        hint = f'power = {{ running = "{power.running.text}", holding = "{power.running.text}" }}'
        reading.problems.warn(f"{join('stations', station.id)}.power", what, hint=hint)


def _check_stores(plan: Plan, placed: Iterable[Placed], reading: Reading) -> None:
    """A store that no item and no operation names: its room limits nothing. Not asked where anything is wrong."""
    if reading.problems.errors:
        return
    used = {item.store for item in plan.items.values()} | {one.operation.then_to for one in placed}
    for id in plan.stores:
        if id not in used:
            hint = "an item waits in it by `store`, a piece by `then_to`"
            reading.problems.warn(join("stores", id), f'nothing waits in store "{id}"', hint=hint)


def _check_made_of(plan: Plan, placed: Iterable[Placed], reading: Reading) -> None:
    """Where an item is only taken by `made_of`, each of its values is taken by somebody."""
    taken: dict[tuple[str, str], set[str]] = {}
    where: dict[tuple[str, str], str] = {}
    open_to_all = {demand.item for demand in plan.demand}
    for one in placed:
        for amount in _taken(one.operation):
            for option, counts in amount.made_of.items():
                taken.setdefault((amount.item, option), set()).update(counts)
                where.setdefault((amount.item, option), f"{join(f'{one.path}.takes', amount.item)}.made_of.{option}")
            for option in amount.same:
                values = plan.options[option].values if option in plan.options else ()
                taken.setdefault((amount.item, option), set()).update(values)
            for option, value in amount.chosen.items():
                taken.setdefault((amount.item, option), set()).add(value)
    for (item, option), path in where.items():
        values = plan.options[option].values if option in plan.options else ()
        left = [value for value in values if value not in taken[(item, option)]]
        if left and item not in open_to_all:
            what = f'nothing takes item "{item}" of {option} {" or ".join(left)}'
            reading.problems.warn(path, what, hint=f"{{ {', '.join(f'{value} = 1' for value in values)} }}")


def _taken(operation: Operation) -> list[Amount]:
    every = []
    for amount in (*operation.takes, *operation.takes_per_load):
        every += list(amount.varies.table.values()) if amount.varies is not None else [amount]
    return every
