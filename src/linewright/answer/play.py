"""Simulates a plan within a time budget for an answer: as planned, then flat out, then one day event by event."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, fields, replace

import numpy as np

from linewright.answer.simulated import FLAT_OUT, Day, Simulated, edges
from linewright.base.calendar import DAY, WEEK
from linewright.base.problems import ProblemsError
from linewright.base.results import Interval
from linewright.base.trace import Record, Trace
from linewright.flow.model import Flow
from linewright.network.model import Network
from linewright.simulate import Quotas, Simulation, simulate

Progress = Callable[[str, int, int, Interval | None], None]
"""Called with how work is let in, replications done, replications wanted, and the rate so far."""
Stop = Callable[[], bool]
PLANNED = 0.4
"""The part of the time budget that the plan as it stands may take; flat out has what is left."""


TRACED = 400_000
"""Events that may be traced for the one day that a report shows: each makes two or three records of 64 bytes."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What is asked of a simulation; None leaves it to the plan or to the engine.

    ``days`` calendar days; ``half_width`` a share of the rate (0.01 is 1 %); ``budget_seconds`` for everything
    together; ``release`` is "takt", "pull" or "flat out"; ``trace`` keeps every event of the first replication.
    """

    days: float | None = None
    replications: int | None = None
    half_width: float | None = 0.01
    seed: int = 0
    threads: int | None = None
    release: str | None = None
    open_pieces: int | None = None
    budget_seconds: float = 20.0
    trace: bool = False


def play(
    network: Network, flow: Flow, wish: Wish, progress: Progress | None = None, stop: Stop | None = None
) -> Simulation:
    """Simulate one way of letting work in, with the shares that the material balance found.

    Raises ProblemsError for a plan that cannot be played or gets stuck.
    """
    way = wish.release or network.plan.release

    def tell(done: int, wanted: int, rate: Interval | None) -> None:
        if progress is not None:
            progress(way, done, wanted, rate)

    return simulate(
        network,
        days=wish.days,
        replications=wish.replications,
        half_width=wish.half_width if wish.replications is None else None,
        seed=wish.seed,
        quotas=Quotas(flow.mix, flow.choice_mix),
        release=wish.release,
        open_pieces=wish.open_pieces,
        budget_seconds=wish.budget_seconds,
        threads=wish.threads,
        progress=tell,
        trace=wish.trace,
        stop=stop,
    )


def play_both(
    network: Network,
    flow: Flow,
    wish: Wish,
    progress: Progress | None = None,
    stop: Stop | None = None,
    *,
    most: bool = True,
) -> Simulated:
    """Simulate as planned, and flat out where ``most`` asks for it. Raises ProblemsError as ``play`` does."""
    began = time.perf_counter()
    planned = play(
        network, flow, replace(wish, budget_seconds=PLANNED * wish.budget_seconds), progress=progress, stop=stop
    )
    found = Simulated(planned, None, edges(network), network.days_week)
    if planned.honesty.status == "stopped":
        return found
    found = replace(found, day=one_day(network, flow, wish, planned))
    if not most or planned.release == FLAT_OUT:
        return found
    left = max(wish.budget_seconds - (time.perf_counter() - began), 0.0)
    try:
        flat_out = play(network, flow, replace(wish, release=FLAT_OUT, budget_seconds=left), progress, stop)
    except ProblemsError:
        return found  # only the plan's own way of letting work in must be playable
    return replace(found, flat_out=flat_out)


def one_day(network: Network, flow: Flow, wish: Wish, planned: Simulation) -> Day:
    """The middle working day of the week after the warm-up, event by event; of an earlier week in a busy plant.

    A trace is kept from the beginning, so the weeks are no more than ``TRACED`` events allow, but two.
    """
    runs = max(planned.honesty.replications or 1, 1)
    week_events = max(planned.events / (runs * planned.weeks), 1.0)
    weeks = max(min(planned.warm_up_weeks + 1, int(TRACED / week_events)), 2)
    run = play(network, flow, replace(wish, days=7.0 * weeks, replications=1, trace=True))
    begin = (weeks - 1) * WEEK + _middle_day(network) * DAY
    assert run.trace is not None
    return Day(run.trace.between(begin, begin + DAY), _under_way(run.trace, begin), begin, begin + DAY)


def _under_way(trace: Trace, begin: int) -> tuple[Record, ...]:
    """Operations that began and have not ended by ``begin`` ns: the last word on a piece and a step is its start."""
    before = trace.between(0, begin)
    words = before.names["event"]
    told = np.isin(before.event, [words.index(word) for word in ("starts", "ends", "scrapped") if word in words])
    rows = np.flatnonzero(told)[::-1]
    _, last = np.unique(np.stack([before.lot[rows], before.operation[rows]]), axis=1, return_index=True)
    found = np.sort(rows[last])
    found = found[before.event[found] == words.index("starts")] if "starts" in words else found[:0]
    columns = {f.name: getattr(before, f.name)[found] for f in fields(before) if f.name != "names"}
    return replace(before, **columns).records


def _middle_day(network: Network) -> int:
    """The day of the week in the middle of the working days, Monday is 0."""
    calendar = network.open_calendar
    worked = sorted({int(at) // DAY for at, level in zip(calendar.at, calendar.level, strict=True) if level > 0})
    return worked[len(worked) // 2] if worked else 0
