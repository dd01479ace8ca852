"""Carriers: they go from somewhere to somewhere later, along pieces that are counted, and there are enough to begin."""

from __future__ import annotations

from linewright.plan.amounts import unit_of
from linewright.plan.carried import Stretch, stretch_of
from linewright.plan.model import Carrier, Load, Operation, Plan
from linewright.plan.paths import join
from linewright.plan.reading import Reading


def check_carriers(plan: Plan, reading: Reading) -> None:
    """Note the problems of carriers."""
    where = {o.id: (route.id, k, o) for route in plan.routes.values() for k, o in enumerate(route.operations)}
    for id, carrier in plan.carriers.items():
        path = join("carriers", id)
        if not (set(carrier.joins) | set(carrier.leaves)) <= where.keys():
            continue  # an operation that could not be read has its problem already
        stretch = stretch_of(carrier, plan.routes)
        _check_way(carrier, stretch, where, path, reading)
        _check_counted(plan, carrier, stretch, where, path, reading)
        _check_options(plan, carrier, where, path, reading)
        for operation in carrier.joins:
            _check_load(carrier, where[operation][2], path, reading)


def _check_way(
    carrier: Carrier, stretch: Stretch, where: dict[str, tuple[str, int, Operation]], path: str, reading: Reading
) -> None:
    """Every ``from`` leads to a ``to``, every ``to`` is led to by a ``from``."""
    for operation in stretch.lost:
        route, k, _ = where[operation]
        before = [o for o in carrier.leaves if where[o][0] == route and where[o][1] < k]
        if before:
            what = f'carrier "{carrier.id}" goes from "{operation}" to "{before[0]}", which comes before it'
            reading.error(f"{path}.to", what, before[0], f'an operation after "{operation}"')
        else:
            what = f'no piece that "{operation}" puts on carrier "{carrier.id}" ever comes to an operation of `to`'
            hint = "a piece goes on to the routes that take what its own route gives"
            reading.error(f"{path}.to", what, list(carrier.leaves), "an operation of the same route, or after it", hint)
    if stretch.lost:
        return
    for operation in carrier.leaves:
        if operation not in stretch.reached:
            what = f'no piece comes to "{operation}" on carrier "{carrier.id}"'
            reading.error(f"{path}.to", what, operation, "an operation that comes after one of `from`")


def _check_counted(
    plan: Plan,
    carrier: Carrier,
    stretch: Stretch,
    where: dict[str, tuple[str, int, Operation]],
    path: str,
    reading: Reading,
) -> None:
    for route in dict.fromkeys(where[o][0] for o in stretch.operations):
        item = plan.items.get(plan.routes[route].gives)
        if item is not None and unit_of(item.unit).dimension != "count":
            what = f'carrier "{carrier.id}" carries counted pieces, and route "{route}" makes {item.id} in {item.unit}'
            reading.error(f"{path}.from", what, list(carrier.joins), "operations of routes that make a counted item")


def _check_options(
    plan: Plan, carrier: Carrier, where: dict[str, tuple[str, int, Operation]], path: str, reading: Reading
) -> None:
    """What tells the kind of a carrier is known of every piece that gets on one."""
    for operation in carrier.joins:
        item = plan.items.get(plan.routes[where[operation][0]].gives)
        for option in carrier.options:
            if item is not None and option not in item.options:
                what = f'carrier "{carrier.id}" is by {option}, but "{operation}" is done to {item.id}, which has none'
                reading.error(f"{path}.options", what, option, f"`options` of {item.id}")


def _check_load(carrier: Carrier, operation: Operation, path: str, reading: Reading) -> None:
    """The least load can go on all carriers that there are."""
    load = operation.load or (operation.move.lot if operation.move else None)
    if not isinstance(load, Load) or load.least is None or load.least.dimension not in ("number", "count"):
        return
    if load.least.value > carrier.count * carrier.holds:
        what = (
            f'a load of {load.least.value:g} at "{operation.id}" never fits on {carrier.count} of carrier '
            f'"{carrier.id}" that hold {carrier.holds} each'
        )
        reading.error(f"{path}.count", what, carrier.count, f"{-(-load.least.value // carrier.holds):g} or more")
