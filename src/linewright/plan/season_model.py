"""The part of the plan's model that knows dates: deliveries in season, campaigns, and work during a stand.

Frozen and as written, like the rest of the model. Days are calendar days, both ends included.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from linewright.base.units import Quantity
from linewright.plan.operation_model import Duration


@dataclass(frozen=True, slots=True)
class Intake:
    """A bought item that comes in season: from ``begins`` to ``ends``, on the ``days`` of the week (0 Monday).

    ``weekly`` is what comes in a calendar week, one amount for all of them or one for each week from ``begins``; it is
    shared out equally over the days of delivery.
    """

    item: str
    begins: date
    ends: date
    weekly: tuple[Quantity, ...]
    days: tuple[int, ...] = (0, 1, 2, 3, 4)
    note: str = ""


@dataclass(frozen=True, slots=True)
class Campaign:
    """A route that runs in campaigns: it begins once ``starts`` of ``item`` is on hand and ends when it is used up.

    ``item`` is what the route takes first where none is written. ``waits`` (s): it begins with less once so long has
    passed since something was ready.
    """

    starts: Quantity
    item: str | None = None
    waits: Quantity | None = None


@dataclass(frozen=True, slots=True)
class During:
    """Work that comes again and again while a load stands: ``every`` so often, for ``time``, by ``crew``."""

    name: str
    every: Quantity
    time: Duration
    crew: Mapping[str, float] = field(default_factory=dict)
