"""The work in one piece of a line, and the time between pieces, from a compiled plan.

Work is people's time in standard time, as ``network`` holds it; ``runs`` says how often an operation is done.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linewright.base.calendar import WEEK, Calendar
from linewright.network.model import Network, Setups

NS = 1_000_000_000
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Times:
    """People's time for one piece of the line, in ns: mean and variance of each task; tasks that hold a setup."""

    mean: Floats
    variance: Floats
    with_setups: tuple[str, ...]


def times_of(network: Network, tasks: Sequence[int], pieces: float, runs: Floats | None) -> Times:
    """Mean and variance of the time of each task for one of ``pieces`` a day."""
    operations = network.operations
    mean, variance = np.zeros(len(tasks)), np.zeros(len(tasks))
    setups = []
    for k, i in enumerate(tasks):
        load = 1.0 if operations.continuous[i] else max(1.0, float(operations.load_most[i]))
        if operations.continuous[i]:
            run, spread = float(operations.each[i]), 0.0
        elif operations.hands_all[i]:
            minded = max(1, int(operations.tends[i]))
            run = (float(operations.time.mean[i]) / load + float(operations.each[i])) / minded
            spread = float(operations.time.variance[i]) / (load * minded) ** 2
        else:
            run, spread = float(operations.hands_start[i] + operations.hands_end[i]) / load, 0.0
        setup = setup_for_one(network, i)
        if setup > 0:
            setups.append(operations.ids[i])
        times = 1.0 if runs is None or pieces <= 0 else float(runs[i]) / pieces
        mean[k], variance[k] = (run + setup) * times, spread * times
    return Times(mean, variance, tuple(setups))


def runs_alone(network: Network, operation: int) -> bool:
    """Whether a machine works on while the person of the operation is elsewhere."""
    return not (network.operations.hands_all[operation] or network.operations.continuous[operation])


def setup_for_one(network: Network, operation: int) -> float:
    """Time of setting up by the count, for one piece, where people of the operation do it; ns."""
    operations = network.operations
    every = float(operations.setup_every[operation])
    if operations.setup_when[operation] != Setups.EVERY or not 0 < every < np.inf:
        return 0.0
    own = set(operations.crews.row(operation)[0].tolist())
    by = set(operations.setup_crews.row(operation)[0].tolist())
    return float(operations.setup.mean[operation]) / every if not by or by & own else 0.0


def pieces_of(network: Network, routes: Sequence[int], runs: Floats | None) -> dict[int, float]:
    """Item that leaves the line to its pieces a working day: what its routes make and no route of them takes."""
    operations = network.operations
    taken: set[int] = set()
    for i in range(len(operations.ids)):
        if operations.route[i] in routes:
            taken |= {int(k) for k in operations.takes.row(i)[0]}
            taken |= {k for choice in network.choices if choice.operation == i for k in choice.items}
    pieces: dict[int, float] = {}
    for r in routes:
        item = int(network.routes.item[r])
        if item in taken:
            continue
        last = int(network.routes.last[r])
        if network.models is not None:
            made = float(network.models.made[r]) / max(1.0, float(operations.pieces_out[last]))
        elif runs is not None:
            made = float(runs[last] * operations.survives[last])
        else:
            made = float(network.items.demand[item]) / max(1.0, float(operations.pieces_out[last]))
        pieces[item] = pieces.get(item, 0.0) + made if runs is not None else made  # the demand is said once an item
    return {item: made for item, made in pieces.items() if made > 0}


def takt_of(network: Network, tasks: Sequence[int], pieces: float) -> float | None:
    """Seconds of common open time for each of ``pieces`` a day; None where nothing is wanted or crews never meet."""
    crews = {int(k) for i in tasks for k in network.operations.crews.row(i)[0]}
    calendars = [network.calendars[int(network.crews.calendar[k])] for k in sorted(crews)]
    open_ns = common_ns(calendars) if calendars else network.open_calendar.open_ns
    if pieces <= 0 or open_ns <= 0:
        return None
    return open_ns / network.days_week / NS / pieces


def common_ns(calendars: Sequence[Calendar]) -> int:
    """Time in a week at which all of the calendars have somebody, in ns."""
    ends = np.unique(np.concatenate([calendar.at for calendar in calendars]))
    lengths = np.diff(np.append(ends, WEEK))
    there = np.ones(len(ends), dtype=bool)
    for calendar in calendars:
        there &= calendar.level[np.searchsorted(calendar.at, ends, side="right") - 1] > 0
    return int(lengths[there].sum())
