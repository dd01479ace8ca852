"""From a stopwatch to a standard: normal time, standard time with allowances, and how many cycles are still to time.

Times come from arrays or from a table with the columns element, time and rating. A plan's ``time`` is normal time;
the allowance belongs to the crew, so that it is counted once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from linewright.base.arrays import number, numbers, share
from linewright.base.distributions import Distribution, fixed
from linewright.base.problems import Problems, did_you_mean
from linewright.base.results import Interval, Shown, Table
from linewright.base.tables import read_sheet
from linewright.worktime.fitting import FEWEST, Fit, fit_distribution, mean_interval, rank_shapes
from linewright.worktime.outliers import Outlier, flag_outliers

AllowanceOf = Literal["work", "shift"]


@dataclass(frozen=True)
class Cycles:
    """How many cycles a stated accuracy takes: timed so far, needed in all, still to time; accuracy reached so far."""

    timed: int
    needed: int
    still: int
    reached: float


@dataclass(frozen=True)
class ElementStudy(Shown):
    """One element of work. Times in seconds; rating and accuracy as shares of 1.

    ``fit`` is None with a reason in ``notes`` where no distribution can be fitted.
    """

    element: str
    readings: int
    observed: float
    rating: float
    normal: Interval
    standard: float
    cycles: Cycles | None
    outliers: tuple[Outlier, ...]
    fit: Fit | None
    notes: tuple[str, ...] = ()

    def to_table(self) -> Table:
        """The fitted shapes, or the readings where there is no fit."""
        if self.fit is not None:
            return self.fit.to_table()
        return Table(self.element, ("normal time [s]", "standard time [s]"), ((self.normal.mean, self.standard),))


@dataclass(frozen=True)
class TimeStudy(Shown):
    """All elements of a study, in the order of their first reading; the sums are of one cycle of each."""

    elements: tuple[ElementStudy, ...]
    allowance: float
    allowance_of: AllowanceOf

    @property
    def normal_time(self) -> float:
        """Sum of the normal times in seconds."""
        return sum(e.normal.mean for e in self.elements)

    @property
    def standard_time(self) -> float:
        """Sum of the standard times in seconds."""
        return sum(e.standard for e in self.elements)

    def to_table(self) -> Table:
        """One row an element."""
        columns = (
            "element",
            "readings",
            "observed [s]",
            "rating",
            "normal [s]",
            "plus or minus [s]",
            "standard [s]",
            "still to time",
            "flagged",
            "shape",
        )
        rows = tuple(
            (
                e.element,
                e.readings,
                e.observed,
                e.rating,
                e.normal.mean,
                e.normal.half_width if math.isfinite(e.normal.half_width) else None,
                e.standard,
                e.cycles.still if e.cycles else None,
                len(e.outliers),
                e.fit.distribution.shape.name.lower() if e.fit else None,
            )
            for e in self.elements
        )
        note = f"allowance {self.allowance:.1%} of {self.allowance_of} time; flagged readings are kept"
        return Table("Time study", columns, rows, note)


@dataclass(frozen=True)
class Readings:
    """A time-study table as read: element names, observed times in seconds and ratings as shares, one row a reading."""

    elements: tuple[str, ...]
    times: NDArray[np.float64]
    ratings: NDArray[np.float64]
    rated: bool

    def normal_times(self, element: str) -> NDArray[np.float64]:
        """Observed time times rating of each reading of one element."""
        rows = np.array([name == element for name in self.elements])
        return np.asarray(self.times[rows] * self.ratings[rows])

    @property
    def names(self) -> tuple[str, ...]:
        """The elements in the order of their first reading."""
        return tuple(dict.fromkeys(self.elements))


def normal_time(observed: float, rating: float = 1.0) -> float:
    """Normal time: what the work takes at standard performance.

    Equation: normal = observed x rating.
    Takes:
        observed [s, or any unit of time]: mean observed time, 0 or more.
        rating [1]: pace of the worker, 1 at standard performance, above 0 to 2.
    Gives: normal time, in the unit of observed.
    Range: ratings beyond 0.5 to 1.5 are doubted in practice (common practice, no source).
    Source: ILO, Introduction to Work Study, 4th ed., chapters on rating (from memory).

    >>> normal_time(50.0, 0.9)
    45.0
    """
    problems = Problems()
    number(observed, "observed", problems, low=0.0)
    number(rating, "rating", problems, above=0.0, high=2.0)
    problems.raise_errors()
    return observed * rating


def standard_time(normal: float, allowance: float, allowance_of: AllowanceOf) -> float:
    """Standard time: normal time with allowance for rest, need and small delays.

    Equation: normal x (1 + A) where A is a share of work time; normal / (1 - A) where A is a share of the shift.
    Takes:
        normal [s, or any unit of time]: normal time, 0 or more.
        allowance [1]: A, from 0; below 1.
        allowance_of ["work" or "shift"]: what A is a share of. It must be said: the two differ by a factor 1 - A^2.
    Gives: standard time, in the unit of normal.
    Range: any.
    Source: both conventions are in use; ILO, Introduction to Work Study, takes the share of work time (from memory).

    >>> round(standard_time(4.0, 0.15, "work"), 4), round(standard_time(4.0, 0.15, "shift"), 4)
    (4.6, 4.7059)
    """
    problems = Problems()
    number(normal, "normal", problems, low=0.0)
    if not 0 <= allowance < 1:
        problems.error("allowance", "not an allowance", value=allowance, expected="a share from 0, below 1")
    if allowance_of not in ("work", "shift"):
        problems.error("allowance_of", "unknown base", value=allowance_of, expected='"work" or "shift"')
    problems.raise_errors()
    return normal * (1 + allowance) if allowance_of == "work" else normal / (1 - allowance)


def cycles_needed(observed: ArrayLike, accuracy: float = 0.05, confidence: float = 0.95) -> Cycles:
    """How many cycles to time so that the mean is known to a share of itself.

    Equation: the least n with t(1 - (1-C)/2, n-1) s / sqrt(n) <= a mean; s and mean from the readings so far.
    Takes:
        observed [s, or any one unit]: readings above 0, at least 2.
        accuracy [1]: a, half-width wanted as a share of the mean, between 0 and 1.
        confidence [1]: C, between 0 and 1.
    Gives: Cycles; ``reached`` is the accuracy of the readings so far.
    Range: s of a few readings is itself uncertain: time the cycles asked for, then ask again.
    Source: Student's t interval solved for n; any statistics text.

    >>> cycles_needed([7, 6, 7, 7, 6]).needed
    14
    """
    problems = Problems()
    array = numbers(observed, "observed", problems, at_least=2, above=0.0)
    share(accuracy, "accuracy", problems)
    share(confidence, "confidence", problems)
    problems.raise_errors()
    ratio = float(array.std(ddof=1) / array.mean()) / accuracy
    upper = 0.5 + confidence / 2

    def enough(n: int) -> bool:
        return float(special.stdtrit(n - 1, upper)) * ratio <= math.sqrt(n)

    n = max(2, math.ceil((float(special.ndtri(upper)) * ratio) ** 2))
    while not enough(n):
        n += 1
    _, half = mean_interval(array, confidence)
    return Cycles(array.size, n, max(0, n - array.size), half / float(array.mean()))


def cycles_by_sums(observed: ArrayLike, accuracy: float = 0.05, z: float = 2.0) -> float:
    """The work-study handbook's number of readings, from sums and a fixed multiple of the standard deviation.

    Equation: n' = ((z/a) sqrt(n sum x^2 - (sum x)^2) / sum x)^2; z/a = 40 for 95.45 % and 5 %.
    Takes:
        observed [s, or any one unit]: preliminary readings above 0, at least 2.
        accuracy [1]: a, between 0 and 1.
        z [1]: standard deviations of the confidence wanted; 2 is 95.45 %.
    Gives: n', not rounded.
    Range: takes the spread as known, so it asks for too few with few readings; cycles_needed does not.
    Source: ILO, Introduction to Work Study, 4th ed., statistical method (from memory).

    >>> round(cycles_by_sums([7, 6, 7, 7, 6]), 3)
    8.815
    """
    problems = Problems()
    array = numbers(observed, "observed", problems, at_least=2, above=0.0)
    share(accuracy, "accuracy", problems)
    number(z, "z", problems, above=0.0)
    problems.raise_errors()
    total = float(array.sum())
    spread = array.size * float(np.sum(array * array)) - total * total
    return (z / accuracy) ** 2 * max(0.0, spread) / (total * total)


def read_readings(path: str | Path) -> Readings:
    """A time-study table from a CSV or XLSX file.

    Equation: none; a reader.
    Takes:
        path [file name]: a table with the columns ``element``, ``time`` and, if rated, ``rating``. Time has a unit in
            its heading (``time [s]``) or beside each number. A rating is written ``95 %``, or bare on the scale where
            100 is standard performance.
    Gives: Readings, times in seconds and ratings as shares; unrated work is taken at 1.
    Range: times above 0, ratings above 0 to 200 %.
    Source: rating scale 0-100 of the ILO, Introduction to Work Study (from memory).

    Raises ProblemsError with every problem by line.

    >>> import tempfile, pathlib
    >>> file = pathlib.Path(tempfile.mkdtemp()) / "glue.csv"
    >>> _ = file.write_text("element,time [s],rating\\nglue,52,95\\nglue,48,100\\n")
    >>> read_readings(file).normal_times("glue").tolist()
    [49.4, 48.0]
    """
    sheet = read_sheet(path)
    names = [name.strip() for name in sheet.texts("element")]
    times = sheet.numbers("time", "time")
    rated = sheet.has("rating")
    ratings = _ratings(sheet.texts("rating"), sheet.numbers("rating", "share")) if rated else np.ones(times.size)
    problems = sheet.problems
    for i, name in enumerate(names):
        if not name:
            problems.error("element", "the element has no name", hint=f"line {sheet.lines[i]}")
    for column, values, most in (("time", times, math.inf), ("rating", ratings, 2.0)):
        for i in np.flatnonzero(np.isfinite(values) & ((values <= 0) | (values > most)))[:5]:
            limit = "above 0" if values[i] <= 0 else "at most 200 %"
            problems.error(column, f"line {sheet.lines[i]}: out of range", value=float(values[i]), expected=limit)
    for i in np.flatnonzero((ratings > 0) & (ratings < 0.1))[:5]:
        what = f"line {sheet.lines[i]}: a rating below 10 %"
        problems.error("rating", what, value=sheet.texts("rating")[i], hint="write 95 or 95 %, not 0.95")
    problems.raise_errors()
    return Readings(tuple(names), times, ratings, rated)


def _ratings(cells: list[str], values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Ratings as shares: ``95 %`` is already one, a bare 95 is on the scale of 100."""
    bare = np.array(["%" not in cell for cell in cells])
    return np.where(bare, values / 100.0, values) if bare.size == values.size else values


