"""When will this tank be dry? From the first days' readings of sugar and temperature, with an interval that tightens.

Pace, nitrogen and yeast of a tank are known only roughly: each begins as a guess with a spread. Readings narrow them
(least squares with the guess as one more reading each, then draws from the bell about the best fit); each draw is
fermented to the end. Draws that never get dry are counted and said.
"""

from __future__ import annotations

import warnings
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike
from scipy import optimize

from linewright.base.arrays import numbers, share
from linewright.base.problems import Problems
from linewright.base.results import Honesty, Shown, Table
from linewright.physics.ferment import CELLAR_PACE
from linewright.physics.ferment_curves import Schedule, ferment_many
from linewright.physics.inputs import Floats
from linewright.physics.ranges import RangeWarning
from linewright.physics.yeast import TOO_SWEET

GUESSES: Mapping[str, tuple[float, float]] = {
    "pace": (CELLAR_PACE, 0.35),
    "nitrogen": (130.0, 0.45),
    "yeast": (0.2, 0.5),
}
"""What is known before any reading: the middle, and the standard deviation of its logarithm (common practice)."""
DRAWS = 400
LATEST = 24.0 * 200


@dataclass(frozen=True)
class Forecast(Shown):
    """Hours from the pitching until dry: ``hours`` the middle of the draws, ``low`` and ``high`` their interval.

    ``stuck`` is the share of draws that never get dry; where it is half or more, ``hours`` is infinite. ``constants``
    are pace, nitrogen and yeast as the readings have them now. ``course`` maps names to rows for a picture.
    """

    hours: float
    low: float
    high: float
    level: float
    stuck: float
    readings: int
    constants: Mapping[str, float]
    honesty: Honesty
    course: Mapping[str, tuple[float, ...]] = field(default_factory=dict)

    def to_table(self) -> Table:
        """The forecast in days."""
        rows = (("dry after", self.hours / 24, "day"), ("at the earliest", self.low / 24, "day"),
                ("at the latest", self.high / 24, "day"), ("never dry", 100 * self.stuck, "% of draws"))  # fmt: skip
        note = f"{self.level:.0%} interval from {self.readings} readings"
        return Table("When is it dry?", ("what", "value", "unit"), rows, note)


def forecast(
    hours: ArrayLike,
    sugar: ArrayLike,
    temperature: ArrayLike,
    *,
    start: float | None = None,
    end: float = 2.0,
    error: float = 2.0,
    guesses: Mapping[str, tuple[float, float]] | None = None,
    level: float = 0.9,
    seed: int = 1,
) -> Forecast:
    """When a tank will be dry, from its readings so far.

    Equation: min sum ((S_i - S(t_i)) / error)^2 + sum ((ln c - ln m) / s)^2; draws from the normal law with covariance
        (J'J)^-1 at the best fit.
    Takes:
        hours [h]: of the readings since pitching, rising, the first at 0 or later.
        sugar [g/L]: read.
        temperature [degC]: read; straight lines between, the last one held to the end.
        start [g/L]: sugar at pitching; the first reading where not given.
        end [g/L]: sugar at which it is dry.
        error [g/L]: standard deviation of a reading.
        guesses [see GUESSES]: (middle, spread of the logarithm) of pace, nitrogen, yeast.
        level [1]: of the interval.
        seed [1]: of the draws.
    Gives: a Forecast. Raises ProblemsError.
    Range: as yeast.RANGES. A reading that misses the curve by more than five errors is noted.
    Source: as yeast.slopes; Bayes' rule linearised at the best fit (Bates and Watts, 1988, from memory).

    >>> early = forecast([0.0, 24.0, 48.0], [200.0, 198.0, 192.0], [17.0, 17.0, 17.0])
    >>> early.low < early.hours < early.high
    True
    """
    problems = Problems()
    at = numbers(hours, "hours", problems, at_least=2, low=0.0)
    read = numbers(sugar, "sugar", problems, at_least=2, low=0.0, high=TOO_SWEET)
    warm = numbers(temperature, "temperature", problems, at_least=2, low=4.0, high=40.0)
    share(level, "level", problems)
    if len({at.size, read.size, warm.size}) > 1:
        problems.error("hours", "hours, sugar and temperature are not of one number")
    elif np.any(np.diff(at) <= 0):
        problems.error("hours", "the hours do not rise")
    if not error > 0:
        problems.error("error", "the error of a reading is above zero", value=error)
    prior = {**GUESSES, **(guesses or {})}
    for name, (middle, spread) in prior.items():
        if name not in GUESSES or not (middle > 0 and spread > 0):
            problems.error(f"guesses.{name}", "a guess is a middle and a spread, both above zero", value=middle)
    problems.raise_errors()
    first = float(read[0]) if start is None else start
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)  # draws wander outside; the middle is said in the notes
        return _cast(
            at, read, Schedule(tuple(at.tolist()), tuple(warm.tolist())), first, end, error, prior, level, seed
        )


