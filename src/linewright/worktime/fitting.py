"""Which distribution do these times follow? Six shapes by maximum likelihood, the best by AICc, its fit tested.

The test is Anderson-Darling with a parametric bootstrap: the shape is fitted anew to each simulated sample, because
tables for known parameters would pass almost anything once the parameters come from the same readings.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize, stats

from linewright.base.arrays import numbers, share
from linewright.base.distributions import Distribution, Shape
from linewright.base.problems import Problems
from linewright.base.results import Honesty, Shown, Table
from linewright.worktime.shapes import PARAMETERS, frozen, log_likelihood

Floats = NDArray[np.float64]
FEWEST = 5  # readings: below this AICc of three parameters does not exist
_LEAST_P = 0.05


@dataclass(frozen=True)
class Candidate:
    """One shape tried: its fitted row, ln L, AICc, and its weight among the shapes (Akaike weights, summing to 1)."""

    distribution: Distribution
    log_likelihood: float
    aicc: float
    weight: float


@dataclass(frozen=True)
class Fit(Shown):
    """The chosen distribution of a set of times, the others tried, and a test of whether it fits at all.

    ``p_value``: probability of so bad a fit, or worse, were the shape right. ``values`` are the sorted readings.
    """

    distribution: Distribution
    candidates: tuple[Candidate, ...]
    anderson_darling: float
    p_value: float
    values: tuple[float, ...]
    honesty: Honesty

    @property
    def fits(self) -> bool:
        """Whether the test at 5 % does not reject the shape."""
        return self.p_value >= _LEAST_P

    def to_table(self) -> Table:
        """The shapes tried, best first."""
        rows = tuple(
            (c.distribution.shape.name.lower(), c.distribution.mean, c.distribution.cv, c.aicc, c.weight)
            for c in self.candidates
        )
        note = f"{rows[0][0]} chosen; Anderson-Darling p = {self.p_value:.3f}" + (
            "" if self.fits else ": even the best shape fits badly"
        )
        return Table("Distribution of the times", ("shape", "mean [s]", "cv", "AICc", "weight"), rows, note)

    def picture(self, bins: int = 20, points: int = 101) -> dict[str, list[float]]:
        """Plain data for a histogram with the fitted density and for a quantile plot."""
        values = np.array(self.values)
        height, edges = np.histogram(values, bins=bins, density=True)
        law = frozen(self.distribution)
        at = np.linspace(edges[0], edges[-1], points)
        rank = (np.arange(values.size) + 0.5) / values.size
        return {
            "edges": edges.tolist(),
            "height": height.tolist(),
            "at": at.tolist(),
            "density": law.pdf(at).tolist(),
            "fitted_quantile": law.ppf(rank).tolist(),
            "reading": values.tolist(),
        }

    def plan_time(self) -> dict[str, object]:
        """The plan's ``time``: mean and cv with the shape, or least, likely, most; a Weibull only as a study file.

        A plan's mean and cv name no Weibull; its mean and cv are then given as lognormal with a note.
        """
        row = self.distribution
        if row.shape is Shape.TRIANGULAR:
            return {"least": f"{row.a:.4g} s", "likely": f"{row.b:.4g} s", "most": f"{row.c:.4g} s"}
        if row.shape in (Shape.LOGNORMAL, Shape.WEIBULL):
            return {"mean": f"{row.mean:.4g} s", "cv": float(f"{row.cv:.3g}")}
        return {"mean": f"{row.mean:.4g} s", "cv": float(f"{row.cv:.3g}"), "shape": row.shape.name.lower()}


def fit_shape(values: Floats, shape: Shape) -> Distribution:
    """One shape fitted to readings by maximum likelihood.

    Equation: the parameters that maximise sum ln f(x); closed forms for exponential and lognormal, a root for
        Weibull and gamma, a search for the cut-off normal and the triangular.
    Takes:
        values [any one unit]: readings above 0, at least 2 and not all the same.
        shape [a member of Shape]: EXPONENTIAL, LOGNORMAL, GAMMA, WEIBULL, NORMAL or TRIANGULAR.
    Gives: a Distribution in the unit of the readings.
    Range: any cv.
    Source: Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions, vol. 1 (from memory).

    >>> fit_shape(np.array([2.0, 4.0, 6.0]), Shape.EXPONENTIAL).mean
    4.0
    """
    return _FITTERS[shape](values)


def fit_distribution(
    values: ArrayLike, *, samples: int = 199, seed: int = 1, shapes: tuple[Shape, ...] = tuple(PARAMETERS)
) -> Fit:
    """The best of several shapes for a set of times, by AICc, with a test of its fit.

    Equation: AICc = 2k - 2 ln L + 2k(k+1)/(n-k-1); weight = exp(-(AICc - least)/2), scaled to sum to 1;
        A2 = -n - (1/n) sum (2i-1)(ln F(x_i) + ln(1 - F(x_{n+1-i}))); p = (1 + samples as bad) / (1 + samples).
    Takes:
        values [s, or any one unit]: times above 0, at least 5, not all the same.
        samples [1]: bootstrap samples of the test, 19 to 9999.
        seed [1]: of the bootstrap.
        shapes [members of Shape]: those to try.
    Gives: a Fit; its honesty names seed and samples.
    Range: p is seen no finer than 1/(samples + 1). With few readings no test can tell the shapes apart.
    Source: Burnham and Anderson, Model Selection and Multimodel Inference, 2002, for AICc and weights; Stute,
        Gonzalez Manteiga and Presedo Quindimil, Metrika 40 (1993), for the bootstrap (from memory).

    >>> times = Distribution(Shape.LOGNORMAL, 3.0, 0.4).quantile((np.arange(40) + 0.5) / 40)
    >>> fit_distribution(times, samples=19).fits
    True
    """
    problems = Problems()
    array = _checked(values, shapes, problems)
    numbers([samples], "samples", problems, low=19, high=9999, whole=True)
    problems.raise_errors()
    candidates = rank_shapes(array, shapes)
    best = candidates[0].distribution
    statistic = _anderson_darling(array, best)
    random = np.random.default_rng(seed)
    law = frozen(best)
    worse = 0
    for _ in range(samples):
        drawn = np.sort(law.rvs(array.size, random_state=random))
        worse += _anderson_darling(drawn, fit_shape(drawn, best.shape)) >= statistic
    honesty = Honesty("sampled", replications=samples, notes=(f"bootstrap seed {seed}",))
    return Fit(best, candidates, statistic, (1 + worse) / (1 + samples), tuple(array.tolist()), honesty)


def rank_shapes(values: ArrayLike, shapes: tuple[Shape, ...] = tuple(PARAMETERS)) -> tuple[Candidate, ...]:
    """Several shapes fitted to a set of times, the best by AICc first; without a test of whether it fits.

    Equation: AICc = 2k - 2 ln L + 2k(k+1)/(n-k-1); weight = exp(-(AICc - least)/2), scaled to sum to 1.
    Takes:
        values [s, or any one unit]: times above 0, at least 5, not all the same.
        shapes [members of Shape]: those to try.
    Gives: Candidates, best first.
    Range: as fit_distribution.
    Source: Burnham and Anderson, Model Selection and Multimodel Inference, 2002.

    >>> found = rank_shapes([3.0, 4.0, 4.5, 5.0, 5.5, 6.0, 8.0], (Shape.EXPONENTIAL, Shape.LOGNORMAL))
    >>> found[0].distribution.shape.name
    'LOGNORMAL'
    """
    problems = Problems()
    array = _checked(values, shapes, problems)
    problems.raise_errors()
    tried = [(row, log_likelihood(row, array)) for row in (fit_shape(array, shape) for shape in shapes)]
    score = np.array([_aicc(like, PARAMETERS[row.shape], array.size) for row, like in tried])
    weight = np.exp(-(score - score.min()) / 2)
    weight /= weight.sum()
    return tuple(
        Candidate(tried[i][0], tried[i][1], float(score[i]), float(weight[i])) for i in np.argsort(score, kind="stable")
    )


def mean_interval(values: ArrayLike, level: float = 0.95) -> tuple[float, float]:
    """Mean of readings and the half-width of its interval.

    Equation: t(1 - (1 - level)/2, n - 1) s / sqrt(n).
    Takes:
        values [any one unit]: at least 2 readings.
        level [1]: confidence, between 0 and 1.
    Gives: mean and half-width, in the unit of the readings.
    Range: exact for normal readings; near enough for others from about 30 readings (common practice, no source).
    Source: any statistics text; Student's t from SciPy.

    >>> [round(v, 4) for v in mean_interval([7, 6, 7, 7, 6])]
    [6.6, 0.6801]
    """
    problems = Problems()
    array = numbers(values, "values", problems, at_least=2)
    share(level, "level", problems)
    problems.raise_errors()
    t = float(stats.t.ppf(0.5 + level / 2, array.size - 1))
    return float(array.mean()), t * float(array.std(ddof=1)) / math.sqrt(array.size)


def _checked(values: ArrayLike, shapes: tuple[Shape, ...], problems: Problems) -> Floats:
    array = np.sort(numbers(values, "values", problems, at_least=FEWEST, above=0.0, vary=True))
    for shape in shapes:
        if shape not in PARAMETERS:
            problems.error("shapes", "this shape is not fitted", value=shape.name, expected="one of the six")
    if not shapes:
        problems.error("shapes", "no shape to try")
    return array


def _aicc(log_like: float, k: int, n: int) -> float:
    return 2 * k - 2 * log_like + 2 * k * (k + 1) / (n - k - 1)


def _anderson_darling(ordered: Floats, distribution: Distribution) -> float:
    law = frozen(distribution)
    n = ordered.size
    i = np.arange(1, n + 1)
    below = np.clip(law.cdf(ordered), 1e-300, 1.0)
    above = np.clip(law.sf(ordered[::-1]), 1e-300, 1.0)
    return float(-n - np.sum((2 * i - 1) * (np.log(below) + np.log(above))) / n)


def _exponential(x: Floats) -> Distribution:
    return Distribution(Shape.EXPONENTIAL, float(x.mean()))


def _lognormal(x: Floats) -> Distribution:
    logs = np.log(x)
    return Distribution(Shape.LOGNORMAL, float(logs.mean()), float(logs.std()))


def _gamma(x: Floats) -> Distribution:
    shape, _, scale = stats.gamma.fit(x, floc=0)
    return Distribution(Shape.GAMMA, float(shape), float(scale))


def _weibull(x: Floats) -> Distribution:
    y = x / x.max()  # powers of large readings would overflow
    logs = np.log(y)

    def slope(k: float) -> float:
        power = y**k
        return float(np.sum(power * logs) / np.sum(power) - 1 / k - logs.mean())

    low, high = 0.5, 5.0
    while slope(low) > 0:
        low /= 2
    while slope(high) < 0:
        high *= 2
    k = float(optimize.brentq(slope, low, high))
    return Distribution(Shape.WEIBULL, k, float(x.max() * np.mean(y**k) ** (1 / k)))


def _normal(x: Floats) -> Distribution:
    mean, sd = float(x.mean()), float(x.std())
    if mean > 5 * sd:  # what is cut off is below 3e-7
        return Distribution(Shape.NORMAL, mean, sd)

    y = x / mean  # near 1 the search is at ease in any unit

    def minus(p: Floats) -> float:
        m, s = float(p[0]), math.exp(float(p[1]))
        z = (y - m) / s
        return float(0.5 * np.sum(z * z) + y.size * (math.log(s) + float(stats.norm.logcdf(m / s))))

    start = np.array([1.0, math.log(sd / mean)])
    # Beyond ten means below zero the tail is an exponential to four digits, and the parent's mean has no meaning
    found = optimize.minimize(minus, start, method="Nelder-Mead", bounds=[(-10.0, 2.0), (-12.0, 3.0)])
    return Distribution(Shape.NORMAL, mean * float(found.x[0]), mean * math.exp(float(found.x[1])))


def _triangular(x: Floats) -> Distribution:
    """Ends by search, outside the readings; for given ends the best peak is at a reading (Oliver, 1972)."""
    spread = float(x.max() - x.min())
    n = x.size

    def peak(least: float, most: float) -> tuple[float, float]:
        rise = np.cumsum(np.log(x - least))
        fall = np.cumsum(np.log(most - x)[::-1])[::-1]
        below = rise - np.arange(1, n + 1) * np.log(x - least)
        above = np.append(fall[1:], 0.0) - np.arange(n - 1, -1, -1) * np.log(most - x)
        total = below + above
        best = int(np.argmax(total))
        return float(x[best]), float(total[best]) + n * math.log(2 / (most - least))

    def ends(p: Floats) -> tuple[float, float]:
        room = np.exp(np.clip(p, -12, 3)) * spread
        return max(0.0, float(x[0] - room[0])), float(x[-1] + room[1])

    def minus(p: Floats) -> float:
        least, most = ends(p)
        return -peak(least, most)[1] if least < x[0] else math.inf

    x = np.sort(x)
    found = optimize.minimize(minus, np.array([-2.0, -2.0]), method="Nelder-Mead")
    least, most = ends(found.x)
    return Distribution(Shape.TRIANGULAR, least, peak(least, most)[0], most)


_FITTERS: dict[Shape, Callable[[Floats], Distribution]] = {
    Shape.EXPONENTIAL: _exponential,
    Shape.LOGNORMAL: _lognormal,
    Shape.GAMMA: _gamma,
    Shape.WEIBULL: _weibull,
    Shape.NORMAL: _normal,
    Shape.TRIANGULAR: _triangular,
}
