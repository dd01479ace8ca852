"""What would help most? Changes of the plan screened, played flat out under the same luck, the best on fresh luck.

The first round says which look good; because they are picked for looking good, their gains are played again with fresh
luck and only those are quoted.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import linewright
from linewright.base.problems import Problem, ProblemsError
from linewright.base.results import Honesty, Interval, Provenance
from linewright.capacity import Capacity
from linewright.cost import Cost
from linewright.flow.model import Flow
from linewright.improve.ideas import Ideas
from linewright.improve.model import Effect, Improvement
from linewright.improve.pressure import pressure_of
from linewright.improve.resources import think_of_resources
from linewright.improve.screen import Priced, Tried, choose, price, work_out
from linewright.improve.steps import think_of_steps
from linewright.network.model import Network
from linewright.simulate import Quotas, Simulation, simulate
from linewright.simulate.compare import METHOD, NOT_BEGUN, Comparison, compare
from linewright.simulate.kernel.compiled import machine_code, without_compiler

PLAYED = 24
"""Candidates played at most."""
AGAIN = 5
"""Candidates played again on fresh luck."""
FIRST_ROUND = 10
SECOND_ROUND = 30
"""Replications of each round, budget allowing."""
BASE = 4
"""Replications of the plan as it is, for its state times."""
LONGEST_BASE = 0.25
"""The part of the budget after which no more of them are waited for."""
PRICED_BY = 0.4
"""The part of the budget after which no more of them are priced: of many variants that alone takes long."""
LEAST_FIRST, LEAST_AGAIN = 3, 6
"""Replications of each round that there shall be time for: where there is little, fewer candidates are played."""
FEWEST = 3
"""Candidates that are played where any are."""
FRESH = 1_000_003
"""Added to the seed for the second round."""
Progress = Callable[[str, int, int], None]
"""Called with what is being done, how much of it is done, and how much there is."""


def improve(
    network: Network,
    flow: Flow,
    capacity: Capacity,
    cost: Cost,
    *,
    seed: int = 0,
    budget_seconds: float = 60.0,
    played: int = PLAYED,
    days: float | None = None,
    threads: int | None = None,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
    to_play: tuple[Network, Flow] | None = None,
) -> Improvement:
    """The changes of the plan that raise its rate most, each as edits of the plan with its gain and its cost.

    ``flow``, ``capacity`` and ``cost`` are those of ``network``; of a plan with options they are told by what was
    written, and ``to_play`` is the network with every variant and its balance. At most ``played`` candidates are
    played, fewer where ``budget_seconds`` do not suffice for a few replications of each. ``days`` fixes the calendar
    days of a replication (else as many as the plan needs to settle). ``stop`` is asked often; once it says True, what
    is done is answered.

    Raises ProblemsError where the plan itself cannot be played, or it was stopped before it was played once.
    """
    variants, balance = to_play if to_play is not None else (network, flow)
    run = _Run(
        variants, Quotas(balance.mix, balance.choice_mix), capacity, cost, seed, budget_seconds, threads, progress, stop
    )
    base = run.play_base(days)
    ideas = Ideas(network, pressure_of(network, flow, capacity, base))
    think_of_resources(ideas)
    think_of_steps(ideas)
    tried, failed = work_out(variants, network.plan, ideas.found, lambda n: run.over(n, played), run.tell_bounds)
    late = run.spent > budget_seconds
    run.cut_short = run.cut_short or late
    places = 0 if late else run.playable(played, 0.6, LEAST_FIRST)
    chosen, no_cost = price(choose(tried, capacity.multiple, places), run.no_time_to_price)
    first = run.round("first round", chosen, "flat out", seed, FIRST_ROUND, 0.65, 0.6) if chosen else None
    effects = _effects(chosen, first, None, capacity, cost)
    run.note_pace(first)
    best = [chosen[k] for k in _best(effects)][: run.playable(AGAIN, 1.0, LEAST_AGAIN)]
    simulated = [effect for effect in effects if effect.problem is not NOT_BEGUN]
    if len(simulated) < len(chosen):
        run.notes += (f"the time allowed was enough for {len(simulated)} candidates of {len(chosen)}",)
    short = base.makes_demand is not True
    fresh = seed + FRESH
    again = run.round("best again", best, "flat out", fresh, SECOND_ROUND, 0.8 if short else 1.0) if best else None
    at_takt = run.round("best again at takt", best, "takt", fresh, SECOND_ROUND, 1.0) if again and short else None
    confirmed = _sorted(_effects(best, again, at_takt, capacity, cost))
    rate = _rate(again) or _rate(first) or base.rate
    return Improvement(
        items=base.items,
        units=base.units,
        money=cost.money,
        demand=float(base.demand.sum()),
        rate=rate,
        rate_at_takt=_rate(at_takt),
        makes_demand=base.makes_demand,
        confirmed=tuple(confirmed),
        simulated=tuple(_sorted(simulated)),
        considered=len(ideas.found),
        screened_out=len(ideas.found) - len(simulated),
        left_out=(*ideas.left_out, *failed, *no_cost),
        assumptions=_assumptions(run.open_pieces, short, len(base.items)),
        method=METHOD,
        weeks=run.weeks,
        warm_up_weeks=again.warm_up_weeks if again is not None else base.warm_up_weeks,
        stopped=run.cut_short,
        honesty=run.honesty(again or first),
        provenance=Provenance("improve", linewright.__version__, network.fingerprint, seed, run.spent),
        promised=_promised(tried, capacity),
    )


@dataclass(slots=True)
class _Run:
    """What all rounds share: the plan as it is, the clock, and whether anybody wants it to end."""

    network: Network
    quotas: Quotas
    capacity: Capacity
    cost: Cost
    seed: int
    budget: float
    threads: int | None
    progress: Progress | None
    stop: Callable[[], bool] | None
    begin: float = 0.0
    bounds_from: float = 0.0
    pace: float = 0.0
    weeks: int = 0
    open_pieces: int | None = None
    cut_short: bool = False
    notes: tuple[str, ...] = ()

    @property
    def spent(self) -> float:
        """Seconds since the start."""
        return time.perf_counter() - self.begin

    def over(self, done: int, played: int) -> bool:
        """Whether to end working out bounds: asked to, or a quarter of what was left of the budget is gone; a tenth
        where there are enough to play, so that a plan of many variants leaves time to play them. A few are worked out
        in any case: a busy machine may have taken long to play the plan as it is, and what the bounds promise is told
        where nothing more can be.
        """
        if self.stop is not None and self.stop():
            self.cut_short = True
        if self.cut_short or done < FEWEST:
            return self.cut_short
        part = 0.1 if done >= played else 0.25
        return self.spent - self.bounds_from > part * (self.budget - self.bounds_from)

    def no_time_to_price(self, done: int) -> bool:
        """Whether to play those whose cost is known and no more, so that there is time to play them."""
        return done >= FEWEST and self.spent > PRICED_BY * self.budget

    def playable(self, most: int, until: float, replications: int) -> int:
        """How many candidates there is time to play so often beside the plan as it is; never fewer than ``FEWEST``."""
        if self.pace <= 0:
            return most
        left = max(until * self.budget - self.spent, 0.0)
        return max(FEWEST, min(most, int(left / (replications * self.pace)) - 1))

    def note_pace(self, played: Comparison | None) -> None:
        """Note how long one replication of one plan took, in seconds that passed; threads play several at once."""
        if played is not None and played.honesty.replications:
            begun = sum(1 for one in played.networks if one.rate is not None)
            self.pace = played.provenance.seconds / (played.honesty.replications * max(begun, 1))

    def tell_bounds(self, done: int, wanted: int) -> None:
        """Say how many bounds are worked out."""
        self._tell("what the bounds promise", done, wanted)

    def play_base(self, days: float | None) -> Simulation:
        """The plan as it is, flat out: its states, its weeks, and how long a replication takes."""
        if not without_compiler():
            machine_code()  # the very first time takes seconds
        self.begin = time.perf_counter()
        played = False

        def told(done: int, wanted: int, _: Interval | None) -> None:
            nonlocal played
            played = True
            self._tell("the plan as it is", done, wanted)

        def late() -> bool:
            """A busy machine may make it slow: then what is done must do, so that there is time for the changes."""
            return (self.stop is not None and self.stop()) or (played and self.spent > LONGEST_BASE * self.budget)

        found = simulate(
            self.network, quotas=self.quotas, release="flat out", seed=self.seed, days=days, replications=BASE,
            budget_seconds=self.budget / 8, threads=self.threads, stop=late, progress=told,
        )  # fmt: skip
        self.weeks = found.weeks
        self.bounds_from = self.spent
        self.pace = self.spent / (found.honesty.replications or BASE)
        if len(found.items) == 1:  # with several demanded items each keeps its own number, found anew for each plan
            self.open_pieces = round(found.kept[found.items[0]])
        return found

    def round(
        self,
        name: str,
        candidates: Sequence[Priced],
        release: str,
        seed: int,
        replications: int,
        until: float,
        begin: float = math.inf,
    ) -> Comparison | None:
        """Play candidates beside the plan as it is until a part of the budget is gone; None where nothing was done.

        Those not begun when the part ``begin`` is gone are left out.
        """
        if self.stop is not None and self.stop():
            self.cut_short = True
            return None
        try:
            found = compare(
                [self.network, *(c.tried.network for c in candidates)], seed, release=release,
                quotas=[self.quotas, *(c.tried.quotas for c in candidates)],
                replications=replications, days=7 * self.weeks,
                open_pieces=self.open_pieces if release == "flat out" else None,
                names=["as it is", *(c.tried.candidate.what for c in candidates)], threads=self.threads, stop=self.stop,
                budget_seconds=max(until * self.budget - self.spent, 0.0),
                begin_within=max(begin * self.budget - self.spent, 0.0),
                progress=lambda done, wanted: self._tell(name, done, wanted),
            )  # fmt: skip
        except ProblemsError:
            if self.stop is None or not self.stop():
                raise
            self.cut_short = True
            return None
        self.notes += tuple(f"{name}: {note}" for note in found.honesty.notes)
        if self.stop is not None and self.stop():
            self.cut_short = True
        return found

    def _tell(self, what: str, done: int, wanted: int) -> None:
        if self.progress is not None:
            self.progress(what, done, wanted)

    def honesty(self, last: Comparison | None) -> Honesty:
        """Sampled, or stopped."""
        replications = last.honesty.replications if last is not None else None
        return Honesty("stopped" if self.cut_short else "sampled", replications=replications, notes=self.notes)


def _rate(found: Comparison | None) -> Interval | None:
    return found.first.rate if found is not None else None


def _effects(
    chosen: Sequence[Priced], flat: Comparison | None, takt: Comparison | None, capacity: Capacity, cost: Cost
) -> list[Effect]:
    """What a round found, candidate by candidate."""
    if flat is None:
        return []
    out = []
    for k, one in enumerate(chosen, start=1):
        played = flat.networks[k]
        problem = played.problem or _as_good_as_nothing(played.gain)
        at_takt = takt.networks[k].gain if takt is not None else None
        changes = tuple(
            round(after.total - before.total, 6) for before, after in zip(cost.products, one.cost.products, strict=True)
        )
        bound = _bound_change(capacity, one.tried.bounds)
        out.append(Effect(one.tried.candidate, played.gain, at_takt, bound, changes, problem))
    return out


def _promised(tried: Sequence[Tried], capacity: Capacity) -> tuple[Effect, ...]:
    """What the bounds say of each that was worked out, those that lift the least bound most first."""
    ranked = sorted(tried, key=lambda t: (-t.bounds.multiple, -t.promise))
    return tuple(Effect(t.candidate, None, None, _bound_change(capacity, t.bounds), (), NOT_BEGUN) for t in ranked)


def _as_good_as_nothing(gain: Interval | None) -> Problem | None:
    if gain is not None and not math.isfinite(gain.half_width):
        return Problem("", "played only once, so its gain has no interval")
    return None


def _bound_change(before: Capacity, after: Capacity) -> float | None:
    if not (math.isfinite(before.multiple) and math.isfinite(after.multiple)):
        return None
    return (after.multiple - before.multiple) * before.wanted[0].demand


def _best(effects: Sequence[Effect]) -> list[int]:
    """The candidates with the greatest gains, not those that surely hurt or do nothing."""
    hopeful = [
        k
        for k, e in enumerate(effects)
        if e.gain is not None and e.gain.mean > 0 and e.verdict in ("helps", "cannot be told from nothing")
    ]
    return sorted(hopeful, key=lambda k: -_mean(effects[k]))[:AGAIN]


def _mean(effect: Effect) -> float:
    return effect.gain.mean if effect.gain is not None else -math.inf


def _sorted(effects: Sequence[Effect]) -> list[Effect]:
    return sorted(effects, key=lambda e: -_mean(e))


def _assumptions(open_pieces: int | None, short: bool, items: int) -> tuple[str, ...]:
    """What a reader must know to use the numbers."""
    out = [
        "one change at a time: gains of several changes do not add up",
        "gains are of the rate with work let in flat out" + (", of the best also at takt" if short else ""),
        "what a change costs to make (machine, tool, building, training) is not in the plan and not counted",
        "the cost of one is at the plan's demand: more rate than is wanted makes nothing cheaper",
    ]
    if items > 1:
        out.append("the rate counts units of all demanded items together")
    if open_pieces is not None:
        out.append(f"flat out keeps {open_pieces} pieces open, the same number whatever is changed")
    return tuple(out)