def _cast(
    at: Floats, read: Floats, warm: Schedule, start: float, end: float, error: float,
    prior: Mapping[str, tuple[float, float]], level: float, seed: int,
) -> Forecast:  # fmt: skip
    names = list(GUESSES)
    middle = np.log([prior[n][0] for n in names])
    spread = np.array([prior[n][1] for n in names])
    grid = np.unique(np.concatenate([[0.0], at]))
    if grid.size < 2:
        grid = np.array([0.0, max(float(at[-1]), 1.0)])
    places = np.searchsorted(grid, at)

    def sugars(z: Floats) -> Floats:
        c = np.exp(middle[:, None] + spread[:, None] * np.atleast_2d(z).T)
        course = ferment_many(start, c[1], c[2], warm, grid, pace=c[0], end=end, tolerance=1e-7)
        return course.sugar[:, places]

    def misses(z: Floats) -> Floats:
        return np.concatenate([(sugars(z)[0] - read) / error, z])

    def slopes(z: Floats) -> Floats:
        h = 1e-4
        steps = np.concatenate([z + h * np.eye(z.size), z - h * np.eye(z.size)])
        moved = sugars(steps)
        return np.vstack([((moved[: z.size] - moved[z.size :]) / (2 * h * error)).T, np.eye(z.size)])

    fit = optimize.least_squares(misses, np.zeros(len(names)), jac=slopes, x_scale=1.0)
    j = slopes(fit.x)
    root = np.linalg.cholesky(np.linalg.inv(j.T @ j))
    random = np.random.default_rng(seed).standard_normal((DRAWS, len(names)))
    z = fit.x + random @ root.T
    c = np.exp(middle + spread * z)
    days = np.concatenate([grid, np.arange(np.ceil(grid[-1] / 12 + 1e-9) * 12 + 12, LATEST, 12.0)])
    course = ferment_many(start, c[:, 1], c[:, 2], warm, days, pace=c[:, 0], end=end)
    dry = course.dry_after
    ends = ((1 - level) / 2, 0.5, (1 + level) / 2)
    low, hours, high = (float(np.quantile(dry, q, method="inverted_cdf")) for q in ends)
    best = dict(zip(names, np.exp(middle + spread * fit.x).tolist(), strict=True))
    notes = []
    far = np.abs(fit.fun[: at.size]) > 5
    if far.any():
        notes.append(
            f"{int(far.sum())} readings miss the curve by more than five errors: is it still this fermentation?"
        )
    stuck = float(np.mean(np.isinf(dry)))
    if stuck > 0:
        notes.append(f"{stuck:.0%} of the draws stick")
    until = days <= (high if np.isfinite(high) else LATEST) * 1.1 + 24
    band = np.quantile(course.sugar[:, until], ends, axis=0)
    drawn = {"hours": days[until], "low": band[0], "middle": band[1], "high": band[2], "read_at": at, "read": read}
    rows = {name: tuple(float(v) for v in values) for name, values in drawn.items()}
    return Forecast(hours, low, high, level, stuck, int(at.size), best, Honesty("sampled", replications=DRAWS,
                    notes=tuple(notes)), rows)  # fmt: skip
