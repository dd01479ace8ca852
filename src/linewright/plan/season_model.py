"""The part of the plan's model that knows dates: deliveries in season and campaigns.

Frozen and as written, like the rest of the model. Days are calendar days, both ends included.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from linewright.base.units import Quantity


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
