"""Start-up losses: pieces scrapped whenever a place starts after a stop or at the beginning of a shift.

They do not grow with what is made, so the share of pieces that they leave is found by repeating the balance until it
no longer changes. Over a season, and where the least is asked for, a place need not start on every day: as many shifts
count as the work fills.
"""

from __future__ import annotations

import numpy as np

from linewright.base.calendar import WEEK
from linewright.base.problems import Problems
from linewright.network.clock import cycle_ns, starts_by_clock
from linewright.network.model import Floats, Network, Starts

_NOTHING = 1e-6  # a share kept below this is running away, not settling


def has_shift_starts(network: Network) -> bool:
    """Whether any operation scraps pieces at the beginning of a shift."""
    return bool(np.any((network.operations.start_when == Starts.SHIFT) & (network.operations.start_scrap > 0)))


def has_startups(network: Network) -> bool:
    """Whether any operation scraps pieces at a start."""
    return bool(np.any((network.operations.start_when != Starts.NONE) & (network.operations.start_scrap > 0)))


def share_kept(network: Network, runs: Floats, keeps: Floats, fewest_starts: bool, problems: Problems) -> Floats:
    """[n_operations] the share of pieces that start-up losses leave, from the balance with the shares ``keeps``.

    ``runs`` pieces a working day come by. What goes on is what is wanted; what is scrapped comes on top of it.
    """
    operations = network.operations
    new = np.ones(len(operations.ids))
    cycle = cycle_ns(network) / operations.load_most
    by_shift = starts_by_clock(network, runs, fewest=fewest_starts)
    for o in np.flatnonzero((operations.start_when != Starts.NONE) & (operations.start_scrap > 0)).tolist():
        if runs[o] <= 0:
            continue
        if operations.start_when[o] == Starts.SHIFT:
            starts = float(by_shift[o])
        else:
            starts = _stops_a_day(network, o, float(cycle[o]), float(runs[o]))
        goes_on = float(runs[o]) * float(operations.survives[o]) * float(keeps[o])
        new[o] = goes_on / (goes_on + starts * float(operations.start_scrap[o]))
        if new[o] < _NOTHING:
            problems.error(
                f"{operations.paths[o]}.start.scrap",
                "every stoppage scraps more at the start-up than is made until the next stoppage",
                hint="look at the time between stoppages and at the pieces scrapped",
            )
            new[o] = 1.0
    return new


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
