"""What really happens: replications of the plan week by week, until the answer is sharp enough or the time is up.

Replications are independent and numbered; number and seed key all luck. They run on several threads and are put
together in order, so the answer does not depend on the number of threads.
"""

from __future__ import annotations

import math
import os
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from linewright.base.calendar import DAY, WEEK
from linewright.base.problems import Problem, Problems, ProblemsError
from linewright.base.results import Interval
from linewright.network.model import Network
from linewright.simulate.by_origin import Names, as_written, names_of
from linewright.simulate.diary import WHOLE, Stretch
from linewright.simulate.engine import EndlessInstantError, TooMuchError
from linewright.simulate.estimates import WarmUp, edge_of, interval, warm_up, widened, window
from linewright.simulate.families import families_of, let_in_family
from linewright.simulate.kernel.compiled import machine_code, without_compiler
from linewright.simulate.layout import lay_out
from linewright.simulate.layout_base import Layout
from linewright.simulate.layout_flows import lay_out_flows
from linewright.simulate.letting_in import Quotas, equal_quotas, lead_of, let_in
from linewright.simulate.memory import Template
from linewright.simulate.model import Simulation
from linewright.simulate.replication import StoppedError, Weeks, replicate
from linewright.simulate.telling import tell

LEAST = 4
"""Replications that are always played, whatever the time allowed; then the interval is looked at."""
MOST = 1000
WEEKS = 8
"""Weeks that are played at least, unless days are asked for or something else is said."""
MOST_WEEKS = 208
RELEASES = ("takt", "pull", "flat out")
Progress = Callable[[int, int, Interval | None], None]
"""Called with replications done, replications wanted, and the rate so far."""


@dataclass(slots=True)
class Prepared:
    """A network ready to be run."""

    network: Network
    layout: Layout
    template: Template
    release: str
    demanded: list[int]
    targets: dict[int, float]
    names: Names

    @property
    def wanted(self) -> list[int]:
        """Demanded items by what was written, variants together."""
        return self.names.demanded(self.demanded)

    def told(self, runs: list[Weeks]) -> list[Weeks]:
        """Replications by what was written."""
        return [as_written(run, self.names) for run in runs]


def prepare(
    network: Network,
    *,
    quotas: Quotas | None = None,
    release: str | None = None,
    open_pieces: int | None = None,
    laid: Layout | None = None,
) -> Prepared:
    """Lay a network out in memory, or go on from ``laid`` out. Raises ProblemsError for what is not played."""
    mode = release if release is not None else network.plan.release
    problems = Problems()
    if network.season is not None:
        what = "a plan with a horizon has no steady state: its season is played instead"
        problems.error("plan.from", what, hint="ask for the answer of the plan, or simulate_season")
    if mode not in RELEASES:
        problems.error("plan.release", "no such way to let work in", value=mode, expected=", ".join(RELEASES))
    demanded = np.flatnonzero(network.items.demand > 0).tolist()
    if not demanded:
        problems.error("plan.demand", "nothing is demanded, so there is nothing to make", hint='demand = "36 each/day"')
    for item in demanded:
        if not (network.routes.item == item).any():
            problems.error(f"items.{network.items.ids[item]}", "no route makes this item, which is demanded")
    problems.raise_errors()
    layout = laid.copy() if laid is not None else lay_out(network)
    wanted = open_pieces if open_pieces is not None else network.plan.open_pieces
    families = families_of(network)
    targets = let_in(layout, mode, wanted, quotas if quotas is not None else equal_quotas(network), families)
    for family in dict.fromkeys(families.values()):
        targets |= let_in_family(layout, family, mode, wanted)
    lay_out_flows(layout)
    return Prepared(network, layout, layout.template(), mode, demanded, targets, names_of(network))


def weeks_for(network: Network, days: float | None, least: int = WEEKS) -> int:
    """Weeks to simulate: as asked, in whole weeks; else ``least``, and six times the longest unhindered way through."""
    if days is not None:
        return max(math.ceil(days * DAY / WEEK - 1e-9), 1)
    lead = lead_of(network)
    return max(least, math.ceil(6 * lead / WEEK))


