"""How many vessels of each size does this harvest need, and what is lost if one fails?

For every station of vessels the smallest combinations of sizes are searched with which the balance finishes the aim,
the other vessels being there without limit. A linear program tells the least that the vessels must hold; as the balance
never finishes less with one vessel more, walking along the edge finds all of them and proves that nothing smaller can
do. They are then played, and one of the smallest size is added until the play agrees.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from linewright import __version__
from linewright.base.results import Honesty, Interval, Provenance
from linewright.flow.model import Flow
from linewright.network.model import Floats, Ints, Network
from linewright.network.rows import ints
from linewright.season.harvest import Harvest
from linewright.season.program import Program, build
from linewright.season.solve import best, least_held
from linewright.season.tanks_model import Choice, Failure, Tanks
from linewright.season.vessels import Vessel
from linewright.simulate.letting_in import Quotas
from linewright.simulate.season import play_season

ENOUGH = 0.995
"""The part of the aim with which a combination is taken to be enough: the last vessel of a season is seldom full."""
MANY = 400
"""Vessels of one size, the most that are tried."""
SEARCHING = 0.6
"""The part of the time allowed in which combinations are searched; the rest is for what is lost if one fails."""
_DUST = 1e-6
"""A part of a vessel that is rounding and no vessel more."""
MORE = 6
"""Vessels that are added at most until the play agrees with the balance."""


class _TooLateError(Exception):
    """The time allowed ran out in the middle of a search."""


class _Search:
    """The program of a season with the counts of its vessels left open."""

    def __init__(self, network: Network, flow: Flow, harvest: Harvest, seed: int, stop: Callable[[], bool]) -> None:
        season = network.season
        assert season is not None
        self.network, self.flow, self.seed, self.stop = network, flow, seed, stop
        self.demanded = np.flatnonzero(network.items.demand > 0)
        wanted = np.full(len(network.items.ids), np.inf)
        total = network.items.demand * season.working_days
        if network.plan.makes is None:
            wanted[self.demanded] = total[self.demanded]
        self.aim = float(total[self.demanded].sum()) if network.plan.makes is None else harvest.potential
        self.program: Program = build(network, flow, wanted)
        self.planned = tuple(float(v.count) for v in self.program.vessels)
        self.known: dict[tuple[float, ...], float] = {}
        self.needed: dict[tuple[float, ...], float] = {}
        self.played_before: dict[tuple[float, ...], Interval] = {}

    def _held(self, counts: tuple[float, ...]) -> tuple[float, ...]:
        """What so many of each vessel hold, by pools, as the program is then set to."""
        held = tuple(pool.holds(counts) for pool in self.program.pools)
        for rows, most in zip(self.program.pool_rows, held, strict=True):
            for row in rows:
                self.program.less.right[row] = most
        return held

    def most(self, counts: tuple[float, ...]) -> float:
        """The bound of what is finished with so many of each vessel, in units of the products."""
        held = self._held(counts)
        if held not in self.known:
            found, scale = best(self.program, self.demanded)
            ends = [self.program.stock[int(i)] + self.program.days - 1 for i in self.demanded]
            self.known[held] = float(sum(found.x[end] for end in ends)) * scale
        return self.known[held]

    def least(self, vessel: int, counts: tuple[float, ...]) -> int | None:
        """The fewest of a vessel, the others as in ``counts``, with which the balance finishes the aim.

        None where no number is enough, or more than ``MANY``.
        """
        if not self.enough(tuple(math.inf if k == vessel else count for k, count in enumerate(counts))):
            return None
        number = next(q for q, pool in enumerate(self.program.pools) if vessel in pool.vessels)
        pool = self.program.pools[number]
        others = tuple(0.0 if k == vessel else count for k, count in enumerate(counts))
        held = self._held(others)
        key = (float(number), *(0.0 if q == number else most for q, most in enumerate(held)))
        if key not in self.needed:
            self.needed[key] = least_held(self.program, self.demanded, number, ENOUGH * self.aim)
        more = (self.needed[key] - held[number]) / pool.parts[pool.vessels.index(vessel)]
        return max(math.ceil(more - _DUST), 0) if more <= MANY else None

    def enough(self, counts: tuple[float, ...]) -> bool:
        """Whether the balance finishes the aim."""
        return self.most(counts) >= ENOUGH * self.aim

    def played(self, counts: tuple[float, ...], replications: int) -> Interval | None:
        """What is finished when it is played with so many; None where a station would be left without any."""
        if counts not in self.played_before:
            network = _with_vessels(self.network, self.program, counts, self.flow.started)
            if network is None:
                return None
            season = network.season
            assert season is not None
            run = play_season(
                network, starts=self.flow.started * season.working_days,
                quotas=Quotas(self.flow.mix, self.flow.choice_mix), replications=replications, seed=self.seed,
            )  # fmt: skip
            self.played_before[counts] = run.total
        return self.played_before[counts]


def find_tanks(
    network: Network,
    flow: Flow,
    harvest: Harvest,
    *,
    play: bool = True,
    replications: int = 4,
    budget_seconds: float = 30.0,
    seed: int = 0,
    stop: Callable[[], bool] | None = None,
) -> Tanks | None:
    """The vessels that the harvest needs; None where nothing in the plan is held for days.

    ``network`` and ``flow`` are of an average day (``over_the_season``). The search ends after ``budget_seconds`` with
    what it has found by then, and says what was not tried.
    """
    begun = time.perf_counter()
    search = _Search(network, flow, harvest, seed, stop or (lambda: False))
    vessels = search.program.vessels
    if not vessels:
        return None

    def spent(part: float) -> bool:
        return search.stop() or time.perf_counter() - begun > part * budget_seconds

    searching = partial(spent, SEARCHING)
    stations = list(dict.fromkeys(v.station for v in vessels))
    asked = replications if play else 0
    choices: list[Choice] = []
    missed: list[str] = []
    for station in stations:
        mine = [k for k, v in enumerate(vessels) if v.station == station]
        choices.append(_choice(search, station, mine, search.planned, asked, planned=True))
        edge, whole = _edge(search, mine, searching)
        choices += [_enough(search, station, mine, counts, asked, searching) for counts in edge]
        if not whole:
            missed.append(f"combinations of {station}")
    failures = _failures(search, asked, partial(spent, 1.0))
    kinds = [v.name for v in vessels if v.count >= 1]
    missed += [f"what is lost without one of {name}" for name in kinds[len(failures) :]]
    what = "; ".join(missed)
    said = f"The time allowed ran out. Not looked at, or not to the end: {what}. A longer --budget tries them."
    notes = [said] if missed else []
    return Tanks(
        stations=tuple(stations),
        sizes=tuple(tuple(v.size for v in vessels if v.station == station) for station in stations),
        choices=tuple(choices),
        failures=failures,
        aim=search.aim,
        unit=network.items.units[int(search.demanded[0])],
        money=network.plan.money,
        honesty=Honesty("exact" if not notes else "stopped", replications=replications if play else None,
                        notes=tuple(notes)),
        provenance=Provenance("tanks", __version__, network.fingerprint, seed, time.perf_counter() - begun),
        notes=tuple(notes),
    )  # fmt: skip


def _edge(search: _Search, mine: list[int], late: Callable[[], bool]) -> tuple[list[tuple[float, ...]], bool]:
    """The smallest combinations of the vessels of one station that are enough, the others being without limit.

    With one size it is a number; with two the edge is walked: one more of the larger, as few of the smaller as can be.
    Further sizes stay as planned. Also whether all of the edge was walked before it was too late.
    """
    found: list[tuple[float, ...]] = []
    try:
        for counts in _walk(search, mine, late):
            found.append(counts)
    except _TooLateError:
        return found, False
    return found, True


def _walk(search: _Search, mine: list[int], late: Callable[[], bool]) -> Iterator[tuple[float, ...]]:
    free = tuple(math.inf if k not in mine else count for k, count in enumerate(search.planned))

    def counts(small: int, large: int) -> tuple[float, ...]:
        out = list(free)
        out[mine[0]] = float(small)
        if len(mine) > 1:
            out[mine[1]] = float(large)
        return tuple(out)

    def least(vessel: int, large: int) -> int | None:
        if late():
            raise _TooLateError
        return search.least(vessel, counts(0, large))

    if len(mine) == 1:
        alone = least(mine[0], 0)
        if alone is not None:
            yield counts(alone, 0)
        return
    top, before = least(mine[1], 0), None
    for large in range((top if top is not None else MANY) + 1):
        small = least(mine[0], large)
        if small is not None and (before is None or small < before):
            yield counts(small, large)
            before = small
        if small == 0 or (large == 0 and small is None and top is None):
            break


def _enough(
    search: _Search, station: str, mine: list[int], counts: tuple[float, ...], replications: int,
    late: Callable[[], bool],
) -> Choice:  # fmt: skip
    """A combination with as many more of its smallest size as the play asks for, the others as many as are enough."""
    for more in range(MORE + 1):
        tried = list(counts)
        tried[mine[0]] += more
        choice = _choice(search, station, mine, tuple(tried), 0 if late() else replications, planned=False)
        if choice.played is None or late() or _sure(choice.played) >= ENOUGH:
            break
    return choice


def _sure(share: Interval) -> float:
    """The low end of an interval; of a single replication its value."""
    return share.low if np.isfinite(share.half_width) else share.mean


def _choice(
    search: _Search, station: str, mine: list[int], counts: tuple[float, ...], replications: int, *, planned: bool
) -> Choice:
    vessels = search.program.vessels
    most = search.most(counts) / search.aim
    played = search.played(counts, replications) if replications else None
    share = Interval(played.mean / search.aim, played.half_width / search.aim) if played is not None else None
    sizes = [vessels[k].holds for k in mine]
    volume = sum(size * counts[k] for size, k in zip(sizes, mine, strict=True))
    whole = tuple(int(counts[k]) for k in mine)
    return Choice(station, whole, volume, min(most, 1.0), share, planned)


def _failures(search: _Search, replications: int, late: Callable[[], bool]) -> tuple[Failure, ...]:
    """One vessel of each kind out of use, all else as planned."""
    network = search.network
    before = search.most(search.planned)
    seen = search.played(search.planned, replications) if replications else None
    price = _price(network, search.demanded)
    found = []
    for k, vessel in enumerate(search.program.vessels):
        if late() or vessel.count < 1:
            break
        less = tuple(count - 1 if j == k else count for j, count in enumerate(search.planned))
        lost = max(before - search.most(less), 0.0)
        after = search.played(less, replications) if replications else None
        played = None
        if seen is not None and after is not None:
            half = float(np.hypot(seen.half_width, after.half_width))
            played = Interval(seen.mean - after.mean, half)
        amount = lost if played is None else played.mean
        money = amount * price if np.isfinite(price) else None
        found.append(Failure(vessel.station, vessel.size, vessel.count, lost, played, money))
    return tuple(found)


def _price(network: Network, demanded: Ints) -> float:
    """What one unit sells for, of variants of one item their mean in the mix; nan where there are several products."""
    if len(demanded) > 1 and network.plan.makes is None:
        return float("nan")
    demand = network.items.demand[demanded]
    return float(network.items.sell[demanded] @ demand / demand.sum())


def _with_vessels(network: Network, program: Program, counts: tuple[float, ...], started: Floats) -> Network | None:
    """The network with other numbers of vessels; None where a station has none left."""
    places = network.stations.places.copy()
    sizes = list(network.stations.sizes)
    for station in dict.fromkeys(s for v in program.vessels for s in v.stations):
        kinds = [(v, n) for v, n in zip(program.vessels, counts, strict=True) if station in v.stations]
        enough = [(v, int(min(n, _useful(program, v, started)))) for v, n in kinds]
        places[station] = sum(n for _, n in enough)
        if sizes[station]:
            sizes[station] = tuple((v.holds, n) for v, n in enough if n > 0)
        if places[station] < 1:
            return None
    stations = replace(network.stations, places=ints(places.tolist()), sizes=tuple(sizes))
    return replace(network, stations=stations, notes={})


def _useful(program: Program, vessel: Vessel, started: Floats) -> int:
    """So many vessels that more cannot matter: four for every load of the season, and a few."""
    season = program.network.season
    assert season is not None
    routes = (program.legs[k].route for k in vessel.legs)
    loads = [
        float(started[route]) * season.working_days / load for route, load in zip(routes, vessel.loads, strict=True)
    ]
    return math.ceil(sum(4.0 * load + 4.0 for load in loads))
