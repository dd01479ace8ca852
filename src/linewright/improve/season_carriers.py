"""How many kegs or crates does a season need? The season is played with ever more of them, under the same luck.

A season begins with all of them at home and ends, so there is no bound by the average day: its peak weeks want more,
and what is out at the end need not come back. The average day only says at which number to begin.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

import linewright
from linewright.base.results import Honesty, Provenance
from linewright.capacity.model import Capacity
from linewright.flow.model import Flow
from linewright.improve.carriers import (
    ENOUGH,
    REPLICATIONS,
    HowMany,
    Progress,
    Step,
    asked_of,
    rounded,
    with_counts,
    without_limit,
)  # fmt: skip
from linewright.network.model import Ints, Network
from linewright.plan.called import kind_called
from linewright.simulate.compare import NOT_BEGUN
from linewright.simulate.estimates import interval
from linewright.simulate.letting_in import Quotas
from linewright.simulate.season import play_season
from linewright.simulate.season_model import SeasonRun

STEPS = (0.5, 0.75, 0.9, 1.0, 1.1, 1.2, 1.3, 1.5, 2.0, 3.0, 4.0, 6.0)
"""Numbers played, as multiples of what the average day asks for, each rounded up."""


def how_many_in_season(
    network: Network,
    flow: Flow,
    capacity: Capacity,
    *,
    seed: int = 0,
    budget_seconds: float = 20.0,
    replications: int = REPLICATIONS,
    threads: int | None = None,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
) -> HowMany:
    """How many carriers of each kind a season needs; ``flow`` and ``capacity`` are of an average day of its horizon.

    Rates and losses are units finished by the end of the horizon, all products together. Numbers that the budget does
    not reach are not played, and say so. Raises ProblemsError where the season cannot be played.
    """
    season = network.season
    assert season is not None
    begun = time.perf_counter()
    kinds = network.carriers.ids
    asked = asked_of(capacity, kinds)

    def over() -> bool:
        return time.perf_counter() - begun > budget_seconds or (stop is not None and stop())

    def played(counts: Ints) -> SeasonRun:
        return play_season(
            with_counts(network, counts), starts=flow.started * season.working_days,
            quotas=Quotas(flow.mix, flow.choice_mix), replications=replications, seed=seed, threads=threads, stop=over,
        )  # fmt: skip

    unlimited = played(np.full(len(kinds), without_limit(network), dtype=np.int64))
    steps: list[Step] = []
    found, fewest = None, len(unlimited.total_of_each)
    numbers = {rounded(network, asked, multiple): multiple for multiple in reversed(STEPS)}
    for k, (counts, multiple) in enumerate(reversed(numbers.items())):
        if over() or fewest < 2:
            steps.append(Step(multiple, counts, None, None, NOT_BEGUN.what))
            continue
        run = played(np.array(counts, dtype=np.int64))
        if len(run.total_of_each) < fewest:
            steps.append(Step(multiple, counts, None, None, NOT_BEGUN.what))
            continue
        loss = interval(unlimited.total_of_each - run.total_of_each)
        steps.append(Step(multiple, counts, run.total, loss))
        if progress is not None:
            progress(k + 1, len(numbers))
        if _is_enough(run, unlimited):
            found = counts
            break
    short = ("the time allowed ran out, or it was stopped, before every number was played",) if over() else ()
    return HowMany(
        kinds=kinds,
        names=tuple(kind_called(network.plan.carriers, kind) for kind in kinds),
        asked=sum(asked),
        season=True,
        there=tuple(network.carriers.count.tolist()),
        least=rounded(network, asked, 1.0),
        enough=found,
        unlimited=unlimited.total if fewest > 1 else None,
        steps=tuple(steps),
        release="season",
        honesty=Honesty(unlimited.honesty.status, notes=short, replications=fewest),
        provenance=Provenance(
            "carriers", linewright.__version__, network.fingerprint, seed, time.perf_counter() - begun
        ),
    )


def _is_enough(run: SeasonRun, unlimited: SeasonRun) -> bool:
    """Whether no product loses more than a number may lose that is called enough."""
    pairs = zip(run.finished, unlimited.finished, strict=True)
    return all(most.mean - here.mean <= ENOUGH * most.mean for here, most in pairs)
