"""Which plan makes more: several networks played under the same luck, each compared with the first.

Luck is keyed by (replication, operation, how many times it has started, purpose), stoppages by (place, ordinal), so a
changed plan meets the same times and stoppages and only the difference that the change makes is left. Differences are
paired by replication; their intervals hold for all networks together.
"""

from __future__ import annotations

import math
import os
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import chain, islice

import numpy as np

import linewright
from linewright.base.problems import Problem, ProblemsError
from linewright.base.results import Honesty, Interval, Provenance, Shown, Table
from linewright.network.model import Floats, Network
from linewright.simulate.by_origin import as_written
from linewright.simulate.engine import EndlessInstantError, TooMuchError
from linewright.simulate.estimates import LEVEL, edge_of, t_value, warm_up, widened, window
from linewright.simulate.letting_in import Quotas
from linewright.simulate.replication import StoppedError, Weeks, replicate
from linewright.simulate.simulate import Prepared, make_ready, prepare, weeks_for

METHOD = (
    "differences paired by replication under common random numbers; Student's t with Bonferroni's correction, so that "
    "all intervals together hold with 95 %"
)
EARLY = 2
"""Replications that every network gets before any gets more."""
NOT_BEGUN = Problem("", "not played: the time allowed was too short, or it was stopped")
Task = tuple[int, int]
"""A replication and the number of a network."""
Done = Callable[[int, int], None]
"""Called with the runs done and the runs wanted."""


@dataclass(frozen=True, slots=True)
class Compared:
    """One network: its ``rate`` (an interval of its own) and ``gain``, rate less that of the first network.

    ``rate_of_each`` [n_replications]. ``gain`` is None for the first; both are None where ``problem`` says why it could
    not be played.
    """

    name: str
    rate: Interval | None
    gain: Interval | None
    rate_of_each: Floats
    problem: Problem | None = None


@dataclass(frozen=True, slots=True)
class Comparison(Shown):
    """Networks under the same luck; rates are units of all demanded items for each working day after the warm-up.

    ``networks`` in the order given, the first being what the others are compared with. All share replications, weeks
    and warm-up (the longest that any of them needs).
    """

    networks: tuple[Compared, ...]
    release: str
    method: str
    weeks: int
    warm_up_weeks: int
    provenance: Provenance
    honesty: Honesty

    @property
    def first(self) -> Compared:
        """What the others are compared with."""
        return self.networks[0]

    def to_table(self) -> Table:
        """Rate and gain of every network."""
        rows = []
        for c in self.networks:
            rate = c.rate.mean if c.rate is not None else None
            gain = (c.gain.mean, c.gain.low, c.gain.high) if c.gain is not None else (None, None, None)
            rows.append((c.name, rate, *gain, c.problem.what if c.problem is not None else ""))
        columns = ("plan", "rate [/day]", "gain [/day]", "from", "to", "problem")
        return Table("Compared under the same luck", columns, tuple(rows), self.method)


def compare(
    networks: Sequence[Network],
    seed: int = 0,
    *,
    names: Sequence[str] | None = None,
    quotas: Sequence[Quotas | None] | None = None,
    release: str | None = None,
    open_pieces: int | None = None,
    replications: int = 10,
    days: float | None = None,
    budget_seconds: float = math.inf,
    begin_within: float = math.inf,
    threads: int | None = None,
    progress: Done | None = None,
    stop: Callable[[], bool] | None = None,
) -> Comparison:
    """Play several networks under the same luck and compare each with the first.

    The gain of network i in replication r is d[i, r] = rate[i, r] - rate[0, r]; its interval is
    mean d[i] +- t(1 - 0.05 / (2 k), n - 1) s[i] / sqrt(n) for k networks compared and n replications, which holds for
    all k together whatever their dependence (Bonferroni's inequality; Dunn 1961). It is no narrower than the largest
    load on the way to a finished unit, spread over the window's days, for that much may fall to either side of the
    window's ends, and wider by what depends on where the window lies. Only where every week of every replication is
    the same is the gain exactly nothing.

    ``quotas`` [n_networks] are the shares of the material balances. First every network gets two replications, one
    network after the other; those not begun ``begin_within`` seconds are left out, and say so by their ``problem``, and
    are not even laid out.
    Then replications are done for all in turn, so that what is done when ``budget_seconds`` is up or ``stop`` says True
    (asked often) is whole.

    Raises ProblemsError where the first network cannot be played, or nothing was done before the stop. A later network
    that cannot be played is told by its ``problem``.
    """
    begin = time.perf_counter()
    if not networks:
        raise ProblemsError([Problem("", "there is no network to compare")])
    players = [
        _Player(partial(prepare, network, quotas=quotas[k] if quotas is not None else None, release=release,
                        open_pieces=open_pieces))
        for k, network in enumerate(networks)
    ]  # fmt: skip
    players[0].ready()
    weeks = max(weeks_for(network, days) for network in networks)
    make_ready()
    round_ = _Round(players, weeks, seed, replications, begin + budget_seconds, begin + begin_within, progress, stop)
    round_.play(max(threads if threads is not None else os.cpu_count() or 1, 1))
    if isinstance(players[0].failed, Problem):
        raise ProblemsError([players[0].failed])
    n = round_.whole()
    if n == 0:
        raise ProblemsError([Problem("", "the comparison was stopped before anything was done")])
    notes = ["stopped on request"] if round_.stopped else []
    notes += [f"the time allowed ran out after {n} of {replications} replications"] if round_.out_of_time else []
    cut, cycle, told = _common_warm_up(players, n, weeks)
    return Comparison(
        networks=_compared(players, names, n, cut, cycle),
        release=_first(players).release,
        method=METHOD,
        weeks=weeks,
        warm_up_weeks=cut,
        provenance=Provenance(
            "compare", linewright.__version__, networks[0].fingerprint, seed, time.perf_counter() - begin
        ),
        honesty=Honesty("stopped" if notes else "sampled", replications=n, notes=(*notes, *told)),
    )


