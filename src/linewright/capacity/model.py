"""What capacity answers: will the plan make the rate, what limits it, and how long each place and person is busy.

Every rate here is an upper bound for the whole plan unless ``Capacity.honesty`` says "exact". Hours are hours of one
working day on average over a week; rates are units of the item for each working day.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from linewright.base.results import Honesty, Provenance, Shown, Table
from linewright.network.model import Floats, Links

Kind = Literal["station", "crew", "tool", "carrier"]
NO_SHARES = Links(np.zeros(1, dtype=np.int64), np.zeros(0, dtype=np.int64), np.zeros(0))
BoundKind = Literal["load", "shared stations", "shared people", "standing", "carriers", "cycle", "calendar cycle"]


@dataclass(frozen=True, slots=True)
class Hours:
    """Where the time goes at the demand: hours for each working day, summed over the places, people or tools.

    ``working`` is making pieces the first time, ``reworking`` repeats; ``setting_up``, ``cleaning``, ``starting_up``
    and ``moving`` are the losses that make nothing; ``standing`` is the clock running with nobody by; ``stopped`` is
    repair.
    """

    working: float = 0.0
    reworking: float = 0.0
    setting_up: float = 0.0
    cleaning: float = 0.0
    starting_up: float = 0.0
    moving: float = 0.0
    standing: float = 0.0
    stopped: float = 0.0

    @property
    def total(self) -> float:
        """All hours together."""
        return (
            self.working
            + self.reworking
            + self.setting_up
            + self.cleaning
            + self.starting_up
            + self.moving
            + self.standing
            + self.stopped
        )


@dataclass(frozen=True, slots=True)
class Resource:
    """A station's places, a crew's people, a tool or a kind of carriers at the demand.

    ``count`` places, people (the most at one time) or pieces of tooling; ``available`` hours for each working day that
    the bound allows (for a station: places x crew hours, and the part of the nights that standing can use);
    ``use`` is hours.total / available; ``needed`` is the least count that carries the demand by load (None: no count
    does, the hours themselves are too few); ``most`` is the greatest multiple of the demand it carries (inf: no load).
    """

    kind: Kind
    id: str
    count: int
    available: float
    hours: Hours
    use: float
    needed: int | None
    most: float

    @property
    def spare(self) -> float:
        """Share of the demand that could be added before this one is full; negative where it cannot make it."""
        return self.most - 1.0


@dataclass(frozen=True, slots=True)
class Bound:
    """One reason why the rate can be no greater.

    ``multiple`` is in units of the demand (1.11: 11 % more than the demand), ``rate`` in units of the first demanded
    item for each working day; ``where`` names the station, crew, tool or ring of stations; ``why`` is one sentence.
    """

    kind: BoundKind
    where: str
    multiple: float
    rate: float
    why: str


@dataclass(frozen=True, slots=True)
class Wanted:
    """One demanded item: ``demand`` and greatest ``rate`` (units for each working day), ``takt`` in s of open time."""

    item: str
    unit: str
    demand: float
    rate: float
    takt: float


@dataclass(frozen=True, slots=True)
class Effectiveness:
    """A station in the terms of ISO 22400-2, as expected from the plan (not observed). Shares of one.

    ``availability`` = production time / planned busy time; ``effectiveness`` = planned run time of the good and bad
    pieces / production time; ``quality_ratio`` = good / all; ``oee_index`` is their product; ``utilization`` is
    production time / hours at hand; ``setup_ratio`` = setup time / (setup and production time).
    """

    station: str
    availability: float
    effectiveness: float
    quality_ratio: float
    oee_index: float
    utilization: float
    setup_ratio: float


@dataclass(frozen=True, slots=True)
class Waiting:
    """An estimate of waiting before a station at the demand: G/G/c with loads, setups and stoppages (VUT).

    ``effective_time`` hours a load; ``ca2``, ``ce2`` squared coefficients of variation of arrivals and of effective
    time; ``wait`` mean hours (of open time) in the queue, ``queue`` mean pieces waiting; both None where use is 1 or
    more.
    """

    station: str
    use: float
    effective_time: float
    ca2: float
    ce2: float
    wait: float | None
    queue: float | None


@dataclass(frozen=True, slots=True)
class Capacity(Shown):
    """Will it make the rate. ``makes`` is False where a bound rules the demand out, True where no bound does.

    Only where ``honesty.status`` is "exact" does True mean that the plan surely makes it; elsewhere ask simulate.
    ``multiple`` is the least bound in units of the demand, ``spare`` is multiple - 1; ``bottleneck`` the station, crew
    or tool that carries the smallest multiple (None where nothing is loaded); ``binds`` the bound that is least (None
    where nothing limits the rate). ``effective_hours`` is open time for each working day. ``work_in_process`` (pieces)
    and ``lead_time`` (hours of open time) are estimates at the demand, None where a station is overloaded. ``shares``
    [n_operations rows] lists (station, share of the operation's cycles). ``lent`` [n_lends] is the part of a crew's
    work that others do at the demand, where its own people do all they can.
    """

    wanted: tuple[Wanted, ...]
    makes: bool
    multiple: float
    effective_hours: float
    days_week: int
    resources: tuple[Resource, ...]
    bounds: tuple[Bound, ...]
    effectiveness: tuple[Effectiveness, ...]
    waiting: tuple[Waiting, ...]
    work_in_process: float | None
    lead_time: float | None
    why: str
    assumptions: tuple[str, ...]
    honesty: Honesty
    provenance: Provenance
    shares: Links = NO_SHARES
    lent: Floats = field(default_factory=lambda: np.zeros(0))

    @property
    def spare(self) -> float:
        """Share of the demand that the bounds leave to spare; negative where the demand cannot be made."""
        return self.multiple - 1.0

    @property
    def crowded_by_changeovers(self) -> Resource | None:
        """The fullest station that has the hours for its work, but not for the changeovers of an even mix as well."""
        found = [
            r
            for r in self.resources
            if r.kind == "station" and r.use > 1 and r.most >= 1 and r.hours.total - r.hours.setting_up <= r.available
        ]
        return max(found, key=lambda r: r.use, default=None)

    @property
    def bottleneck(self) -> Resource | None:
        """The resource that carries the smallest multiple of the demand."""
        loaded = [r for r in self.resources if r.hours.total > 0]
        return min(loaded, key=lambda r: r.most) if loaded else None

    @property
    def binds(self) -> Bound | None:
        """The least bound; bounds are sorted with the least first."""
        return self.bounds[0] if self.bounds else None

    def of(self, kind: Kind, id: str) -> Resource:
        """The resource of one kind and id. Raises KeyError where there is none."""
        for resource in self.resources:
            if (resource.kind, resource.id) == (kind, id):
                return resource
        raise KeyError(f"{kind} {id}")

    def to_table(self) -> Table:
        """Use of every station, crew and tool."""
        rows = tuple(
            (
                r.kind,
                r.id,
                r.count,
                r.needed,
                100 * r.use,
                r.hours.working,
                r.hours.reworking,
                r.hours.setting_up,
                r.hours.cleaning,
                r.hours.starting_up,
                r.hours.moving,
                r.hours.standing,
                r.hours.stopped,
                r.available,
            )
            for r in self.resources
        )
        columns = (
            "kind",
            "id",
            "count",
            "needed",
            "use [%]",
            "working [h/day]",
            "reworking [h/day]",
            "setting up [h/day]",
            "cleaning [h/day]",
            "starting up [h/day]",
            "moving [h/day]",
            "standing [h/day]",
            "stopped [h/day]",
            "at hand [h/day]",
        )
        return Table("Load at the demand", columns, rows, self.why)

    def bounds_table(self) -> Table:
        """Every bound on the rate, the one that binds first."""
        rows = tuple((b.kind, b.where, b.rate, 100 * b.multiple, b.why) for b in self.bounds)
        return Table("What limits the rate", ("kind", "where", "rate [/day]", "of demand [%]", "why"), rows)

    def wanted_table(self) -> Table:
        """Demand, greatest rate and takt of every demanded item."""
        rows = tuple((w.item, w.unit, w.demand, w.rate, w.takt) for w in self.wanted)
        columns = ("item", "unit", "demand [/day]", "greatest rate [/day]", "takt [s]")
        return Table("Rate", columns, rows, "The greatest rate is an upper bound." * (self.honesty.status != "exact"))
