"""What a simulation answers: the rate and all that explains it, each number with its interval."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import isfinite

import numpy as np

from linewright.base.problems import Problem
from linewright.base.results import Honesty, Interval, Provenance, Shown, Table
from linewright.base.trace import Trace
from linewright.network.model import Floats, Ints

STATES = (
    "working",
    "standing",
    "setting up",
    "blocked",
    "short of parts",
    "no crew",
    "down",
    "unmanned",
    "no tool",
)
"""The states of a place, in the order of ``Simulation.state_share``.

Standing is work that needs nobody (cure, cool, ferment). Short of parts is also a place with nothing to do. Unmanned is
any waiting while nobody who works at the station is there.
"""


CARRIER_COLUMNS = ("in use", "on the way back", "to be mended", "wanted and not free")
"""The columns of ``Simulation.carrier_use``; the last is a share of time."""


@dataclass(frozen=True, slots=True)
class Estimates:
    """One number for each of several things: ``mean`` and the half-width of its 95 % interval, same shape."""

    mean: Floats
    half_width: Floats

    def interval(self, *index: int) -> Interval:
        """One of them."""
        return Interval(float(self.mean[index]), float(self.half_width[index]))


@dataclass(frozen=True, slots=True)
class Escaped:
    """``share``: of the delivered units of ``item``, those that carry ``fault`` ("" for any fault at all).

    With ``values``, pairs (option, value), only of the units that have them.
    """

    item: str
    fault: str
    share: Interval
    values: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Cared:
    """Work during the stands of an operation: how often it was done, of it late, and missed; ``delay`` is the mean
    lateness of those that were late, h (0: none was). Times in the season, or in a working day of a steady state.
    """

    operation: str
    name: str
    done: Interval
    late: Interval
    missed: Interval
    delay: float


@dataclass(frozen=True, slots=True)
class Simulation(Shown):
    """What happened in the simulated weeks after the warm-up; intervals of 95 % from independent replications.

    ``rate`` is finished units of all demanded items per working day, ``rates[k]`` of ``items[k]`` alone (its ``demand``
    beside). ``work_in_progress`` counts open pieces of the demanded items' routes, ``open_pieces`` [n_routes] of every
    route. Time in plant, in s, is from entering the first queue to leaving the plant: mean, quantiles
    (``quantile_levels``) and a histogram (``time_edges`` [n + 1] in s, ``time_share`` [n]); nan where what is finished
    flows, for then there is no piece to follow.

    Stations: ``state_share`` [n_stations, n_states] of all time, night and weekend included; ``states`` names the
    columns. ``crew_use`` is people at work over people there; ``tool_use`` pieces of tooling in use over their number.
    ``lent`` [n_lends] is person-hours a working day that people of one crew did the work of another (``lends``).
    ``carrier_use`` [n_carriers, 4]: how many carriers are in use, on their way back, away to be mended (means), and the
    share of time in which one is wanted and too few are free (``CARRIER_COLUMNS``).
    ``closed`` [n_windows]: pieces a working day whose window closed before the operation in ``windows`` began.
    ``store_level`` is the mean content, ``store_most`` the greatest seen; ``stock`` [n_items] units on hand of what is
    made here, ``spoiled`` [n_items] units a working day that were too old (``keeps``). Operations: ``runs``,
    ``scrapped``, ``reworked`` pieces per working day. ``escapes``: shares of delivered
    units that carry each fault.

    Of a plan with options everything is told by what was written, its variants together. ``variants`` are those that
    are wanted, with ``variant_demand`` and ``variant_rates`` of each, in units per working day. ``mates`` are the sets
    that an operation takes (the left and the right of a size); ``orphans`` [n_mates] units on hand without a mate.
    ``kinds`` are the shares with any fault at all by the values of the options (``network.kinds``).
    ``cares``: work during stands, how often in a working day it is done, late, missed.

    ``week_rate`` [n_weeks] is the rate of each simulated week, warm-up included, mean over replications;
    ``week_open`` the open pieces at each week's end. ``rate_of_each`` [n_replications] are the rates behind ``rate``.
    ``hours``, ``level_over_time`` [n_hours, n_stores]: the stores in the last week of the first replication.
    """

    items: tuple[str, ...]
    units: tuple[str, ...]
    routes: tuple[str, ...]
    stations: tuple[str, ...]
    crews: tuple[str, ...]
    lends: tuple[tuple[str, str], ...]
    tools: tuple[str, ...]
    carriers: tuple[str, ...]
    windows: tuple[str, ...]
    stores: tuple[str, ...]
    operations: tuple[str, ...]
    all_items: tuple[str, ...]
    release: str
    demand: Floats
    rate: Interval
    rates: tuple[Interval, ...]
    work_in_progress: Interval
    open_pieces: Estimates
    time_in_plant: Interval
    quantile_levels: tuple[float, ...]
    quantiles: tuple[Interval, ...]
    time_edges: Floats
    time_share: Floats
    states: tuple[str, ...]
    state_share: Estimates
    crew_use: Estimates
    lent: Estimates
    tool_use: Estimates
    carrier_use: Estimates
    closed: Estimates
    store_level: Estimates
    store_most: Floats
    stock: Estimates
    spoiled: Estimates
    runs: Estimates
    scrapped: Estimates
    reworked: Estimates
    week_rate: Floats
    week_open: Floats
    warm_up_weeks: int
    weeks: int
    rate_of_each: Floats
    hours: Floats
    level_over_time: Floats
    events: int
    kept: dict[str, float]
    trace: Trace | None
    provenance: Provenance
    honesty: Honesty
    problems: tuple[Problem, ...] = ()
    notes: tuple[str, ...] = field(default=())
    variants: tuple[str, ...] = ()
    mates: tuple[str, ...] = ()
    orphans: Estimates = field(default_factory=lambda: Estimates(np.zeros(0), np.zeros(0)))
    variant_demand: Floats = field(default_factory=lambda: np.zeros(0))
    variant_rates: Estimates = field(default_factory=lambda: Estimates(np.zeros(0), np.zeros(0)))
    escapes: tuple[Escaped, ...] = ()
    kinds: tuple[Escaped, ...] = ()
    cares: tuple[Cared, ...] = ()

    @property
    def makes_demand(self) -> bool | None:
        """Whether the demand is made: True or False where the interval tells, None where it does not.

        Only meaningful where work is let in flat out; by takt the rate can only fall short.
        """
        wanted = float(self.demand.sum())
        if self.rate.high < wanted * (1 - 1e-9):
            return False
        return True if self.rate.low >= wanted * (1 - 1e-9) else None

    def to_table(self) -> Table:
        """Rate, work in progress and time in plant with their intervals."""
        rows: list[tuple[object, ...]] = [
            (f"rate of {item}", f"{unit}/day", rate.mean, rate.low, rate.high)
            for item, unit, rate in zip(self.items, self.units, self.rates, strict=True)
        ]
        rows.append(
            ("open pieces", "pieces", self.work_in_progress.mean, self.work_in_progress.low, self.work_in_progress.high)
        )
        hour = 3600.0
        t = self.time_in_plant
        if not isfinite(t.mean):  # what flows has no pieces to follow
            return _outcome(rows)
        rows.append(("time in plant", "h", t.mean / hour, t.low / hour, t.high / hour))
        for level, q in zip(self.quantile_levels, self.quantiles, strict=True):
            rows.append(
                (f"time in plant, {level:.0%} of pieces below", "h", q.mean / hour, q.low / hour, q.high / hour)
            )
        return _outcome(rows)

    def station_table(self) -> Table:
        """The share of time that each station spends in each state."""
        rows = tuple((name, *(float(v) for v in self.state_share.mean[s])) for s, name in enumerate(self.stations))
        return Table("What the stations do", ("station", *self.states), rows)

    def carrier_table(self) -> Table:
        """How many carriers of each kind are in use, and for how much of the time one is wanted and not there."""
        rows = tuple((name, *(float(v) for v in self.carrier_use.mean[k])) for k, name in enumerate(self.carriers))
        return Table("Where the carriers are", ("carrier", *CARRIER_COLUMNS), rows)

    def care_table(self) -> Table:
        """Work during stands: how often in a working day it is done, of it late, and missed."""
        rows = tuple((c.operation, c.name, c.done.mean, c.late.mean, c.missed.mean, c.delay) for c in self.cares)
        columns = ("while", "what", "done a day", "of it late", "missed a day", "mean lateness [h]")
        return Table("Work while it stands", columns, rows, "The stand goes on whatever happens.")

    def lending_table(self) -> Table:
        """Who did whose work, in person-hours a working day."""
        rows = tuple((who, whose, float(self.lent.mean[k])) for k, (who, whose) in enumerate(self.lends))
        return Table("Who stood in for whom", ("crew", "does work of", "hours a day"), rows)

    def bottlenecks(self) -> tuple[str, ...]:
        """Stations by the share of attended time in which they work, stand, set up or are down; greatest first."""
        busy = self.state_share.mean[:, [0, 1, 2, 6]].sum(axis=1)
        there = 1.0 - self.state_share.mean[:, 7]
        order: Ints = np.argsort(-np.divide(busy, there, out=np.zeros_like(busy), where=there > 0), kind="stable")
        return tuple(self.stations[int(k)] for k in order)


def _outcome(rows: list[tuple[object, ...]]) -> Table:
    columns = ("what", "unit", "mean", "low", "high")
    return Table("What really happens", columns, tuple(rows), note="95 % intervals from independent replications")