def simulate(
    network: Network,
    *,
    days: float | None = None,
    replications: int | None = None,
    half_width: float | None = None,
    seed: int = 0,
    quotas: Quotas | None = None,
    release: str | None = None,
    open_pieces: int | None = None,
    budget_seconds: float = 20.0,
    threads: int | None = None,
    progress: Progress | None = None,
    trace: bool | tuple[int, int] = False,
    still: bool = False,
    stop: Callable[[], bool] | None = None,
    laid: Layout | None = None,
    least_weeks: int = WEEKS,
) -> Simulation:
    """Play the plan event by event and give the rate, and what explains it, with intervals.

    ``days`` are calendar days, rounded up to whole weeks; without them as many as it takes to settle, and
    ``least_weeks``.
    ``replications`` fixes their number; else there are four, and with ``half_width`` (a share of the rate, 0.01 is 1 %)
    as many more as it takes within ``budget_seconds``. These are seconds of computing, shared by the ``threads``: on a
    busy machine the same work takes longer and gives the same answer. Making the engine ready is not counted.
    ``quotas`` are the shares that the material balance found; without them declared shares hold, else equal ones.
    ``release`` and ``open_pieces`` stand in for what the plan says. ``trace`` keeps every event of the first
    replication; from and to, in ns of the last simulated week, keep that stretch and the beginnings of what was under
    way then. ``still`` takes the luck out: mean times, and branches by rotors. ``stop`` is asked often; once it says
    True, what is done is answered, and the answer says so. ``laid`` is what ``lay_out`` gives for this network: worked
    out once where one network is played in several ways.

    Raises ProblemsError for a plan that cannot be played, never lets the clock move, or gets stuck (StuckError).
    """
    prepared = prepare(network, quotas=quotas, release=release, open_pieces=open_pieces, laid=laid)
    make_ready()  # before any thread and any budget
    begin = time.perf_counter()
    fixed = replications is not None
    first = max(replications if replications is not None else (1 if still else LEAST), 1)
    workers = max(threads if threads is not None else os.cpu_count() or 1, 1)
    weeks, spent = weeks_for(network, days, least_weeks), 0.0
    shorter: _Runner | None = None
    while True:
        allowed = budget_seconds * workers - spent
        runner = _Runner(prepared, weeks, seed, _stretch(network, trace, weeks), still, stop, allowed)
        runner.run_up_to(first, workers, progress)
        if not runner.done and shorter is not None:  # stopped in what was to be twice as long: the shorter one stands
            runner, weeks = shorter, weeks // 2
            runner.stopped = True
            break
        if not runner.done:
            raise ProblemsError([Problem("", "the simulation was stopped before anything was done")])
        sharpen = not fixed and half_width is not None and not still
        while True:
            may_grow = days is None and weeks < MOST_WEEKS and 3 * (spent + runner.spent) <= budget_seconds * workers
            longer = may_grow and not runner.stopped and not runner.long_enough(half_width if sharpen else None)
            more = 0 if longer or not sharpen or half_width is None else runner.wanted(half_width)
            if more <= len(runner.done):
                break
            runner.run_up_to(more, workers, progress)
        spent += runner.spent
        if not longer:
            break
        weeks, shorter = 2 * weeks, runner
    return tell(
        prepared.network, prepared.layout, prepared.release, prepared.demanded, runner.done,
        weeks=weeks, seed=seed, seconds=time.perf_counter() - begin, wanted=half_width, stopped=runner.stopped,
        out_of_time=runner.out_of_time, targets=prepared.targets,
    )  # fmt: skip


def make_ready() -> None:
    """Have the engine's machine code at hand: half a second, and some seconds the first time on every machine."""
    if not without_compiler():
        machine_code()


def _stretch(network: Network, trace: bool | tuple[int, int], weeks: int) -> Stretch | None:
    """What is to be traced. What is under way began at most about twice the unhindered lead time, and a week, ago."""
    if isinstance(trace, bool):
        return WHOLE if trace else None
    begin, end = ((weeks - 1) * WEEK + at for at in trace)
    return Stretch(begin, end, max(begin - WEEK - 2 * math.ceil(lead_of(network)), 0))


def _next_target(done: int, rate: Interval, half_width: float) -> int:
    """Replications that should do, at most twice those done: the half-width falls with their square root."""
    if rate.mean <= 0 or not math.isfinite(rate.half_width):
        return 2 * done
    need = math.ceil(done * (rate.half_width / (half_width * rate.mean)) ** 2 * 1.1)
    return min(max(need, done + 2), 2 * done, MOST)


def rates_of_each(runs: list[Weeks], prepared: Prepared, cut: int, weeks: int) -> list[float]:
    """Finished units of all demanded items per working day, for each replication."""
    days = (weeks - cut) * prepared.network.days_week
    return [float(window(run.finished, cut)[prepared.demanded].sum()) / days for run in runs]