def study_distribution(path: str | Path, element: str | None = None) -> Distribution:
    """The distribution of an element's normal time: what ``time = { study, element }`` of a plan means.

    Equation: the best shape by AICc of observed x rating; a fixed time where all readings are the same.
    Takes:
        path [file name]: as read_readings.
        element [a name]: which element; may be left out where the file has only one.
    Gives: a Distribution in seconds.
    Range: at least 5 readings of the element, unless they are all the same.
    Source: rank_shapes.

    >>> import tempfile, pathlib
    >>> file = pathlib.Path(tempfile.mkdtemp()) / "cut.csv"
    >>> _ = file.write_text("element,time\\n" + "cut,4 s\\n" * 3)
    >>> study_distribution(file).mean
    4.0
    """
    readings = read_readings(path)
    problems = Problems()
    if element is None and len(readings.names) > 1:
        problems.error("element", "the study has several elements", expected="one of " + ", ".join(readings.names))
    name = element if element is not None else readings.names[0]
    if name not in readings.names:
        problems.error("element", "the study has no such element", value=name, hint=did_you_mean(name, readings.names))
    problems.raise_errors()
    values = readings.normal_times(name)
    if np.all(values == values[0]):
        return fixed(float(values[0]))
    if values.size < FEWEST:
        problems.error("element", f'"{name}" has {values.size} readings', expected=f"at least {FEWEST} for a fit")
        problems.raise_errors()
    return rank_shapes(values)[0].distribution


