"""How many lasts, pallets or racks of each kind are needed: by the bound of the demand, and by simulation.

The bound says below which number the demand cannot be made whatever the luck. Waiting and variation want more: the
numbers of all kinds are raised together in steps and played under the same luck beside carriers without limit, until
one is enough.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

import linewright
from linewright.base.results import Honesty, Interval, Provenance, Shown, Table, show, show_interval
from linewright.capacity.model import Capacity
from linewright.flow.model import Flow
from linewright.network.model import Ints, Network
from linewright.plan.called import kind_called
from linewright.simulate import Quotas, compare
from linewright.simulate.compare import NOT_BEGUN

FEW = 8
STEPS = (1.0, 1.25, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0)
"""Numbers tried, as multiples of what the bound asks for, each rounded up."""
ENOUGH = 0.005
"""The part of the rate that is given up where a number is called enough."""
AT_ONCE = 3
"""Steps played beside carriers without limit, before it is asked whether one of them is enough."""
REPLICATIONS = 8
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Step:
    """All kinds at a multiple of their least number: ``counts`` [n_kinds], their ``total``, the ``rate`` and ``loss``.

    Rates are units of all demanded items a working day; ``loss`` is the rate without limit less this one. Both are None
    where it could not be played, and ``why`` says it.
    """

    multiple: float
    counts: tuple[int, ...]
    rate: Interval | None
    loss: Interval | None
    why: str = ""

    @property
    def total(self) -> int:
        """Carriers of all kinds together."""
        return sum(self.counts)


@dataclass(frozen=True, slots=True)
class HowMany(Shown):
    """How many carriers are needed.

    ``kinds`` (``names`` as the plan's author calls them) with ``there`` as written, ``least`` by the bound (0:
    nothing asks for them) and ``enough``: the first step at which at most half a percent of the rate without limit
    (``unlimited``) is lost; None where no step was enough, or none was played. ``steps`` is the curve of rate
    against number, up to just above what is enough, in multiples of ``asked``: the carriers of all kinds that the bound
    asks for, not rounded.

    Of a ``season`` nothing is a bound: ``least`` and ``asked`` are what its average day asks for, and rates and losses
    are units finished by the end of the horizon.
    """

    kinds: tuple[str, ...]
    there: tuple[int, ...]
    least: tuple[int, ...]
    enough: tuple[int, ...] | None
    unlimited: Interval | None
    steps: tuple[Step, ...]
    release: str
    honesty: Honesty
    provenance: Provenance
    names: tuple[str, ...] = ()
    asked: float = 0.0
    season: bool = False

    def to_table(self) -> Table:
        """There, least by the bound and enough by simulation, of every kind."""
        enough = self.enough or (None,) * len(self.kinds)
        rows: list[tuple[object, ...]] = list(
            zip(self.names or self.kinds, self.there, self.least, enough, strict=True)
        )
        if len(rows) > 1:
            most = sum(self.enough) if self.enough is not None else None
            rows.append(("all kinds", sum(self.there), sum(self.least), most))
        least = "for the average day" if self.season else "least, by the bound"
        columns = ("carrier", "there are", least, "enough, simulated")
        what = "what is finished of any product" if self.season else "the rate"
        note = f"Enough: at most 0.5 % of {what} without limit is lost, all kinds raised together."
        if self.enough is None and any(step.rate is not None for step in self.steps):
            note = f"No number that was played is enough: more than 0.5 % of {what} without limit is lost with each."
        return Table("How many carriers", columns, tuple(rows), note)

    def steps_table(self) -> Table:
        """The rate against the number of carriers."""
        rows: list[tuple[object, ...]] = []
        for step in self.steps:
            rate = show_interval(step.rate) if step.rate is not None else step.why
            loss = show_interval(step.loss) if step.loss is not None else ""
            rows.append((f"{step.multiple:.3g} x {show(self.asked)}, rounded up", step.total, rate, loss))
        if self.unlimited is not None:
            rows.append(("without limit", "", show_interval(self.unlimited), ""))
        kinds = " of all kinds together, each kind rounded up by itself" if len(self.kinds) > 1 else ""
        asks = f"The demand asks for {show(self.asked)} carriers by the bound{kinds}, and for a whole load at least"
        columns = ("times what the bound asks for", "carriers", "rate [/day]", "lost [/day]")
        if self.season:
            asks = f"The average day asks for {show(self.asked)} carriers{kinds}, peak weeks for more"
            columns = ("times what the average day asks for", "carriers", "finished in the season", "lost")
        note = ". ".join((asks, "Played under the same luck, with 95 % intervals", *self.honesty.notes)) + "."
        title = "The season against number" if self.season else "Rate against number"
        return Table(title, columns, tuple(rows), note)


def how_many_carriers(
    network: Network,
    flow: Flow,
    capacity: Capacity,
    *,
    seed: int = 0,
    budget_seconds: float = 20.0,
    replications: int = REPLICATIONS,
    days: float | None = None,
    release: str | None = None,
    threads: int | None = None,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
) -> HowMany:
    """How many carriers of each kind the demand needs; ``flow`` and ``capacity`` are those of the network.

    Three steps at a time are played, until one is enough. Steps that the budget does not reach are not played, and
    say so. Raises ProblemsError where the plan
    cannot be played even with carriers without limit.
    """
    begun = time.perf_counter()
    kinds = network.carriers.ids
    least = tuple(capacity.of("carrier", kind).needed or 0 for kind in kinds)
    steps: list[Step] = []
    unlimited, honesty, played = None, Honesty("bound", notes=("nothing was simulated",)), release or ""
    asked = asked_of(capacity, kinds)
    counts = _counts(network, asked) if kinds else []
    for some in (counts[k : k + AT_ONCE] for k in range(0, len(counts), AT_ONCE)):
        left = budget_seconds - (time.perf_counter() - begun)
        if steps and (left <= 0 or (stop is not None and stop())):
            steps += [Step(multiple, c, None, None, NOT_BEGUN.what) for multiple, c in some]
            continue
        endless = np.full(len(kinds), without_limit(network), dtype=np.int64)
        networks = [with_counts(network, c) for c in (endless, *(np.array(c) for _, c in some))]
        quotas = Quotas(flow.mix, flow.choice_mix)
        found = compare(
            networks, seed, quotas=[quotas] * len(networks), release=release, replications=replications, days=days,
            budget_seconds=left, begin_within=0.7 * left, threads=threads, progress=progress, stop=stop,
            names=["without limit", *(f"{m:g} x what the bound asks for" for m, _ in some)],
        )  # fmt: skip
        if unlimited is None:
            unlimited, honesty, played = found.first.rate, found.honesty, found.release
        honesty = replace(honesty, notes=tuple(dict.fromkeys([*honesty.notes, *found.honesty.notes])))
        steps += [
            Step(multiple, c, one.rate, _loss(one.gain), one.problem.what if one.problem is not None else "")
            for (multiple, c), one in zip(some, found.networks[1:], strict=True)
        ]
        if _enough(steps, unlimited) is not None:
            break
    return HowMany(
        kinds=kinds,
        names=tuple(kind_called(network.plan.carriers, kind) for kind in kinds),
        asked=sum(asked),
        there=tuple(network.carriers.count.tolist()),
        least=least,
        enough=_enough(steps, unlimited),
        unlimited=unlimited,
        steps=tuple(steps),
        release=played,
        honesty=honesty,
        provenance=Provenance(
            "carriers", linewright.__version__, network.fingerprint, seed, time.perf_counter() - begun
        ),
    )


def shared_out(network: Network, capacity: Capacity, multiple: float) -> tuple[int, ...]:
    """[n_kinds] carriers at a multiple of what the bound asks for, each kind by itself rounded up."""
    return rounded(network, asked_of(capacity, network.carriers.ids), multiple)


def asked_of(capacity: Capacity, kinds: Sequence[str]) -> list[float]:
    """Carriers of each kind that the demand asks for by the bound, not rounded."""
    found = [capacity.of("carrier", kind) for kind in kinds]
    return [r.count / r.most if math.isfinite(r.most) else 0.0 for r in found]


def with_counts(network: Network, counts: Ints) -> Network:
    """The network with other numbers of carriers."""
    return replace(network, carriers=replace(network.carriers, count=counts), notes={})


def _counts(network: Network, asked: list[float]) -> list[tuple[float, tuple[int, ...]]]:
    """The numbers at each step, the same as before left out."""
    found: list[tuple[float, tuple[int, ...]]] = []
    for multiple in _multiples(asked):
        now = rounded(network, asked, multiple)
        if not found or now != found[-1][1]:
            found.append((multiple, now))
    return found


def rounded(network: Network, asked: list[float], multiple: float) -> tuple[int, ...]:
    """Whole carriers of each kind; never fewer than a load of ``from`` takes."""
    floor = [_largest_load(network, c) for c in range(len(asked))]
    return tuple(max(math.ceil(n * multiple - 1e-9), low, 1) for n, low in zip(asked, floor, strict=True))


def _multiples(asked: list[float]) -> list[float]:
    """The steps; of one kind of which few are asked for, every number up to eight besides."""
    if len(asked) != 1 or not asked[0] > 0:
        return list(STEPS)
    return sorted({*STEPS, *(n / asked[0] for n in range(1, FEW + 1) if n > asked[0])})


def _largest_load(network: Network, carrier: int) -> int:
    joins = network.carriers.joins.row(carrier)[0]
    load = float(network.operations.load_least[joins].max(initial=1.0))
    return math.ceil(load / float(network.carriers.holds[carrier]))


def without_limit(network: Network) -> int:
    """So many carriers of a kind that none is ever waited for."""
    return max(100_000, 10 * int(network.carriers.count.max(initial=1)))


def _loss(gain: Interval | None) -> Interval | None:
    return Interval(0.0 - gain.mean, gain.half_width, gain.level) if gain is not None else None


def _enough(steps: Sequence[Step], unlimited: Interval | None) -> tuple[int, ...] | None:
    """The first step that gives up no more than what is called enough; None where none does."""
    if unlimited is None:
        return None
    for step in steps:
        if step.loss is not None and step.loss.mean <= ENOUGH * unlimited.mean:
            return step.counts
    return None
