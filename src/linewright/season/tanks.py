"""How many vessels of each size does this harvest need, and what is lost if one fails?

For every station of vessels the smallest combinations of sizes are searched with which the balance finishes the aim,
the other vessels being there without limit: the balance never finishes less with one vessel more, so walking along the
edge finds all of them and proves that nothing smaller can do. They are then played, and one of the smallest size is
added until the play agrees.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from linewright import __version__
from linewright.base.results import Honesty, Interval, Provenance
from linewright.flow.model import Flow
from linewright.network.model import Network
from linewright.network.rows import ints
from linewright.season.harvest import Harvest
from linewright.season.program import Program, build
from linewright.season.solve import best
from linewright.season.tanks_model import Choice, Failure, Tanks
from linewright.simulate.letting_in import Quotas
from linewright.simulate.season import play_season

ENOUGH = 0.995
"""The part of the aim with which a combination is taken to be enough: the last vessel of a season is seldom full."""
MANY = 400
"""Vessels of one size, the most that are tried."""
SEARCHING = 0.6
"""The part of the time allowed in which combinations are searched; the rest is for what is lost if one fails."""
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
        self.played_before: dict[tuple[float, ...], Interval] = {}

    def most(self, counts: tuple[float, ...]) -> float:
        """The bound of what is finished with so many of each vessel, in units of the products."""
        if counts not in self.known:
            for rows, count in zip(self.program.count_rows, counts, strict=True):
                for row in rows:
                    self.program.less.right[row] = count
            found, scale = best(self.program, self.demanded)
            ends = [self.program.stock[int(i)] + self.program.days - 1 for i in self.demanded]
            self.known[counts] = float(sum(found.x[end] for end in ends)) * scale
        return self.known[counts]

    def enough(self, counts: tuple[float, ...]) -> bool:
        """Whether the balance finishes the aim."""
        return self.most(counts) >= ENOUGH * self.aim

    def played(self, counts: tuple[float, ...], replications: int) -> Interval | None:
        """What is finished when it is played with so many; None where a station would be left without any."""
        if counts not in self.played_before:
            network = _with_vessels(self.network, self.program, counts)
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
    free = tuple(1e6 if k not in mine else count for k, count in enumerate(search.planned))

    def counts(small: int, large: int) -> tuple[float, ...]:
        out = list(free)
        out[mine[0]] = float(small)
        if len(mine) > 1:
            out[mine[1]] = float(large)
        return tuple(out)

    small = _least(lambda n: search.enough(counts(n, 0)), MANY, late)
    if len(mine) == 1:
        if small is not None:
            yield counts(small, 0)
        return
    top = _least(lambda n: search.enough(counts(0, n)), MANY, late)
    if top is None and small is None:
        return
    limit, before = (top if top is not None else MANY), None
    for large in range(limit + 1):
        high = small if before is None else before
        least = _least(partial(_is_enough, search, counts, large), high if high is not None else MANY, late)
        if least is None:
            continue
        if before is None or least < before:
            yield counts(least, large)
        before = least
        if least == 0:
            break


def _is_enough(search: _Search, counts: Callable[[int, int], tuple[float, ...]], large: int, small: int) -> bool:
    return search.enough(counts(small, large))


def _least(holds: Callable[[int], bool], most: int, late: Callable[[], bool]) -> int | None:
    """The least number for which a rising condition holds; None where it does not hold for ``most``.

    Raises _TooLateError when it is ``late`` before the number is known.
    """
    if late():
        raise _TooLateError
    if not holds(most):
        return None
    low, high = 0, most
    while low < high:
        if late():
            raise _TooLateError
        middle = (low + high) // 2
        if holds(middle):
            high = middle
        else:
            low = middle + 1
    return low


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
    price = float(network.items.sell[int(search.demanded[0])]) if len(search.demanded) == 1 else float("nan")
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


def _with_vessels(network: Network, program: Program, counts: tuple[float, ...]) -> Network | None:
    """The network with other numbers of vessels; None where a station has none left."""
    places = network.stations.places.copy()
    sizes = list(network.stations.sizes)
    for station in dict.fromkeys(s for v in program.vessels for s in v.stations):
        kinds = [(v, int(n)) for v, n in zip(program.vessels, counts, strict=True) if station in v.stations]
        enough = [(v, min(n, _useful(program, v.legs))) for v, n in kinds]
        places[station] = sum(n for _, n in enough)
        if sizes[station]:
            sizes[station] = tuple((v.holds, n) for v, n in enough if n > 0)
        if places[station] < 1:
            return None
    stations = replace(network.stations, places=ints(places.tolist()), sizes=tuple(sizes))
    return replace(network, stations=stations, notes={})


def _useful(program: Program, legs: tuple[int, ...]) -> int:
    """So many vessels that more cannot matter: one for every load of the season."""
    return 2 * program.days * max(len(legs), 1)
