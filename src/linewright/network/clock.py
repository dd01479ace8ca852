"""How often does a working day bring what follows the clock: cleaning by the shift or day, starting up with the shift?

Every place of an operation has it once in each shift (or day) in which it works. In a steady state that is every one.
Over a season, and in bounds, it is counted for as few as the work of an operation fills, the longest of them full:
fewer there cannot be.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from linewright.base.calendar import DAY, WEEK, Calendar, shifts_of
from linewright.network.lending import able_to
from linewright.network.model import Cleans, Floats, Network, Starts, Stops


@dataclass(frozen=True, slots=True)
class Turns:
    """What one place meets: ``a_day`` how often on a working day, ``longest`` ns of work between one and the next."""

    a_day: float
    longest: float


def cleans_by_clock(network: Network, runs: Floats | None = None) -> Floats:
    """[n_operations] cleanings on a working day that follow the clock, all places of an operation together.

    ``runs`` [n_operations] pieces a working day come by; without it all work on every day. Variants of an operation
    are cleaned for together, so that each has its part.
    """
    when = network.operations.clean_when
    by_shift = _often(network, when == Cleans.SHIFT, shift_turns, runs)
    return by_shift + _often(network, when == Cleans.DAY, day_turns, runs)


def starts_by_clock(network: Network, runs: Floats | None = None, *, fewest: bool = False) -> Floats:
    """[n_operations] start-ups at the beginning of a shift, in the same way; ``fewest``: as few as over a season."""
    return _often(network, network.operations.start_when == Starts.SHIFT, shift_turns, runs, fewest)


def cleaned_by_clock(network: Network) -> np.ndarray:
    """[n_operations] whether an operation is cleaned by the shift or day."""
    return np.isin(network.operations.clean_when, (Cleans.SHIFT, Cleans.DAY))


def _often(
    network: Network, due: np.ndarray, turns: Callable[[Network, int], Turns], runs: Floats | None, fewest: bool = False
) -> Floats:  # fmt: skip
    out = np.zeros(len(due))
    if not due.any():
        return out
    group = network.origin.operation if network.origin is not None else np.arange(len(due))
    weight = np.ones(len(due)) if runs is None else runs
    total = np.bincount(group, weight)[group]
    work = np.zeros(len(due)) if runs is None else runs * cycle_ns(network) / network.operations.load_most
    of_group = np.bincount(group, work)[group]
    for o in np.flatnonzero(due & (total > 0)).tolist():
        one, places = turns(network, o), places_of(network, o)
        often = one.a_day * places
        if (fewest or network.season is not None) and runs is not None and one.longest > 0:
            often = min(often, float(of_group[o]) / one.longest)
        out[o] = often * float(weight[o] / total[o])
    return out


def cycle_ns(network: Network) -> Floats:
    """[n_operations] mean ns a place is busy with one full load: time, time for each piece, stand."""
    operations = network.operations
    return np.asarray(operations.time.mean + operations.each * operations.load_most + operations.stand.mean)


def places_of(network: Network, operation: int) -> int:
    """Places of all stations that the operation may use; 1 at a bench."""
    stations = network.operations.stations.row(operation)[0]
    return int(network.stations.places[stations].sum()) if stations.size else 1


def shift_turns(network: Network, operation: int) -> Turns:
    """The shifts of an operation. A break is no end of a shift; two that follow each other are one."""
    own, at_work = _calendars(network, operation)
    spans, alone = shifts_of(own), _alone(network, operation)
    if at_work is None:
        begins = [begin for begin, _ in spans]
        after = [*begins[1:], begins[0] + WEEK] if begins else []
        longest = float(max((b - a for a, b in zip(begins, after, strict=True)), default=0))
    else:
        longest = max((_worked(at_work, *span, alone) for span in shifts_of(at_work)), default=0.0)
    return Turns(len(spans) / network.days_week, longest + alone)


def day_turns(network: Network, operation: int) -> Turns:
    """The days of the calendar on which somebody is there for an operation."""
    own, at_work = _calendars(network, operation)
    days, alone = [(d * DAY, (d + 1) * DAY) for d in range(7)], _alone(network, operation)
    there = sum(_worked(own, *day) > 0 for day in days)
    longest = max(_worked(at_work, *day, alone) for day in days) if at_work is not None else DAY
    return Turns(there / network.days_week, longest + alone)


def _calendars(network: Network, operation: int) -> tuple[Calendar, Calendar | None]:
    """Whose hours an operation counts its shifts by, and when somebody can work at it (None: at any time).

    By its first crew, else by its station, else by whenever anybody works.
    """
    crews = network.operations.crews.row(operation)[0]
    stations = network.operations.stations.row(operation)[0]
    if crews.size:
        first = int(crews[0])
        return network.calendars[int(network.crews.calendar[first])], able_to(network, first)
    if stations.size and network.stations.calendar[stations[0]] >= 0:
        own = network.calendars[int(network.stations.calendar[stations[0]])]
        return own, own
    return network.open_calendar, None


def _alone(network: Network, o: int) -> float:
    """Mean ns that a run goes on after its people have gone: a machine by itself, a stand, what must be finished."""
    table = network.operations
    run = float(table.time.mean[o] + table.each[o] * table.load_most[o])
    goes_on = run if table.stop[o] != Stops.ANYWHERE or not table.crews.row(o)[0].size else 0.0
    if not table.hands_all[o]:
        goes_on = max(goes_on, run - float(table.hands_start[o] + table.hands_end[o]))
    return goes_on + float(table.stand.mean[o])


def _worked(calendar: Calendar, begin: int, end: int, alone: float = 0.0) -> float:
    """ns of a span in which something can go on: while anybody is there, and ``alone`` of each gap between."""
    at, level = calendar.at.tolist(), (calendar.level > 0).tolist()
    steps = [(t + week, there) for week in (0, WEEK) for t, there in zip(at, level, strict=True)] + [(2 * WEEK, True)]
    total, last = 0.0, None
    for (since, there), (until, _) in itertools.pairwise(steps):
        one, other = max(since, begin), min(until, end)
        if there and other > one:
            total += other - one + (min(one - last, alone) if last is not None else 0.0)
            last = other
    return total
