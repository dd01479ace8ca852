"""Start-up losses: pieces scrapped whenever a place starts after a stop or at the beginning of a shift.

They do not grow with what is made, so the share of pieces that they leave is found by repeating the balance until it
no longer changes.
"""

from __future__ import annotations

import numpy as np

from linewright.base.calendar import WEEK
from linewright.base.problems import Problems
from linewright.flow.direct_cost import cycle_ns
from linewright.network.equations import places_of, shift_starts
from linewright.network.model import Floats, Network, Starts


def has_startups(network: Network) -> bool:
    """Whether any operation scraps pieces at a start."""
    return bool(np.any((network.operations.start_when != Starts.NONE) & (network.operations.start_scrap > 0)))


def share_kept(network: Network, runs: Floats, problems: Problems) -> Floats:
    """[n_operations] the share of pieces that start-up losses leave when ``runs`` pieces a working day come by."""
    operations = network.operations
    keeps = np.ones(len(operations.ids))
    cycle = cycle_ns(network) / operations.load_most
    for o in np.flatnonzero((operations.start_when != Starts.NONE) & (operations.start_scrap > 0)).tolist():
        if runs[o] <= 0:
            continue
        if operations.start_when[o] == Starts.SHIFT:
            starts = shift_starts(network, o) * places_of(network, o)
        else:
            starts = _stops_a_day(network, o, float(cycle[o]), float(runs[o]))
        keeps[o] = 1 - starts * float(operations.start_scrap[o]) / (float(runs[o]) * float(operations.survives[o]))
        if keeps[o] <= 0.0:
            problems.error(
                f"{operations.paths[o]}.start.scrap",
                f"{starts:.4g} start-ups a working day scrap all of the {runs[o]:.4g} pieces that come by",
            )
            keeps[o] = 1.0
    return keeps


def _stops_a_day(network: Network, operation: int, cycle: float, runs: float) -> float:
    """Stoppages on a working day of the operation's station: by running time, or by calendar time of its places."""
    stations = network.operations.stations.row(operation)[0]
    if not stations.size:
        return 0.0
    stoppages, station = network.stoppages, int(stations[0])
    here = stoppages.station == station
    running = here & ~stoppages.calendar_clock
    calendar = here & stoppages.calendar_clock
    by_running = runs * cycle * (1.0 / stoppages.between.mean[running]).sum()
    day = WEEK / network.days_week
    by_calendar = day * int(network.stations.places[station]) * (1.0 / stoppages.between.mean[calendar]).sum()
    return float(by_running + by_calendar)
