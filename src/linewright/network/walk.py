"""One route as an absorbing Markov chain over (operation, faults carried, reworks done), walked exactly.

Every rework raises the number of reworks done, so the chain has no cycle: it is solved by carrying weights forward,
pass after pass, without an equation system. What happens at an operation, in this order: it takes its parts (with
the faults that escaped in them), works, loses its plain yield, makes its faults, checks, and then becomes
``pieces_out`` pieces. A fault is known by its name: a repeated operation clears the faults of the names it makes.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from linewright.network.clumps import Clump
from linewright.network.escapes import several
from linewright.network.model import Fate, Inspection, Reject
from linewright.network.reactions import bits_looked_for, chain_of, outcomes

MOST_STATES = 65_536
"""A journey with more states than this is refused."""

Key = tuple[int, tuple[int, ...], int, int, bool]
"""(faults as bits, reworks by each check of the stretch, last position to repeat, positions taking again, reworked)."""
Weights = dict[Key, float]


class TooManyStatesError(Exception):
    """The chain has more states than ``MOST_STATES``; ``position`` is where the limit was passed."""

    def __init__(self, position: int) -> None:
        super().__init__(position)
        self.position = position


@dataclass(slots=True)
class RouteChain:
    """A route as the walk needs it; lists by position, faults as bits of a whole number.

    ``draws`` lists (bit, probability) of the faults made; ``incoming`` the distribution of faults in what is taken;
    ``keeps`` is the share that start-up losses leave. ``rows`` has the positions behind which several pieces become
    one, and how those faults lie in them that come to several pieces at once.
    """

    survives: list[float]
    keeps: list[float]
    pieces_out: list[float]
    draws: list[list[tuple[int, float]]]
    incoming: list[Mapping[int, float] | None]
    checks: dict[int, Inspection]
    first: int
    fault_names: tuple[str, ...]
    rows: Mapping[int, Mapping[int, Clump]] = field(default_factory=dict)

    def target(self, position: int) -> int:
        """The earliest position to which the check at a position can send back; itself where it never does."""
        check = self.checks[position]
        back = (
            now.to - self.first
            for reject in (*check.rejects, check.other)
            for now in chain_of(reject)
            if now.fate is Fate.REWORK
        )
        return min(back, default=position)

    @property
    def sends_back(self) -> bool:
        """Whether any check of the route sends pieces back."""
        return any(
            now.fate is Fate.REWORK
            for check in self.checks.values()
            for reject in (*check.rejects, check.other)
            for now in chain_of(reject)
        )

    def stretches(self) -> list[tuple[int, int]]:
        """Cut the route where no rework goes back across: (first, last) positions of each stretch."""
        n = len(self.survives)
        earliest = n
        cuts = [n]
        for position in range(n - 1, -1, -1):
            if position in self.checks:
                earliest = min(earliest, self.target(position))
            if earliest >= position and (position == 0 or position - 1 in self.checks):
                cuts.append(position)
        cuts.reverse()
        return [(a, b - 1) for a, b in pairwise(cuts)]


@dataclass(slots=True)
class Walked:
    """What one piece started does, in expectation, by position.

    ``runs`` all passes, ``first`` those not repeated, ``takes`` those that take parts; ``scrap`` by (position,
    reason), ``seconds`` by (position, item), ``reworks`` by (check, back to); ``finish`` units by faults carried.
    ``dropped``: faults that nobody looks for behind a position, with the share of pieces that have them there, where
    the rest of the journey does not depend on them; ``unclear`` those where it does, as bits. ``leaving``, where it was
    watched: pieces that leave each position by the faults they carry, all passes together.
    """

    runs: list[float]
    first: list[float]
    takes: list[float]
    scrap: dict[tuple[int, str], float] = field(default_factory=lambda: defaultdict(float))
    seconds: dict[tuple[int, int], float] = field(default_factory=lambda: defaultdict(float))
    reworks: dict[tuple[int, int], float] = field(default_factory=lambda: defaultdict(float))
    finish: dict[int, float] = field(default_factory=dict)
    dropped: dict[int, tuple[float, int]] = field(default_factory=dict)
    unclear: int = 0
    states: int = 0
    leaving: list[dict[int, float]] | None = None


def walk(chain: RouteChain, kept: list[int], *, watch: bool = False) -> Walked:
    """Walk one piece along the route. ``kept[p]`` has the bits of the faults worth remembering at position p.

    ``watch`` also keeps what pieces carry as they leave every position. Raises TooManyStatesError.
    """
    n = len(chain.survives)
    result = Walked([0.0] * n, [0.0] * n, [0.0] * n, leaving=[{} for _ in range(n)] if watch else None)
    entering: Weights = {(0, (), -1, 0, False): 1.0}
    for begin, end in chain.stretches():
        entering = _Stretch(chain, kept, begin, end, result).walk(entering)
        if end + 1 < n:
            entering = _forget(entering, chain, kept[end], kept[end + 1], end, result)
    for key, weight in entering.items():
        result.finish[key[0]] = result.finish.get(key[0], 0.0) + weight
    return result


def _forget(entering: Weights, chain: RouteChain, now: int, later: int, end: int, result: Walked) -> Weights:
    """Behind a stretch: forget counts, and faults that nobody looks for any more, noting how many pieces have them."""
    sampled = any(p > end and check.one_in > 1 for p, check in chain.checks.items())
    left: Weights = defaultdict(float)
    shares: dict[int, float] = defaultdict(float)
    total = sum(entering.values())
    for (mask, _, _, _, reworked), weight in entering.items():
        left[(mask & later, (), -1, 0, reworked and sampled)] += weight
        gone = mask & now & ~later
        while gone:
            bit = gone & -gone
            shares[bit] += weight / total
            gone ^= bit
    if len(left) == 1:
        result.dropped |= {bit: (share, end) for bit, share in shares.items()}
    else:
        for bit in shares:
            result.unclear |= bit
    return left


class _Stretch:
    """A stretch of the route that no rework leaves: passes over it until nothing is sent back any more."""

    def __init__(self, chain: RouteChain, kept: list[int], begin: int, end: int, result: Walked) -> None:
        self.chain, self.kept, self.begin, self.end, self.result = chain, kept, begin, end, result
        self.check_positions = [p for p in range(begin, end + 1) if p in chain.checks]
        self.slot = {p: k for k, p in enumerate(self.check_positions)}
        self.outcomes: dict[tuple[int, int, int], tuple[list[tuple[float, Reject, str]], float]] = {}

    def walk(self, entering: Weights) -> Weights:
        """Weights leaving the stretch."""
        none = (0,) * len(self.check_positions)
        start: Weights = defaultdict(float)
        for (mask, _, _, _, reworked), weight in entering.items():
            start[(mask & self.kept[self.begin], none, -1, 0, reworked)] += weight
        leaving: Weights = defaultdict(float)
        arrivals: dict[int, Weights] = {self.begin: start}
        while arrivals:
            back: dict[int, Weights] = {}
            for key, weight in self._pass(arrivals, back).items():
                leaving[key] += weight
            arrivals = back
        return leaving

    def _pass(self, arrivals: dict[int, Weights], back: dict[int, Weights]) -> Weights:
        """One pass forward; pieces sent back are put into ``back`` for the next pass."""
        now: Weights = {}
        scale = 1.0
        totals = (0.0, 0.0, 0.0)
        chain, result = self.chain, self.result
        for p in range(min(arrivals), self.end + 1):
            changed = p == min(arrivals)
            if p in arrivals:
                now = _merged(now, scale, arrivals[p])
                scale, changed = 1.0, True
            if changed:
                totals = _totals(now, p)
            result.runs[p] += totals[0] * scale
            result.first[p] += totals[1] * scale
            result.takes[p] += totals[2] * scale
            self._lose(p, totals[0] * scale)
            scale *= chain.survives[p] * chain.keeps[p]
            if self._branch(p):
                now = self._happen(now, scale, p, back)
                scale = 1.0
                totals = _totals(now, p + 1)
                self._count(now, p)
            if result.leaving is not None:
                _watch(result.leaving[p], now, scale)
            if p in chain.rows and any(key[0] for key in now):
                now = _gathered(now, 1.0 / chain.pieces_out[p], chain.rows[p])
                self._count(now, p)
            scale *= chain.pieces_out[p]
        return {key: weight * scale for key, weight in now.items()}

    def _count(self, now: Weights, p: int) -> None:
        self.result.states += len(now)
        if self.result.states > MOST_STATES:
            raise TooManyStatesError(p)

    def _lose(self, p: int, arriving: float) -> None:
        survives, keeps = self.chain.survives[p], self.chain.keeps[p]
        if survives < 1:
            self.result.scrap[(p, "yield")] += arriving * (1 - survives)
        if keeps < 1:
            self.result.scrap[(p, "start-up")] += arriving * survives * (1 - keeps)

    def _branch(self, p: int) -> bool:
        chain = self.chain
        return p in chain.checks or bool(chain.draws[p]) or chain.incoming[p] is not None

    def _happen(self, now: Weights, scale: float, p: int, back: dict[int, Weights]) -> Weights:
        """Faults arrive with parts, faults are made, the check is done."""
        now = {key: weight * scale for key, weight in now.items()}
        incoming = self.chain.incoming[p]
        if incoming is not None:
            now = _arrive(now, incoming, self.kept[p], p)
        for bit, probability in self.chain.draws[p]:
            if bit & self.kept[p] and probability > 0:
                now = _draw(now, bit, probability)
        if p in self.chain.checks:
            now = self._check(now, p, back)
        return now

    def _check(self, now: Weights, p: int, back: dict[int, Weights]) -> Weights:
        """Split every state into what passes and what is rejected, by reaction."""
        check = self.chain.checks[p]
        slot = self.slot[p]
        passed: Weights = defaultdict(float)
        for key, weight in now.items():
            mask, counts, _, _, reworked = key
            looked_at = weight if reworked else weight / check.one_in
            rejected, clean = self._outcome(p, mask, counts[slot])
            passed[self._onward(key, p)] += (weight - looked_at) + looked_at * clean
            for probability, reject, reason in rejected:
                self._reject(key, looked_at * probability, reject, reason, p, back)
        return dict(passed)

    def _onward(self, key: Key, p: int) -> Key:
        """The state behind a check: what has been repeated up to here needs no remembering."""
        mask, counts, reach, _, reworked = key
        if reach > p or reach < 0:
            return key
        return (mask, counts, -1, 0, reworked)

    def _reject(self, key: Key, weight: float, reject: Reject, reason: str, p: int, back: dict[int, Weights]) -> None:
        result = self.result
        if reject.fate is Fate.SCRAP:
            result.scrap[(p, reason)] += weight
            return
        if reject.fate is Fate.SECONDS:
            result.seconds[(p, reject.item)] += weight
            return
        to = reject.to - self.chain.first
        result.reworks[(p, to)] += weight
        new = self._sent_back(key, to, p, reject.takes_again)
        arrivals = back.setdefault(to, defaultdict(float))
        arrivals[new] += weight

    def _sent_back(self, key: Key, to: int, p: int, takes_again: bool) -> Key:
        mask, counts, reach, again, _ = key
        slot = self.slot[p]
        counts = (*counts[:slot], counts[slot] + 1, *counts[slot + 1 :])
        mask &= ~self._cleared(to, p, takes_again)
        span = (1 << p + 1) - (1 << to)  # the positions from ``to`` to p
        again = again | span if takes_again else again & ~span
        again &= -1 << to  # before it nothing is repeated
        return (mask, counts, max(reach, p), again, True)

    def _cleared(self, to: int, p: int, takes_again: bool) -> int:
        bits = 0
        for q in range(to, p + 1):
            for bit, _ in self.chain.draws[q]:
                bits |= bit
            incoming = self.chain.incoming[q]
            if takes_again and incoming is not None:
                for mask in incoming:
                    bits |= mask
        return bits

    def _outcome(self, p: int, mask: int, count: int) -> tuple[list[tuple[float, Reject, str]], float]:
        """(probability, reaction, reason) of being rejected, gravest first, and the probability of passing."""
        check = self.chain.checks[p]
        found = (p, mask & bits_looked_for(check), count)
        if found not in self.outcomes:
            self.outcomes[found] = outcomes(check, mask, count, self.chain.fault_names)
        return self.outcomes[found]


def _watch(leaving: dict[int, float], now: Weights, scale: float) -> None:
    for key, weight in now.items():
        leaving[key[0]] = leaving.get(key[0], 0.0) + weight * scale


def _gathered(now: Weights, units: float, rows: Mapping[int, Clump]) -> Weights:
    """Several pieces become one, which has the faults of all of them and goes on as the last of them would.

    Faults in ``rows`` come to several in a row; all others to each piece by itself.
    """
    total = sum(now.values())
    masks: dict[int, float] = {}
    for key, weight in now.items():
        masks[key[0]] = masks.get(key[0], 0.0) + weight / total
    bits = sum(1 << f for f in rows)
    alone: dict[int, float] = {}
    for mask, p in masks.items():
        alone[mask & ~bits] = alone.get(mask & ~bits, 0.0) + p
    others = several(alone, units - 1.0, None)
    joins = {f: sum(p for mask, p in masks.items() if mask >> f & 1) for f in rows}
    new: Weights = defaultdict(float)
    for key, weight in now.items():
        for mask, p in others.items():
            new[(key[0] | mask, *key[1:])] += weight * p
    for f, share in joins.items():
        if 0.0 < share < 1.0:
            new = _draw(new, 1 << f, (rows[f].met(share, units) - share) / (1.0 - share))
    return new


def _merged(now: Weights, scale: float, more: Weights) -> Weights:
    merged = {key: weight * scale for key, weight in now.items()}
    for key, weight in more.items():
        merged[key] = merged.get(key, 0.0) + weight
    return merged


def _totals(now: Weights, p: int) -> tuple[float, float, float]:
    """All weight, the weight that comes to position p for the first time, and the weight that takes parts there."""
    every = first = takes = 0.0
    for (_, _, reach, again, _), weight in now.items():
        every += weight
        if reach < p:
            first += weight
            takes += weight
        elif again >> p & 1:
            takes += weight
    return every, first, takes


def _arrive(now: Weights, incoming: Mapping[int, float], kept: int, p: int) -> Weights:
    """Faults that escaped in the parts join the piece, where it takes parts."""
    new: Weights = defaultdict(float)
    for key, weight in now.items():
        mask, counts, reach, again, reworked = key
        if reach >= p and not again >> p & 1:
            new[key] += weight
            continue
        for faults, probability in incoming.items():
            new[(mask | (faults & kept), counts, reach, again, reworked)] += weight * probability
    return new


def _draw(now: Weights, bit: int, probability: float) -> Weights:
    new: Weights = defaultdict(float)
    for key, weight in now.items():
        mask = key[0]
        if mask & bit:
            new[key] += weight
        else:
            new[key] += weight * (1 - probability)
            new[(mask | bit, *key[1:])] += weight * probability
    return new
