"""How many hours do a station's places offer, and what is the greatest rate that they carry?

A place is busy during crew hours and, where work goes on with nobody by, into the gaps between them: place-time =
places x (crew hours + sum over gaps of min(gap, longest uncrewed run)). What must be done in it is at least the mean
time of every visit, with setups and cleaning that are due by count or by load, and repairs that fall into it. Every
rule errs on the side of too great a rate, so that the result is a bound for every plan.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from linewright.base.distributions import Shape
from linewright.capacity.hours import ALWAYS, NEVER, Hours, both, either, when
from linewright.capacity.segments import Segments
from linewright.network.clock import shift_turns
from linewright.network.lending import able_to, slowest
from linewright.network.model import NOWHERE, Cleans, Floats, Links, Network, Setups, Starts, Stops


@dataclass(frozen=True, slots=True)
class Pool:
    """What one place of a station offers in a week: ``open_ns`` crew hours, ``gap_ns`` of the gaps, ``over_ns`` beyond.

    ``over_ns`` is what runs that end after their shift (stop = "finish") can add. ``hours`` are the crew hours.
    """

    hours: Hours
    open_ns: float
    gap_ns: float
    over_ns: float

    @property
    def total_ns(self) -> float:
        """All of it."""
        return self.open_ns + self.gap_ns + self.over_ns


class Openings:
    """Open hours of crews, stations and operations, each worked out once."""

    def __init__(self, network: Network) -> None:
        self._network = network
        self._crew: dict[tuple[int, float], Hours] = {}
        self._station: dict[int, Hours] = {}
        self._teams: dict[tuple[tuple[int, float], ...], Hours] = {}

    def crew(self, crew: int, people: float) -> Hours:
        """When so many can do the work of a crew at least, its own people or others; a part of a person needs one."""
        key = (crew, max(1.0, people))
        if key not in self._crew:
            self._crew[key] = when(able_to(self._network, crew), key[1])
        return self._crew[key]

    def team(self, people: tuple[tuple[int, float], ...]) -> Hours:
        """When all the people that an operation needs are there together."""
        if people not in self._teams:
            hours = ALWAYS
            for crew, count in people:
                hours = both(hours, self.crew(crew, count))
            self._teams[people] = hours
        return self._teams[people]

    def station(self, station: int) -> Hours:
        """When a station may be used by a crew."""
        if station not in self._station:
            calendar = int(self._network.stations.calendar[station])
            self._station[station] = ALWAYS if calendar == NOWHERE else when(self._network.calendars[calendar])
        return self._station[station]


def people_of(links: Links, row: int) -> tuple[tuple[int, float], ...]:
    """(crew, people) that a row asks for together."""
    index, amount = links.row(row)
    return tuple(zip(index.tolist(), amount.tolist(), strict=True))


def overrun(network: Network, o: int, parts: Segments, team: Hours) -> float:
    """ns by which a run, its setup or its cleaning may go on after its crew's time (inf: no limit).

    Work that must fit and is longer than any stretch of the week is begun all the same, and goes on to its end.
    """
    table = network.operations
    if table.stop[o] == Stops.ANYWHERE:
        return 0.0
    longest = float(parts.longest_run[o])
    for time in (table.setup, table.clean):
        if time.mean[o] > 0:
            longest = max(longest, float(time.mean[o]) if time.shape[o] == Shape.FIXED else math.inf)
    slower = slowest(network, table.crews.row(o)[0].tolist())
    if table.stop[o] == Stops.FITS and longest * slower <= max(team.runs, default=0):
        endless = int(table.time.shape[o]) not in (Shape.FIXED, Shape.TRIANGULAR, Shape.UNIFORM)
        return longest * slower if endless else 0.0
    return longest * slower


def _others(network: Network, o: int, openings: Openings) -> tuple[list[Hours], float]:
    """When crews can do the setup and cleaning of an operation, and the ns of it that need nobody (inf: random)."""
    table = network.operations
    teams, unattended = [], 0.0
    for when_due, time, crews in (
        (table.setup_when, table.setup, table.setup_crews),
        (table.clean_when, table.clean, table.clean_crews),
    ):
        if when_due[o] and time.mean[o] > 0:
            people = people_of(crews, o)
            if people:
                teams.append(openings.team(people))
            else:
                unattended += float(time.mean[o]) if time.shape[o] == Shape.FIXED else math.inf
    return teams, unattended


def pool(
    network: Network, station: int, visits: Sequence[tuple[int, ...]], parts: Segments, openings: Openings
) -> Pool:
    """What one place of a station offers in a week to visits, each a tuple of operations in order."""
    return pool_of(network, openings.station(station), visits, parts, openings)


def pool_of(
    network: Network,
    own: Hours,
    visits: Sequence[tuple[int, ...]],
    parts: Segments,
    openings: Openings,
    between: float = 0.0,
) -> Pool:
    """The same of anything that is there in its ``own`` hours; ``between`` passes by itself from visit to visit."""
    crewed: list[Hours] = []
    heads, tails, inner, over = 0.0, 0.0, 0.0, 0.0
    for operations in visits:
        head, tail, within, whole = uncrewed_runs(operations, parts)
        if whole is not None:  # nobody is needed for this visit: it can begin at any time the station has
            crewed.append(own)
            inner = max(inner, whole)
        else:
            heads, tails, inner = max(heads, head), max(tails, tail), max(inner, within)
        for o in operations:
            if parts.crewed[o]:
                team = openings.team(people_of(network.operations.crews, o))
                crewed.append(both(own, team))
                over = max(over, overrun(network, o, parts, team))
            teams, unattended = _others(network, o, openings)
            crewed += teams
            tails += unattended
    hours = either(crewed) if crewed else NEVER
    longest = max(inner, heads + between + tails)
    gaps = hours.gaps
    return Pool(hours, float(hours.open_ns), sum(min(float(g), longest) for g in gaps), sum(over for _ in gaps))


def uncrewed_runs(operations: Sequence[int], parts: Segments) -> tuple[float, float, float, float | None]:
    """Longest uncrewed stretch at the head, at the tail and within a visit; the whole of it where nobody is needed."""
    runs = [0.0]
    for o in operations:
        if parts.crewed[o]:
            if parts.begin[o] > 0:
                runs.append(0.0)
            runs[-1] += float(parts.longest_alone[o])
            if parts.end[o] > 0:
                runs.append(0.0)
        else:
            runs[-1] += float(parts.longest_alone[o])
        runs[-1] += float(parts.longest_stand[o])
    if len(runs) == 1:
        return 0.0, 0.0, 0.0, runs[0]
    return runs[0], runs[-1], max(runs), None


def place_time(network: Network, parts: Segments, cycles: Floats, runs: Floats) -> Floats:
    """[n_operations] ns of place-time a working day that every plan needs: runs, standing, and what is due by count.

    Changeovers by sequence and losses by shift are left out here, because a plan may be run with fewer of them.
    """
    operations = network.operations
    time = cycles * (parts.run + parts.stand)
    due = (operations.setup_when == Setups.EVERY) & np.isfinite(operations.setup_every)
    time = time + np.where(due, runs / np.where(due, operations.setup_every, 1.0), 0.0) * operations.setup.mean
    cleaned = np.where(operations.clean_when == Cleans.LOAD, cycles, 0.0)
    counted = (operations.clean_when == Cleans.EVERY) & np.isfinite(operations.clean_every)
    cleaned = cleaned + np.where(counted, runs / np.where(counted, operations.clean_every, 1.0), 0.0)
    return np.asarray(time + cleaned * operations.clean.mean)


@dataclass(frozen=True, slots=True)
class Repairs:
    """Stoppages of a station as a bound needs them.

    ``lengthen``: place-time for each ns of running (1 where nothing is charged); ``credit_ns``: what a week's shift
    ends give back of it; ``share``: the share of time left by stoppages that go by the calendar.
    """

    lengthen: float = 1.0
    credit_ns: float = 0.0
    share: float = 1.0


def repairs(network: Network, station: int, hours: Hours, alone: bool, stands: bool, openings: Openings) -> Repairs:
    """The repairs that surely fall into a station's place-time.

    A repair without a crew goes on at night, so a stoppage costs E[min(R, rest of the shift)]; over a shift with u of
    running that is at least u E[R] - E[R^2] / 2 for each mean running time (exponential). ``alone`` says that machines
    run in the gaps too, where a stoppage may cost nothing.
    """
    stoppages = network.stoppages
    lengthen, credit, share = 1.0, 0.0, 1.0
    for k in np.flatnonzero(stoppages.station == station).tolist():
        between, repair = float(stoppages.between.mean[k]), float(stoppages.repair.mean[k])
        if not between > 0 or repair <= 0:
            continue
        by_chance = int(stoppages.between.shape[k]) == Shape.EXPONENTIAL
        if stoppages.calendar_clock[k]:
            if (by_chance or hours.always) and not stands:
                share = min(share, between / (between + repair))
            continue
        menders = people_of(stoppages.crews, k)
        crew = openings.team(menders) if menders else None
        mended_in_hours = crew is not None and both(crew, hours).open_ns == crew.open_ns
        if hours.always or (mended_in_hours and not alone):
            lengthen += repair / between
        elif crew is None and by_chance and not alone:
            lengthen += repair / between
            second = float(stoppages.repair.variance[k]) + repair * repair
            credit += len(hours.gaps) * second / (2 * between)
    return Repairs(lengthen, credit, share)


def daily_losses(network: Network, operations: Sequence[int], offered: Pool) -> float:
    """ns that each place loses on a working day whatever runs there: the least shift start-up of its operations.

    Counted once a day although there may be several shifts, and only where every operation has one and the place
    closes at night with nothing running on.
    """
    if offered.hours.always or offered.gap_ns > 0:
        return 0.0
    table = network.operations
    starts = [
        float(table.start.mean[o]) * min(shift_turns(network, o).a_day, 1.0)
        if table.start_when[o] == Starts.SHIFT
        else 0.0
        for o in operations
    ]
    return min(starts, default=0.0)


def most(
    place_ns: float, run_ns: float, offered: Pool, places: int, mended: Repairs, days: float, lost: float
) -> float:
    """Greatest multiple of the demand: place-time at hand in a week over place-time needed.

    ``place_ns`` is needed a working day, of it ``run_ns`` running; ``days`` working days a week; ``lost`` daily losses.
    """
    needed = days * (place_ns + run_ns * (mended.lengthen - 1))
    if needed <= 0:
        return math.inf
    lost_week = min(lost * days, offered.open_ns)
    at_hand = (offered.total_ns - lost_week) * mended.share + mended.credit_ns
    return places * at_hand / needed


def visits_of(network: Network) -> dict[tuple[int, ...], list[tuple[int, ...]]]:
    """Visits by the stations that can take them: alternatives -> [operations of each visit]."""
    found: dict[tuple[int, ...], list[tuple[int, ...]]] = {}
    firsts, lasts = network.visits.first.tolist(), network.visits.last.tolist()
    starts, index = network.operations.stations.starts.tolist(), network.operations.stations.index.tolist()
    for first, last in zip(firsts, lasts, strict=True):
        alternatives = tuple(index[starts[first] : starts[first + 1]])
        if alternatives:
            found.setdefault(alternatives, []).append(tuple(range(first, last + 1)))
    return found


def visits_by_station(groups: Mapping[tuple[int, ...], list[tuple[int, ...]]]) -> dict[int, list[tuple[int, ...]]]:
    """Every visit that each station may take."""
    out: dict[int, list[tuple[int, ...]]] = {}
    for alternatives, visits in groups.items():
        for station in alternatives:
            out.setdefault(station, []).extend(visits)
    return out