def time_study(
    readings: Readings,
    *,
    allowance: float = 0.0,
    allowance_of: AllowanceOf = "work",
    accuracy: float = 0.05,
    confidence: float = 0.95,
    samples: int = 199,
) -> TimeStudy:
    """The whole study: each element's normal and standard time, what to time further, what stands apart, what fits.

    Equation: as normal_time, standard_time, cycles_needed, flag_outliers and fit_distribution.
    Takes:
        readings [s and shares]: a table read by read_readings.
        allowance [1]: as standard_time.
        allowance_of ["work" or "shift"]: as standard_time.
        accuracy [1]: as cycles_needed.
        confidence [1]: of the intervals and of cycles_needed.
        samples [1]: bootstrap samples of the fit's test.
    Gives: a TimeStudy. Flagged readings are kept.
    Range: one reading gives a time without interval, and says so.
    Source: as the functions named.

    >>> table = Readings(("glue",) * 6, np.array([50.0, 48, 52, 49, 51, 50]), np.ones(6), False)
    >>> round(time_study(table, allowance=0.1, samples=19).standard_time, 6)
    55.0
    """
    studied = []
    for name in readings.names:
        rows = np.array([e == name for e in readings.elements])
        normal = readings.normal_times(name)
        observed = readings.times[rows]
        notes, fit, cycles = [], None, None
        half = math.inf
        if normal.size >= 2:
            half = mean_interval(normal, confidence)[1]
            cycles = cycles_needed(normal, accuracy, confidence)
        else:
            notes.append("one reading: no interval and no fit")
        if np.all(normal == normal[0]):
            notes.append("all readings are the same: taken as fixed")
        elif normal.size < FEWEST:
            notes.append(f"fewer than {FEWEST} readings: no fit")
        else:
            fit = fit_distribution(normal, samples=samples)
        mean = float(normal.mean())
        studied.append(
            ElementStudy(
                name,
                normal.size,
                float(observed.mean()),
                float(readings.ratings[rows].mean()),
                Interval(mean, half, confidence),
                standard_time(mean, allowance, allowance_of),
                cycles,
                flag_outliers(observed),
                fit,
                tuple(notes),
            )
        )
    return TimeStudy(tuple(studied), allowance, allowance_of)
