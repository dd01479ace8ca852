"""How long does a chart run before it signals? Average run lengths, computed: by chance, and after a shift.

Run rules together are a Markov chain over what the rules remember; the weighted mean and the cumulative sum obey an
integral equation. Rules that compare points with each other (trend, zigzag) are simulated, with an interval.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, sparse, special, stats
from scipy.sparse import linalg

from linewright.base.arrays import number
from linewright.base.problems import Problems
from linewright.base.results import Interval
from linewright.quality.charts.rules import Rule, find_signals

_NODES = 120  # quadrature nodes: eight digits and more for weights down to 0.01
_MOST_STATES = 200_000
_LONGEST = 1e9
_LEAST_DECISION = 1e-3

Memory = tuple[int, ...]


def run_length(rules: Sequence[Rule], shift: float = 0.0) -> float:
    """Average number of points until any of several run rules signals.

    Equation: ARL = e_0' (I - Q)^-1 1 over the states of what the rules remember; Q from the normal probabilities of
        the zones between the rules' distances, the process mean shifted.
    Takes:
        rules [Rules]: of the kinds beyond, near and far; at least one.
        shift [standard deviations of a point]: of the mean from the centre, -20 to 20.
    Gives: ARL [points], from a fresh start.
    Range: independent normal points, centre and spread known. Limits estimated from few readings make it vary widely.
    Source: Champ and Woodall, Technometrics 29 (1987) 393-399.

    >>> from linewright.quality.charts.rules import BEYOND_LIMITS, ONE_SIDE, TWO_OF_THREE
    >>> round(run_length([BEYOND_LIMITS]), 2), round(run_length([BEYOND_LIMITS, TWO_OF_THREE]), 2)
    (370.4, 225.44)
    """
    problems = Problems()
    number(shift, "shift", problems, low=-20.0, high=20.0)
    if not rules:
        problems.error("rules", "no rule is given")
    for rule in rules:
        if rule.kind in ("trend", "zigzag"):
            hint = "use run_length_by_simulation"
            problems.error("rules", f'"{rule.name}" compares points with each other: no such chain', hint=hint)
    problems.raise_errors()
    middles, chance = _zones(rules, shift)
    start: Memory = tuple([0] * (2 * len(rules)))
    number_of: dict[Memory, int] = {start: 0}
    waiting = [start]
    rows, columns, values = [], [], []
    while waiting:
        state = waiting.pop()
        for z, p in zip(middles, chance, strict=True):
            after = _step(state, rules, float(z))
            if after is None or p == 0:
                continue
            if after not in number_of:
                number_of[after] = len(number_of)
                waiting.append(after)
            rows.append(number_of[state])
            columns.append(number_of[after])
            values.append(p)
        if len(number_of) > _MOST_STATES:
            problems.error("rules", "these rules remember too much for a chain", hint="use run_length_by_simulation")
            problems.raise_errors()
    n = len(number_of)
    stays = sparse.csc_matrix((values, (rows, columns)), shape=(n, n))
    away = sparse.identity(n, format="csc") - stays
    return float(np.atleast_1d(linalg.spsolve(away.T.tocsc(), np.eye(1, n)[0])).sum())


def run_length_by_simulation(
    rules: Sequence[Rule], shift: float = 0.0, *, runs: int = 2000, seed: int = 1, longest: int = 100_000
) -> Interval:
    """Average run length of any rules by playing charts.

    Equation: mean of the first signal's position over independent runs; interval 1.96 s/sqrt(runs).
    Takes:
        rules [Rules]: any, at least one.
        shift [standard deviations of a point]: -20 to 20.
        runs [1]: charts played, 100 to 100,000.
        seed [1]: of the random numbers.
        longest [points]: a chart still silent then raises a problem, so that the mean is never cut short.
    Gives: an Interval [points] at 95 %.
    Range: average run lengths up to about a tenth of ``longest``.
    Source: definition.

    >>> from linewright.quality.charts.rules import BEYOND_LIMITS
    >>> found = run_length_by_simulation([BEYOND_LIMITS], 2.0)
    >>> found.low < 6.303 < found.high
    True
    """
    problems = Problems()
    number(shift, "shift", problems, low=-20.0, high=20.0)
    number(runs, "runs", problems, low=100, high=100_000, whole=True)
    if not rules:
        problems.error("rules", "no rule is given")
    problems.raise_errors()
    random = np.random.default_rng(seed)
    lengths = np.empty(runs)
    back = max(r.window for r in rules) + 1
    for run in range(runs):
        z = np.empty(0)
        seen, block = 0, 256
        while True:
            z = np.concatenate([z[-back:], random.normal(shift, 1.0, block)])
            first = seen - min(seen, back)  # position of z[0]
            where = [int(w[0]) for w in find_signals(z, rules).values() if w.size]
            if where:
                lengths[run] = first + min(where) + 1
                break
            seen = first + z.size
            block = min(8192, 2 * block)
            if seen > longest:
                problems.error("rules", f"no signal in {longest:,} points", hint="raise longest")
                problems.raise_errors()
    return Interval(float(lengths.mean()), 1.96 * float(lengths.std(ddof=1)) / math.sqrt(runs))


def run_length_weighted_mean(weight: float, width: float, shift: float = 0.0) -> float:
    """Average run length of the exponentially weighted mean, two-sided, limits at their long-run width.

    Equation: L(u) = 1 + (1/w) integral from -h to h of L(y) phi((y - (1-w) u)/w - shift) dy, h = width
        sqrt(w/(2-w)); solved at Gauss-Legendre nodes; ARL = L(0).
    Takes:
        weight [1]: w, 0.01 to 1.
        width [1]: limits in standard deviations of the weighted mean, above 0 to 6.
        shift [standard deviations of a reading]: 0 or more.
    Gives: ARL [points].
    Range: independent normal readings, centre and spread known.
    Source: Crowder, Technometrics 29 (1987) 401-407; Lucas and Saccucci, Technometrics 32 (1990) 1-12.

    >>> round(run_length_weighted_mean(0.1, 2.814), 0)
    500.0
    """
    problems = Problems()
    number(weight, "weight", problems, low=0.01, high=1.0)
    number(width, "width", problems, above=0.0, high=6.0)
    number(shift, "shift", problems, low=0.0, high=20.0)
    problems.raise_errors()
    h = width * math.sqrt(weight / (2 - weight))
    node, step = np.polynomial.legendre.leggauss(_NODES)
    y, step = h * node, h * step

    def kernel(u: NDArray[np.float64]) -> NDArray[np.float64]:
        z = (y[None, :] - (1 - weight) * u[:, None]) / weight - shift
        return np.asarray(step * np.exp(-z * z / 2) / (math.sqrt(2 * math.pi) * weight))

    inside = np.linalg.solve(np.eye(_NODES) - kernel(y), np.ones(_NODES))
    return float(1 + (kernel(np.zeros(1)) @ inside)[0])


def run_length_cumulative_sum(
    slack: float, decision: float, shift: float = 0.0, *, sides: int = 2, head_start: float = 0.0
) -> float:
    """Average run length of the cumulative sum, one-sided or two-sided.

    Equation: L(u) = 1 + L(0) Phi(k - u - shift) + integral from 0 to h of L(y) phi(y + k - u - shift) dy, at
        Gauss-Legendre nodes; two sides: 1/ARL = 1/ARL(up) + 1/ARL(down), with a head start L = (up(v) down(0) +
        up(0) down(v) - up(0) down(0))/(up(0) + down(0)).
    Takes:
        slack [standard deviations]: k, 0 or more.
        decision [standard deviations]: h, above 0 to 30.
        shift [standard deviations of a reading]: -20 to 20; upwards for one side.
        sides [1]: 1 (up only) or 2.
        head_start [standard deviations]: v, where each sum begins, 0 to h.
    Gives: ARL [points].
    Range: independent normal readings, centre and spread known; beyond 1e9 points a problem is raised.
    Source: Page (1954); Kemp, J. R. Statist. Soc. B 23 (1961); Lucas and Crosier, Technometrics 24 (1982).

    >>> round(run_length_cumulative_sum(0.5, 4.0), 1), round(run_length_cumulative_sum(0.5, 4.0, 1.0), 2)
    (167.7, 8.38)
    """
    problems = Problems()
    number(slack, "slack", problems, low=0.0, high=20.0)
    number(decision, "decision", problems, above=0.0, high=30.0)
    number(shift, "shift", problems, low=-20.0, high=20.0)
    number(sides, "sides", problems, low=1, high=2, whole=True)
    number(head_start, "head_start", problems, low=0.0, high=decision)
    problems.raise_errors()
    up0, up = _one_sided(slack, decision, shift, head_start)
    down0, down = _one_sided(slack, decision, -shift, head_start) if sides == 2 else (math.inf, math.inf)
    if math.isinf(up0) and math.isinf(down0):
        problems.error("decision", "the run length is beyond 1e9 points", value=decision)
        problems.raise_errors()
    if math.isinf(up0) or math.isinf(down0):
        return up if math.isinf(down0) else down
    return (up * down0 + up0 * down - up0 * down0) / (up0 + down0)


def run_length_counts(lower: float, upper: float, expected: float, *, inspected: int | None = None) -> float:
    """Average run length of a chart of counts: the exact law of the counts, not the normal one.

    Equation: 1/P(count > upper or count < lower); Poisson, or binomial where ``inspected`` is given.
    Takes:
        lower [counts]: lower limit; minus infinity where there is none.
        upper [counts]: upper limit, above lower.
        expected [counts]: mean count a point, above 0.
        inspected [units]: sample size for faulty units; None for faults.
    Gives: ARL [points]; infinite where the limits cannot be crossed.
    Range: independent counts.
    Source: definition.

    >>> round(run_length_counts(0.0, 9.0, 4.0), 1)
    123.0
    """
    problems = Problems()
    number(expected, "expected", problems, above=0.0)
    if not lower < upper:
        problems.error("lower", "the limits are reversed", value=f"lower {lower:g}, upper {upper:g}")
    if inspected is not None and not inspected > expected:
        problems.error("inspected", "fewer than expected to be faulty", value=inspected)
    problems.raise_errors()
    law = stats.poisson(expected) if inspected is None else stats.binom(inspected, expected / inspected)
    p = float(law.sf(np.floor(upper))) + float(law.cdf(np.ceil(lower) - 1))
    return 1 / p if p > 0 else math.inf


def width_of_weighted_mean(weight: float, silent: float) -> float:
    """The limits of a weighted mean that gives a stated time between false alarms.

    Equation: run_length_weighted_mean(weight, L) = silent, solved for L.
    Takes:
        weight [1]: 0.01 to 1.
        silent [points]: average run length wanted with no shift, 10 to 100,000.
    Gives: L [standard deviations of the weighted mean].
    Range: as run_length_weighted_mean.
    Source: as run_length_weighted_mean.

    >>> round(width_of_weighted_mean(0.2, 370.4), 3)
    2.859
    """
    problems = Problems()
    number(weight, "weight", problems, low=0.01, high=1.0)
    number(silent, "silent", problems, low=10.0, high=100_000.0)
    problems.raise_errors()

    def miss(width: float) -> float:
        return math.log(run_length_weighted_mean(weight, width) / silent)

    return float(optimize.brentq(miss, 0.05, 5.5, xtol=1e-10))


def decision_of_cumulative_sum(slack: float, silent: float) -> float:
    """The decision value of a two-sided cumulative sum that gives a stated time between false alarms.

    Equation: run_length_cumulative_sum(slack, h) = silent, solved for h.
    Takes:
        slack [standard deviations]: k, 0.1 to 3; half the shift to be seen.
        silent [points]: average run length wanted with no shift, 10 to 100,000.
    Gives: h [standard deviations].
    Range: as run_length_cumulative_sum.
    Source: as run_length_cumulative_sum.

    >>> round(decision_of_cumulative_sum(0.5, 370.4), 3)
    4.775
    """
    problems = Problems()
    number(slack, "slack", problems, low=0.1, high=3.0)
    number(silent, "silent", problems, low=10.0, high=100_000.0)
    problems.raise_errors()
    if run_length_cumulative_sum(slack, _LEAST_DECISION) > silent:
        problems.error("silent", "with this slack the chart is silent longer whatever the decision value", value=silent)
        problems.raise_errors()
    high = 1.0
    while run_length_cumulative_sum(slack, high) < silent:
        high *= 1.5

    def miss(h: float) -> float:
        return math.log(run_length_cumulative_sum(slack, h) / silent)

    return float(optimize.brentq(miss, _LEAST_DECISION, high, xtol=1e-10))


def _one_sided(k: float, h: float, shift: float, start: float) -> tuple[float, float]:
    """Average run lengths of the upward sum from 0 and from ``start``. The first unknown is L(0), an atom."""
    node, step = np.polynomial.legendre.leggauss(_NODES)
    y, step = h * (node + 1) / 2, h * step / 2
    u = np.concatenate([[0.0], y])

    def row(at: NDArray[np.float64]) -> NDArray[np.float64]:
        z = y[None, :] + k - at[:, None] - shift
        density = step * np.exp(-z * z / 2) / math.sqrt(2 * math.pi)
        return np.column_stack([special.ndtr(k - at - shift), density])

    values = np.linalg.solve(np.eye(u.size) - row(u), np.ones(u.size))
    if not 0 < values[0] < _LONGEST:  # too near singular to keep six digits: practically never
        return math.inf, math.inf
    return float(values[0]), float(1 + (row(np.array([start])) @ values)[0])


def _zones(rules: Sequence[Rule], shift: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """A value inside each zone between the rules' distances, and each zone's probability."""
    cuts = np.unique([s * r.distance for r in rules for s in (-1.0, 1.0)])
    edges = np.concatenate([[-np.inf], cuts, [np.inf]])
    # from the nearer tail, so that far zones keep their digits
    low, high = edges[:-1] - shift, edges[1:] - shift
    chance = np.where(low > 0, special.ndtr(-low) - special.ndtr(-high), special.ndtr(high) - special.ndtr(low))
    middles = np.concatenate([[cuts[0] - 1], (cuts[:-1] + cuts[1:]) / 2, [cuts[-1] + 1]])
    return middles, chance


def _step(state: Memory, rules: Sequence[Rule], z: float) -> Memory | None:
    """What the rules remember after a point at z; None where one signals."""
    after: list[int] = []
    for i, rule in enumerate(rules):
        if rule.kind == "beyond":
            for side in (0, 1):
                hit = z > rule.distance if side == 0 else z < -rule.distance
                bits = (state[2 * i + side] << 1 | hit) & ((1 << rule.window) - 1)
                if hit and bits.bit_count() >= rule.need:
                    return None
                after.append(_useful(bits, rule))
        else:
            hit = abs(z) < rule.distance if rule.kind == "near" else abs(z) > rule.distance
            run = state[2 * i] + 1 if hit else 0
            if run >= rule.window:
                return None
            after.extend((run, 0))
    return tuple(after)


def _useful(bits: int, rule: Rule) -> int:
    """The window without its oldest point and without hits too old to help: fewer states, the same chain."""
    bits &= (1 << (rule.window - 1)) - 1
    if rule.need == rule.window:  # only an unbroken run counts
        run = (~bits & (bits + 1)).bit_length() - 1
        return (1 << run) - 1
    while bits:
        oldest = bits.bit_length()  # this hit leaves after window - oldest more points
        if bits.bit_count() + rule.window - oldest >= rule.need:
            break
        bits &= ~(1 << (oldest - 1))
    return bits
