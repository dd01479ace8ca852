"""The greatest rate by loads: of every station, of stations that share work, of every crew and every tool.

Each is the answer of one resource alone, everything else being there without limit, so each is an upper bound for the
plan; the least of them is the plan's.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from linewright.base.calendar import HOUR, Calendar
from linewright.capacity.hours import NEVER, Hours, either
from linewright.capacity.packing import greatest_multiple
from linewright.capacity.segments import CUTS, Segments, needs_cut, segments
from linewright.capacity.stations import (
    Openings,
    Pool,
    daily_losses,
    overrun,
    people_of,
    place_time,
    pool,
    repairs,
    visits_by_station,
    visits_of,
)
from linewright.flow.model import Flow
from linewright.network.model import Floats, Network, Stops

Visit = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class StationRate:
    """A station at the demand: what one place offers in a week, the greatest multiple, the share of cycles it takes."""

    station: int
    offered: Pool
    multiple: float
    share: Floats
    together: tuple[int, ...] = ()


@dataclass(slots=True)
class Work:
    """What the rates need, worked out once for each cut: segments and the place-time of every operation."""

    network: Network
    flow: Flow
    openings: Openings
    _kept: dict[float, tuple[Segments, Floats]] = field(default_factory=dict)

    def at(self, cut: float) -> tuple[Segments, Floats]:
        """Segments and place-time [n_operations] of a working day with random times cut off at ``cut`` means."""
        if cut not in self._kept:
            parts = segments(self.network, cut)
            time = place_time(self.network, parts, self.flow.cycles, self.flow.runs)
            self._kept[cut] = (parts, time)
        return self._kept[cut]


def station_rates(work: Work) -> list[StationRate]:
    """Every station that has anything to do, alternatives shared out so that the fullest is as empty as can be."""
    groups = visits_of(work.network)
    at = visits_by_station(groups)
    cut_helps = needs_cut(work.network)
    out: list[StationRate] = []
    for members in _components(groups):
        stations = sorted({s for alternatives in members for s in alternatives})
        if len(stations) == 1:
            out.append(_alone(work, stations[0], at[stations[0]], cut_helps))
        else:
            out += _together(work, stations, {g: groups[g] for g in members}, at, cut_helps)
    return sorted(out, key=lambda r: r.station)


def _components(groups: Mapping[tuple[int, ...], list[Visit]]) -> list[list[tuple[int, ...]]]:
    """Groups of alternatives that are tied together by a station in common."""
    parent: dict[int, int] = {}

    def root(station: int) -> int:
        parent.setdefault(station, station)
        while parent[station] != station:
            parent[station] = parent[parent[station]]
            station = parent[station]
        return station

    for alternatives in groups:
        for station in alternatives[1:]:
            parent[root(station)] = root(alternatives[0])
    found: dict[int, list[tuple[int, ...]]] = {}
    for alternatives in groups:
        found.setdefault(root(alternatives[0]), []).append(alternatives)
    return list(found.values())


def _cuts(visits: Sequence[Visit], cut_helps: np.ndarray) -> tuple[float, ...]:
    return CUTS if any(cut_helps[o] for visit in visits for o in visit) else (math.inf,)


@dataclass(frozen=True, slots=True)
class _Balance:
    """One station's inequality: multiple x sum of visits' ``needed`` <= ``at_hand`` (ns of place-time a week)."""

    offered: Pool
    at_hand: float
    needed: dict[Visit, float]


def _balance(work: Work, station: int, visits: Sequence[Visit], cut: float) -> _Balance:
    network = work.network
    parts, time = work.at(cut)
    offered = pool(network, station, visits, parts, work.openings)
    operations = [o for visit in visits for o in visit]
    alone = any(parts.alone[o] > 0 for o in operations)
    stands = any(parts.stand[o] > 0 for o in operations)
    mended = repairs(network, station, offered.hours, alone, stands, work.openings)
    days = network.days_week
    lost = min(days * daily_losses(network, operations, offered), offered.open_ns)
    at_hand = ((offered.total_ns - lost) * mended.share + mended.credit_ns) * float(network.stations.places[station])
    more = mended.lengthen - 1
    cycles = work.flow.cycles
    needed = {visit: days * sum(float(time[o] + more * cycles[o] * parts.run[o]) for o in visit) for visit in visits}
    return _Balance(offered, at_hand, needed)


def _alone(work: Work, station: int, visits: Sequence[Visit], cut_helps: np.ndarray) -> StationRate:
    best, offered = math.inf, None
    for cut in _cuts(visits, cut_helps):
        found = _balance(work, station, visits, cut)
        needed = sum(found.needed.values())
        multiple = found.at_hand / needed if needed > 0 else math.inf
        if offered is None or multiple < best:
            best, offered = multiple, found.offered
    assert offered is not None
    return StationRate(station, offered, best, _share(work, dict.fromkeys(visits, 1.0)))


def _share(work: Work, shares: Mapping[Visit, float]) -> Floats:
    out = np.zeros(len(work.network.operations.ids))
    for visit, part in shares.items():
        out[list(visit)] = part
    return out


def _together(
    work: Work,
    stations: list[int],
    groups: Mapping[tuple[int, ...], list[Visit]],
    at: Mapping[int, list[Visit]],
    cut_helps: np.ndarray,
) -> list[StationRate]:
    best: tuple[float, list[_Balance], dict[tuple[tuple[int, ...], int], float]] | None = None
    visits = [visit for group in groups.values() for visit in group]
    for cut in _cuts(visits, cut_helps):
        balances = [_balance(work, s, at[s], cut) for s in stations]
        multiple, parts = _least_full(stations, groups, balances)
        if best is None or multiple < best[0]:
            best = (multiple, balances, parts)
    assert best is not None
    multiple, balances, parts = best
    rates = []
    for station, found in zip(stations, balances, strict=True):
        share = {
            visit: parts[alternatives, station]
            for alternatives, group in groups.items()
            if station in alternatives
            for visit in group
        }
        rates.append(StationRate(station, found.offered, multiple, _share(work, share), tuple(stations)))
    return rates


def _least_full(
    stations: list[int], groups: Mapping[tuple[int, ...], list[Visit]], balances: list[_Balance]
) -> tuple[float, dict[tuple[tuple[int, ...], int], float]]:
    """Share the visits of every group out over its stations so that the fullest is least full (a linear program)."""
    choosing = [alternatives for alternatives in groups if len(alternatives) > 1]
    if len(choosing) == 1:
        return _fill_up(stations, groups, balances, choosing[0])
    from scipy.optimize import linprog

    columns = [(alternatives, s) for alternatives in groups for s in alternatives]
    loads = np.zeros((len(stations), len(columns) + 1))
    mixes = np.zeros((len(groups), len(columns) + 1))
    number = {alternatives: k for k, alternatives in enumerate(groups)}
    for j, (alternatives, s) in enumerate(columns):
        row = stations.index(s)
        at_hand = max(balances[row].at_hand, 1.0)
        loads[row, j] = sum(balances[row].needed[visit] for visit in groups[alternatives]) / at_hand
        mixes[number[alternatives], j] = 1.0
    loads[:, -1] = -1.0
    goal = np.zeros(len(columns) + 1)
    goal[-1] = 1.0
    answer = linprog(goal, loads, np.zeros(len(stations)), mixes, np.ones(len(groups)), method="highs")
    solution = np.asarray(answer.x, dtype=np.float64)
    fullest = float(solution[-1])
    return (1 / fullest if fullest > 0 else math.inf), dict(zip(columns, solution.tolist(), strict=False))


def _fill_up(
    stations: list[int],
    groups: Mapping[tuple[int, ...], list[Visit]],
    balances: list[_Balance],
    choosing: tuple[int, ...],
) -> tuple[float, dict[tuple[tuple[int, ...], int], float]]:
    """One group alone can choose: it fills its stations to one level, the emptiest first."""
    at_hand = {s: max(b.at_hand, 1.0) for s, b in zip(stations, balances, strict=True)}
    own = dict.fromkeys(stations, 0.0)
    for (station, *others), visits in groups.items():
        if not others:
            own[station] += sum(balances[stations.index(station)].needed[v] for v in visits) / at_hand[station]
    wants = {s: sum(balances[stations.index(s)].needed[v] for v in groups[choosing]) / at_hand[s] for s in choosing}
    parts: dict[tuple[tuple[int, ...], int], float] = {
        (alternatives, alternatives[0]): 1.0 for alternatives in groups if len(alternatives) == 1
    }
    if min(wants.values()) <= 0:
        parts |= {(choosing, s): 1.0 / len(choosing) for s in choosing}
        fullest = max(own.values())
        return (1 / fullest if fullest > 0 else math.inf), parts
    level, filled = 0.0, sorted(choosing, key=lambda s: own[s])
    for k in range(1, len(filled) + 1):
        level = (1 + sum(own[s] / wants[s] for s in filled[:k])) / sum(1 / wants[s] for s in filled[:k])
        if k == len(filled) or level <= own[filled[k]]:
            break
    parts |= {(choosing, s): max(0.0, (level - own[s]) / wants[s]) for s in choosing}
    return 1 / max(level, *own.values()), parts


FINISHING_CUT = 2.0
"""The cut at which crews are bounded whose runs may end after their shift."""


def finishers(work: Work) -> list[list[int]]:
    """Operations of each crew whose runs may end after its shift (stop = "finish", or "fits" where none does)."""
    operations = work.network.operations
    rows = np.repeat(np.arange(len(operations.ids)), np.diff(operations.crews.starts))
    out: list[list[int]] = [[] for _ in work.network.crews.ids]
    late = operations.stop[rows] != Stops.ANYWHERE
    for o, crew in zip(rows[late].tolist(), operations.crews.index[late].tolist(), strict=True):
        out[crew].append(o)
    return out


def _late(work: Work, o: int, parts: Segments) -> float:
    return overrun(work.network, o, parts, work.openings.team(people_of(work.network.operations.crews, o)))


def crew_hours(work: Work, crew: int, finishing: Sequence[int], calendar: Calendar | None = None) -> dict[int, float]:
    """People of a crew -> hours a week with so many; ``finishing`` operations add their longest run to every end.

    At the end of a shift the runs still going hold at most the people who were there, each for at most its own length.
    ``calendar`` stands in for the crew's.
    """
    if calendar is None:
        calendar = work.network.calendars[int(work.network.crews.calendar[crew])]
    parts, _ = work.at(FINISHING_CUT)
    over = max((_late(work, o, parts) for o in finishing), default=0.0)
    levels = calendar.level.tolist()
    out: dict[int, float] = {}
    for k, (length, people) in enumerate(zip(calendar.lengths.tolist(), levels, strict=True)):
        falls = levels[(k + 1) % len(levels)] < people
        out[people] = out.get(people, 0.0) + (length + (over if falls else 0.0)) / HOUR
    return {people: hours for people, hours in out.items() if people > 0}


@dataclass(frozen=True, slots=True)
class ToolRate:
    """A tool at the demand: hours of use a working day, hours that one piece offers, and the greatest multiple."""

    hours: float
    available: float
    multiple: float


def tool_rates(work: Work) -> list[ToolRate]:
    """Every tool: taken for the working time of a run, free while pieces stand."""
    network = work.network
    tools = network.operations.tools
    rows = np.repeat(np.arange(len(network.operations.ids)), np.diff(tools.starts))
    parts, _ = work.at(math.inf)
    days = network.days_week
    out = []
    for tool, count in enumerate(network.tools.count.tolist()):
        users = rows[tools.index == tool].tolist()
        needs = tools.amount[tools.index == tool].tolist()
        jobs: dict[float, float] = {}
        for o, need in zip(users, needs, strict=True):
            hours = float(work.flow.cycles[o] * parts.run[o]) / HOUR
            jobs[need] = jobs.get(need, 0.0) + days * hours
        at_hand = _tool_hours(work, users, parts)
        multiple = greatest_multiple(jobs, {count: at_hand})
        used = sum(need * h for need, h in jobs.items()) / days
        out.append(ToolRate(used, at_hand / days, multiple))
    return out


def _tool_hours(work: Work, users: Sequence[int], parts: Segments) -> float:
    """Hours a week that one piece of tooling can be in use: crew hours, and unattended runs that go on beyond them."""
    sets: list[Hours] = []
    longest = 0.0
    over = 0.0
    for o in users:
        if not parts.crewed[o]:
            return 168.0
        sets.append(work.openings.team(people_of(work.network.operations.crews, o)))
        longest = max(longest, float(parts.longest_alone[o]))
        over = max(over, _late(work, o, parts))
    hours = either(sets) if sets else NEVER
    return (hours.open_ns + sum(min(g, longest) + over for g in hours.gaps)) / HOUR
