"""Operations moved to other stations: a plan as it would be after a line has been balanced anew."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import replace

from linewright.plan.model import Plan, Station


def move_operations(plan: Plan, station_of: Mapping[str, str]) -> Plan:
    """A plan with each named operation at its new station; stations not yet there are added with one place."""
    known = {operation.id for route in plan.routes.values() for operation in route.operations}
    for name in station_of:
        if name not in known:
            raise KeyError(f'there is no operation "{name}"')
    routes = {
        route.id: replace(
            route,
            operations=tuple(
                replace(operation, station=(station_of[operation.id],)) if operation.id in station_of else operation
                for operation in route.operations
            ),
        )
        for route in plan.routes.values()
    }
    added = {name: Station(name) for name in dict.fromkeys(station_of.values()) if name not in plan.stations}
    mark = hashlib.sha256(repr((plan.fingerprint, sorted(station_of.items()))).encode()).hexdigest()[:16]
    return replace(plan, routes=routes, stations={**plan.stations, **added}, fingerprint=mark)