def rate_so_far(runs: list[Weeks], prepared: Prepared, weeks: int) -> Interval:
    """The rate after the warm-up, of what has been done."""
    return _rate_and_edge(runs, prepared, weeks)[0] if runs else Interval(0.0, math.inf)


def _rate_and_edge(runs: list[Weeks], prepared: Prepared, weeks: int) -> tuple[Interval, float, WarmUp]:
    """The rate, what of its half-width the edges of the window decide, and the warm-up."""
    told = prepared.told(runs)
    warm = warm_up(told, prepared.wanted, weeks)
    output = np.array([np.diff(run.finished[:, prepared.wanted].sum(axis=1)) for run in told])
    edge = edge_of(output, warm.weeks, warm.cycle) / prepared.network.days_week
    return widened(interval(rates_of_each(runs, prepared, warm.weeks, weeks)), edge), edge, warm


class _Runner:
    """Runs replications in order on several threads, until told to stop."""

    def __init__(
        self,
        prepared: Prepared,
        weeks: int,
        seed: int,
        trace: Stretch | None,
        still: bool,
        stop: Callable[[], bool] | None,
        allowed: float,
    ) -> None:
        self.prepared, self.weeks, self.seed, self.trace, self.still = prepared, weeks, seed, trace, still
        self.stop, self.allowed, self.spent = stop, allowed, 0.0
        self.lock = threading.Lock()
        self.done: list[Weeks] = []
        self.stopped = False
        self.out_of_time = False

    def run_up_to(self, target: int, workers: int, progress: Progress | None) -> None:
        """Have ``target`` replications done, unless stopped or out of time; ``LEAST`` are finished in any case."""
        numbers = range(len(self.done), target)
        if workers == 1:
            results: Iterator[Weeks | None] = map(self._one, numbers)
            self._collect(results, target, progress)
            return
        with ThreadPoolExecutor(workers) as pool:
            self._collect(pool.map(self._one, numbers), target, progress)

    def long_enough(self, half_width: float | None) -> bool:
        """Whether the plant settles within the weeks, and their edges leave room for the half-width asked for.

        Asked again as replications are added: few of them cannot tell a slow drift from luck.
        """
        rate, edge, warm = _rate_and_edge(self.done, self.prepared, self.weeks)
        return warm.settled and (half_width is None or edge <= half_width * rate.mean)

    def wanted(self, half_width: float) -> int:
        """How many replications to have done next; no more than there are, where they are enough or time is up."""
        rate = rate_so_far(self.done, self.prepared, self.weeks)
        enough = rate.half_width <= half_width * rate.mean or len(self.done) >= MOST
        done = self.stopped or self.out_of_time or enough
        return len(self.done) if done else _next_target(len(self.done), rate, half_width)

    def _collect(self, results: Iterator[Weeks | None], target: int, progress: Progress | None) -> None:
        for result in results:
            if result is None:
                break
            self.done.append(result)
            if progress is not None:
                progress(len(self.done), target, rate_so_far(self.done, self.prepared, self.weeks))

    def _one(self, number: int) -> Weeks | None:
        """One replication; None where it was stopped."""
        if self.stopped or (self.out_of_time and number >= LEAST):
            return None
        if self.stop is not None and self.stop():
            self.stopped = True
            return None
        if self.spent > self.allowed and number >= LEAST:
            self.out_of_time = True
            return None
        begin = time.thread_time()
        try:
            return replicate(
                self.prepared.layout, self.prepared.template, seed=self.seed, replication=number, weeks=self.weeks,
                trace=self.trace if number == 0 else None, still=self.still, stop=self.stop,
            )  # fmt: skip
        except StoppedError:
            self.stopped = True
            return None
        except TooMuchError:
            raise ProblemsError([_too_much()]) from None
        except EndlessInstantError as endless:
            raise ProblemsError([_endless(self.prepared, endless.operation)]) from None
        finally:
            with self.lock:
                self.spent += time.thread_time() - begin


def _too_much() -> Problem:
    return Problem(
        "plan.demand",
        "so much work piles up that it cannot be followed any more",
        hint='ask for fewer days, a lower demand, or let work in flat out: release = "flat out"',
    )


def _endless(prepared: Prepared, operation: int) -> Problem:
    operations = prepared.network.operations
    return Problem(
        operations.paths[operation],
        f"{operations.ids[operation]} is done again and again without any time passing",
        hint="give an operation of this loop a time",
    )