@dataclass(slots=True)
class _Player:
    """A network being played: how to make it ready, what has been played, or why it cannot be.

    It is made ready when its turn comes, by whichever thread plays it first, while others play.
    """

    make: Callable[[], Prepared]
    prepared: Prepared | None = None
    runs: list[Weeks] = field(default_factory=list)
    failed: Problem | None = None
    lock: threading.Lock = field(default_factory=threading.Lock)

    def ready(self) -> Prepared | None:
        """The network ready to be run; None where it cannot be."""
        with self.lock:
            if self.prepared is None and self.failed is None:
                try:
                    self.prepared = self.make()
                except ProblemsError as wrong:
                    self.failed = wrong.problems[0]
        return self.prepared


def _first(players: list[_Player]) -> Prepared:
    found = players[0].prepared
    assert found is not None  # a first network that cannot be played has been raised
    return found


class _Round:
    """All replications of all networks, replication by replication, on several threads."""

    def __init__(
        self,
        players: list[_Player],
        weeks: int,
        seed: int,
        replications: int,
        deadline: float,
        begin_by: float,
        progress: Done | None,
        stop: Callable[[], bool] | None,
    ) -> None:
        self.players, self.weeks, self.seed, self.replications = players, weeks, seed, replications
        self.deadline, self.begin_by, self.progress, self.stop = deadline, begin_by, progress, stop
        self.stopped = False
        self.out_of_time = False

    def play(self, workers: int) -> None:
        """Play until all is done, the time is up, or a stop is asked for."""
        early = min(EARLY, self.replications)
        first = _staggered(early, len(self.players))
        then = ((number, k) for number in range(early, self.replications) for k in range(len(self.players)))
        tasks = chain(first, then)
        done = 0
        with ThreadPoolExecutor(workers) as pool:
            for (_, k), run in _in_order(pool, self._one, tasks, 4 * workers):
                done += 1
                if run is not None:
                    self.players[k].runs.append(run)
                if self.progress is not None and not self._over():
                    self.progress(done, self.replications * len(self.players))
        for player in self.players[1:]:
            if player.failed is None and len(player.runs) < early <= len(self.players[0].runs):
                player.failed = NOT_BEGUN

    def whole(self) -> int:
        """Replications that every network that can be played has done."""
        return min((len(p.runs) for p in self.players if p.failed is None), default=0)

    def _over(self) -> bool:
        return self.stopped or self.out_of_time

    def _one(self, task: Task) -> Weeks | None:
        number, k = task
        player = self.players[k]
        if self.players[0].failed is not None or player.failed is not None or self.stopped:
            return None
        if self.stop is not None and self.stop():
            self.stopped = True
            return None
        if number == 0 and k > 0 and time.perf_counter() > self.begin_by:
            player.failed = NOT_BEGUN
            return None
        if number >= EARLY and (self.out_of_time or time.perf_counter() > self.deadline):
            self.out_of_time = True
            return None
        prepared = player.ready()
        if prepared is None:
            return None
        try:
            layout, template = prepared.layout, prepared.template
            run = replicate(layout, template, seed=self.seed, replication=number, weeks=self.weeks, stop=self.stop)
        except StoppedError:
            self.stopped = True
            return None
        except ProblemsError as wrong:
            player.failed = wrong.problems[0]
            return None
        except (TooMuchError, EndlessInstantError):
            player.failed = Problem("", "work piles up, or goes round, without end")
            return None
        return _light(run, prepared)


