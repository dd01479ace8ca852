"""How the reasons behind a bound are said: names as the plan's author wrote them, figures to three digits."""

from __future__ import annotations

import math

from linewright.base.results import show
from linewright.network.model import Network


def name_of(network: Network, id: str) -> str:
    """The written name of a station, crew, tool, carrier or operation, else its id with spaces."""
    plan = network.plan
    for table in (plan.stations, plan.crews, plan.tools, plan.carriers):
        known = table.get(id)
        if known is not None:
            return known.name or id.replace("_", " ")
    every = (o for route in plan.routes.values() for o in route.operations)
    return next((o.name for o in every if o.id == id and o.name), id.replace("_", " "))


def figure(value: float) -> str:
    """A figure to three digits.

    >>> figure(17.4036), figure(8.0461), figure(0.51234), figure(1234.6)
    ('17.4', '8.05', '0.512', '1,235')
    """
    if value == 0 or not math.isfinite(value):
        return show(value)
    return show(round(value, 2 - math.floor(math.log10(abs(value)))) if abs(value) < 1000 else round(value))


def percent(share: float) -> str:
    """A share as percent to two digits.

    >>> percent(0.080461), percent(1.1908)
    ('8 %', '119 %')
    """
    return f"{100 * share:.2g} %" if abs(share) < 0.995 else f"{100 * share:,.0f} %"
