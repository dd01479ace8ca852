"""Simulates a plan within a time budget for an answer: as planned, then flat out, then one day event by event."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from linewright.answer.simulated import FLAT_OUT, Day, Simulated, edges
from linewright.base.calendar import DAY, WEEK
from linewright.base.problems import ProblemsError
from linewright.base.results import Interval
from linewright.capacity.model import Capacity
from linewright.flow.model import Flow
from linewright.network.model import Network
from linewright.simulate import Quotas, Simulation, StuckError, few_open, make_ready, simulate
from linewright.simulate.layout import lay_out
from linewright.simulate.layout_base import Layout
from linewright.simulate.season import play_season
from linewright.simulate.season_model import SeasonRun
from linewright.simulate.simulate import WEEKS

Progress = Callable[[str, int, int, Interval | None], None]
"""Called with how work is let in, replications done, replications wanted, and the rate so far."""
Stop = Callable[[], bool]
PLANNED = 0.4
"""The part of the time budget that the plan as it stands may take; flat out has the rest."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What is asked of a simulation; None leaves it to the plan or to the engine.

    ``days`` calendar days; ``half_width`` a share of the rate (0.01 is 1 %); ``budget_seconds`` for everything
    together, of computing as the engine counts them; ``release`` is "takt", "pull" or "flat out"; ``trace`` keeps every
    event of the first replication, or of a stretch of its last week; ``least_weeks`` are played without ``days``.
    """

    days: float | None = None
    replications: int | None = None
    half_width: float | None = 0.01
    seed: int = 0
    threads: int | None = None
    release: str | None = None
    open_pieces: int | None = None
    budget_seconds: float = 20.0
    trace: bool | tuple[int, int] = False
    least_weeks: int = WEEKS


def play(
    network: Network, flow: Flow, wish: Wish, progress: Progress | None = None, stop: Stop | None = None,
    laid: Layout | None = None,
) -> Simulation:  # fmt: skip
    """Simulate one way of letting work in, with the shares that the material balance found.

    ``laid`` is the network laid out, where it is played in several ways.

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
        laid=laid,
        least_weeks=wish.least_weeks,
    )


def play_both(
    network: Network,
    flow: Flow,
    wish: Wish,
    progress: Progress | None = None,
    stop: Stop | None = None,
    capacity: Capacity | None = None,
    told: Callable[[Simulated], None] | None = None,
) -> Simulated:
    """Simulate as planned and flat out; flat out only where the bounds of ``capacity`` rule the demand out.

    A demand that is out of reach has no steady state by takt: work piles up for ever. The middle working day of the
    last week of the first is kept event by event. ``told`` is told the first as soon as it is there. Raises
    ProblemsError as ``play`` does.
    """
    laid = lay_out(network) if network.season is None else None
    make_ready()
    first = replace(wish, budget_seconds=PLANNED * wish.budget_seconds, trace=middle_day(network))
    if capacity is not None and not capacity.makes:
        planned = play_flat_out(network, flow, replace(first, release=FLAT_OUT), progress, stop, capacity, laid)
    else:
        planned = play(network, flow, first, progress, stop, laid)
    found = Simulated(replace(planned, trace=None), None, edges(network), network.days_week, _day(network, planned))
    if planned.honesty.status == "stopped":
        return found
    if planned.release == FLAT_OUT:
        return found
    if told is not None:
        told(found)
    rest = replace(wish, release=FLAT_OUT, budget_seconds=(1 - PLANNED) * wish.budget_seconds)
    try:
        return replace(found, flat_out=play_flat_out(network, flow, rest, progress, stop, capacity, laid))
    except ProblemsError:
        return found  # only the plan's own way of letting work in must be playable


def play_harvest(
    network: Network, flow: Flow, wish: Wish, progress: Progress | None = None, stop: Stop | None = None
) -> SeasonRun:
    """Play the season of a plan with a horizon, with the shares that the material balance found."""
    season = network.season
    assert season is not None

    def tell(done: int, wanted: int, total: Interval | None) -> None:
        if progress is not None:
            progress("season", done, wanted, total)

    return play_season(
        network,
        starts=flow.started * season.working_days,
        quotas=Quotas(flow.mix, flow.choice_mix),
        replications=wish.replications,
        half_width=wish.half_width if wish.replications is None else None,
        seed=wish.seed,
        budget_seconds=wish.budget_seconds,
        threads=wish.threads,
        progress=tell,
        stop=stop,
    )


def play_flat_out(
    network: Network, flow: Flow, wish: Wish, progress: Progress | None, stop: Stop | None, capacity: Capacity | None,
    laid: Layout | None = None,
) -> Simulation:  # fmt: skip
    """With few open pieces where the bound tells how few will do; with as many as the places hold where they lock."""
    few = None
    if capacity is not None and wish.open_pieces is None and network.plan.open_pieces is None:
        few = few_open(network, Quotas(flow.mix, flow.choice_mix), capacity.multiple)
    if few is not None:
        try:
            return play(network, flow, replace(wish, open_pieces=few), progress, stop, laid)
        except StuckError:
            pass
    return play(network, flow, wish, progress, stop, laid)


def _day(network: Network, planned: Simulation) -> Day:
    """The traced day of the last week: what had begun before, and what happened."""
    trace = planned.trace
    assert trace is not None
    begin, end = ((planned.weeks - 1) * WEEK + at for at in middle_day(network))
    return Day(trace.between(begin, end), trace.between(0, begin).records, begin, end)


def middle_day(network: Network) -> tuple[int, int]:
    """From and to, in ns of the week, of the day in the middle of the working days."""
    calendar = network.open_calendar
    worked = sorted({int(at) // DAY for at, level in zip(calendar.at, calendar.level, strict=True) if level > 0})
    day = worked[len(worked) // 2] if worked else 0
    return day * DAY, (day + 1) * DAY