def _staggered(early: int, networks: int) -> Iterator[Task]:
    """The first replications, one network after the other; each begins before the one before it has done its last.

    So one thread lays a network out while another plays.

    >>> list(_staggered(2, 3))
    [(0, 0), (0, 1), (1, 0), (0, 2), (1, 1), (1, 2)]
    """
    for turn in range(networks + early - 1):
        for number in range(early):
            if 0 <= turn - number < networks:
                yield number, turn - number


def _in_order(
    pool: ThreadPoolExecutor, work: Callable[[Task], Weeks | None], tasks: Iterator[Task], ahead: int
) -> Iterator[tuple[Task, Weeks | None]]:
    """Results in the order of the tasks, only so many of them under way at once."""
    waiting = [(task, pool.submit(work, task)) for task in islice(tasks, ahead)]
    while waiting:
        task, future = waiting.pop(0)
        yield task, future.result()
        waiting += [(task, pool.submit(work, task)) for task in islice(tasks, 1)]


def _light(run: Weeks, prepared: Prepared) -> Weeks:
    """A replication by what was written, without the record of every piece that left: many are kept at once."""
    return replace(as_written(run, prepared.names), gone=run.gone[:0].copy(), log=None)


def _common_warm_up(players: list[_Player], n: int, weeks: int) -> tuple[int, int, tuple[str, ...]]:
    """The longest warm-up that any network needs, for all are looked at in the same weeks; their longest rhythm."""
    found = [warm_up(p.runs[:n], p.prepared.wanted, weeks) for p in players if p.prepared is not None and p.runs]
    restless = sum(not one.settled for one in found)
    notes = (f"{restless} of {len(found)} plans do not settle in {weeks} weeks",) if restless else ()
    cut, cycle = max(one.weeks for one in found), max(one.cycle for one in found)
    return (cut + (weeks - cut) % cycle if weeks - cut >= cycle else cut), cycle, notes


def _compared(
    players: list[_Player], names: Sequence[str] | None, n: int, cut: int, cycle: int
) -> tuple[Compared, ...]:
    days_week = _first(players).network.days_week
    weekly = [_weekly(player, n) for player in players]
    weeks = weekly[0].shape[1] - cut
    load = _largest_load(players[0], n, cut) / (weeks * days_week)
    compared = max(sum(player.failed is None for player in players[1:]), 1)
    out = []
    for k, player in enumerate(players):
        name = names[k] if names is not None else ("as it is" if k == 0 else f"plan {k}")
        if player.failed is not None:
            out.append(Compared(name, None, None, np.zeros(0), player.failed))
            continue
        rates = weekly[k][:, cut:].sum(axis=1) / (weeks * days_week)
        gain = None
        if k:
            more = weekly[k] - weekly[0]
            found = simultaneous(more[:, cut:].sum(axis=1) / (weeks * days_week), compared, load if more.any() else 0.0)
            gain = widened(found, edge_of(more, cut, cycle) / days_week)
        edge = edge_of(weekly[k], cut, cycle) / days_week
        out.append(Compared(name, widened(simultaneous(rates, 1, load), edge), gain, rates))
    return tuple(out)


def _weekly(player: _Player, n: int) -> Floats:
    """Units of all demanded items finished in every week [n, n_weeks]."""
    if player.prepared is None or player.failed is not None:
        return np.zeros((0, 1))
    demanded = player.prepared.wanted
    return np.array([np.diff(run.finished[:, demanded].sum(axis=1)) for run in player.runs[:n]])


def _largest_load(player: _Player, n: int, cut: int) -> float:
    """The largest load on the way to a finished unit, in finished units: it may fall to either side of the window."""
    assert player.prepared is not None
    network = player.prepared.network
    finished = sum(float(window(run.finished, cut)[player.prepared.wanted].sum()) for run in player.runs[:n])
    runs = np.sum([window(run.runs, cut) for run in player.runs[:n]], axis=0)
    p, written = network.operations, player.prepared.names.operation.tolist()
    loads = [
        float(p.load_most[o]) * finished / float(runs[step])
        for o, step in enumerate(written)
        if runs[step] > 0 and not p.continuous[o]
    ]
    return max([1.0, *loads])


def simultaneous(differences: Floats, compared: int, resolution: float = 0.0) -> Interval:
    """Mean of paired differences with an interval that holds for ``compared`` of them together.

    Half-width t(1 - 0.05 / (2 k), n - 1) s / sqrt(n), and no less than ``resolution``, below which a difference cannot
    be seen; infinite for a single replication.

    >>> simultaneous(np.array([1.0, 2.0, 3.0]), 1).half_width  # Student's t of 2 degrees of freedom is 4.303
    2.484...
    """
    n = len(differences)
    mean = float(differences.mean())
    if n < 2:
        return Interval(mean, math.inf, LEVEL)
    t = t_value(n, 1 - (1 - LEVEL) / compared)
    return Interval(mean, max(t * float(differences.std(ddof=1)) / math.sqrt(n), resolution), LEVEL)
