"""How many places does standing need where nobody is wanted? Those of the hours in which pieces come.

A cooler or a rack takes a piece at any time, so the bound counts all 168 hours of the week. But pieces come only while
the work before it is manned, and each stays no longer than it stands: that is when the places must be there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from linewright.capacity.hours import Hours, both, either
from linewright.capacity.segments import Segments
from linewright.capacity.stations import Openings, people_of, uncrewed_runs
from linewright.network.model import Network


def places_while_pieces_come(
    network: Network,
    station: int,
    visits: Sequence[tuple[int, ...]],
    parts: Segments,
    openings: Openings,
    place_ns: float,
) -> int:
    """Places that ``place_ns`` of standing a week needs in the hours in which pieces come; 0 where that says nothing.

    It says nothing where a visit is crewed, or where nothing manned comes before it. An estimate of what is needed,
    not a bound: pieces that were held back upstream may come at any hour.
    """
    coming: list[Hours] = []
    longest = 0.0
    for operations in visits:
        whole = uncrewed_runs(operations, parts)[3]
        before = _manned_before(network, operations[0], parts)
        if whole is None or before is None:
            return 0
        team = openings.team(people_of(network.operations.crews, before))
        coming.append(both(team, openings.station(station)))
        longest = max(longest, whole)
    hours = either(coming)
    offered = hours.open_ns + sum(min(float(gap), longest) for gap in hours.gaps)
    return math.ceil(place_ns / offered - 1e-9) if offered > 0 and math.isfinite(place_ns) else 0


def _manned_before(network: Network, operation: int, parts: Segments) -> int | None:
    """The nearest operation above it in its route that needs a crew."""
    first = int(network.routes.first[network.operations.route[operation]])
    return next((o for o in range(operation - 1, first - 1, -1) if parts.crewed[o]), None)
