"""A crossed gauge study: every inspector measures every part several times. How much of the spread is the gauge's?

By analysis of variance, with the interaction pooled into the gauge's error where it does not matter, and by the older
method of ranges. Variance parts get intervals by generalized inference: their sums of squares are redrawn from
chi-square laws.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from linewright.base.arrays import number, numbers, share
from linewright.base.problems import Problems
from linewright.base.results import Honesty, Shown, Table
from linewright.base.tables import read_sheet
from linewright.quality.constants import d2, d3

Floats = NDArray[np.float64]
ENOUGH = 5
"""Distinct categories asked of a gauge (AIAG, Measurement Systems Analysis, 4th ed.; from memory)."""


@dataclass(frozen=True)
class Source:
    """A row of the analysis of variance: sum of squares, degrees of freedom, F and p (None where there is no test)."""

    name: str
    df: int
    sum_of_squares: float
    f: float | None
    p_value: float | None


@dataclass(frozen=True)
class Part:
    """A part of the spread as a standard deviation, in the readings' unit, with its interval (None by ranges)."""

    name: str
    sd: float
    low: float | None
    high: float | None
    share_of_total: float


@dataclass(frozen=True)
class GaugeStudy(Shown):
    """The outcome of a gauge study. Standard deviations in the readings' unit.

    ``parts`` are repeatability (the gauge itself), reproducibility (between inspectors, interaction included),
    interaction (None where pooled), gauge (both together), part-to-part, total. ``categories`` is how many groups of
    parts the gauge can tell apart, sqrt(2) part/gauge, rounded down, at least 1.
    """

    method: str
    anova: tuple[Source, ...]
    parts: tuple[Part, ...]
    pooled: bool | None
    categories: int
    categories_exact: float
    share_of_tolerance: float | None
    level: float
    honesty: Honesty
    notes: tuple[str, ...] = ()

    @property
    def serves(self) -> bool:
        """Whether it tells apart the five groups of parts that are asked of a gauge which controls a process (AIAG)."""
        return self.categories >= ENOUGH

    def part(self, name: str) -> Part:
        """A part by its name: repeatability, reproducibility, interaction, gauge, part-to-part, total."""
        return next(p for p in self.parts if p.name == name)

    def to_table(self) -> Table:
        """One row a part of the spread."""
        rows = tuple((p.name, p.sd, p.low, p.high, p.share_of_total) for p in self.parts)
        columns = ("part", "standard deviation", "low", "high", "share of total spread")
        note = "; ".join((f"{self.method}; {self.categories} distinct categories", *self.notes))
        return Table("Gauge study", columns, rows, note)

    def anova_table(self) -> Table:
        """The analysis of variance."""
        rows = tuple((s.name, s.df, s.sum_of_squares, s.sum_of_squares / s.df, s.f, s.p_value) for s in self.anova)
        return Table("Analysis of variance", ("source", "df", "sum of squares", "mean square", "F", "p"), rows)


def gauge_study(
    part: Sequence[object],
    inspector: Sequence[object],
    readings: ArrayLike,
    *,
    tolerance: float | None = None,
    pool_above: float = 0.25,
    level: float = 0.95,
    samples: int = 20_000,
    seed: int = 1,
) -> GaugeStudy:
    """A crossed gauge study by analysis of variance.

    Equation: with p parts, o inspectors, r trials: repeatability^2 = MS error; interaction^2 = (MS int - MS error)/r;
        inspector^2 = (MS insp - MS int)/(p r); part^2 = (MS part - MS int)/(o r); negative ones are 0. Where the
        interaction's p exceeds pool_above it is pooled with the error. Categories = sqrt(2) part/gauge.
    Takes:
        part [a name or number]: the part of each reading; at least 2.
        inspector [a name or number]: who read; at least 2.
        readings [any one unit]: each inspector reads each part the same number of times, at least twice.
        tolerance [as readings]: upper less lower limit; gives the gauge's six standard deviations as a share of it.
        pool_above [1]: p value above which the interaction is pooled, 0 to 1.
        level [1]: confidence of the intervals, between 0 and 1.
        samples [1]: draws for the intervals, 1,000 to 1,000,000.
        seed [1]: of the draws.
    Gives: a GaugeStudy; its honesty names the draws.
    Range: balanced, random effects, normal. With two or three inspectors the interval of reproducibility is very wide;
        that is the truth about such a study.
    Source: AIAG, Measurement Systems Analysis, 4th ed.; intervals: Burdick, Borror and Montgomery, Design and Analysis
        of Gauge R&R Studies, 2005 (generalized intervals; from memory).

    >>> parts, people = [1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3], ["a", "a", "b", "b"] * 3
    >>> study = gauge_study(parts, people, [1.0, 1.1, 1.1, 1.2, 2.0, 2.1, 2.2, 2.1, 3.1, 3.0, 3.2, 3.1])
    >>> round(study.part("repeatability").sd, 4), study.categories
    (0.0612, 15)
    """
    problems = Problems()
    table = _crossed(part, inspector, readings, problems)
    share(level, "level", problems)
    share(pool_above, "pool_above", problems, ends=True)
    number(samples, "samples", problems, low=1000, high=1_000_000, whole=True)
    if tolerance is not None:
        number(tolerance, "tolerance", problems, above=0.0)
    problems.raise_errors()
    o = table.shape[1]
    ss, df = _sums(table)
    if ss[3] == 0:
        problems.error("readings", "every repeat is the same", hint="is the gauge's step too coarse to see its error?")
        problems.raise_errors()
    ms = ss[:4] / df[:4]
    f_int = float(ms[2] / ms[3])
    p_int = float(special.fdtrc(df[2], df[3], f_int))
    pooled = p_int > pool_above
    rows = _anova_rows(ss, df, pooled, f_int, p_int)
    parts, draws = _variance_parts(ms, df, table.shape, pooled, samples, seed)
    found = _as_parts(parts, draws, level)
    gauge, between = math.sqrt(parts["gauge"]), math.sqrt(parts["part-to-part"])
    exact = math.sqrt(2) * between / gauge
    notes = []
    if o < 3:
        notes.append(f"{o} inspectors tell little about the spread between inspectors")
    if exact < 5:
        notes.append("fewer than 5 categories: the gauge is too coarse to steer this process (common practice)")
    honesty = Honesty("sampled", replications=samples, notes=(f"intervals from draws, seed {seed}",))
    return GaugeStudy(
        "analysis of variance, interaction pooled" if pooled else "analysis of variance, with interaction",
        rows,
        found,
        pooled,
        max(1, int(exact)),
        exact,
        None if tolerance is None else 6 * gauge / tolerance,
        level,
        honesty,
        tuple(notes),
    )


def gauge_by_ranges(
    part: Sequence[object], inspector: Sequence[object], readings: ArrayLike, *, tolerance: float | None = None
) -> GaugeStudy:
    """A crossed gauge study by the method of means and ranges.

    Equation: repeatability = mean range x K1, K1 = 1/d2(r); reproducibility = sqrt((spread of inspector means x K2)^2 -
        repeatability^2/(p r)); part = range of part means x K3; K2 and K3 = 1/d2* of one range of o or p values, with
        d2* = sqrt(d2^2 + d3^2).
    Takes:
        part [a name or number]: the part of each reading; at least 2.
        inspector [a name or number]: who read; at least 2.
        readings [any one unit]: each inspector reads each part the same number of times, at least twice.
        tolerance [as readings]: as gauge_study.
    Gives: a GaugeStudy without intervals and without analysis of variance.
    Range: as gauge_study; it cannot see an interaction.
    Source: AIAG, Measurement Systems Analysis, 4th ed.; K1, K2, K3 computed, printed as .5908, .5231, .3146 for 3
        trials, 3 inspectors and 10 parts.

    >>> parts, people = [1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3], ["a", "a", "b", "b"] * 3
    >>> study = gauge_by_ranges(parts, people, [1.0, 1.1, 1.1, 1.2, 2.0, 2.1, 2.2, 2.1, 3.1, 3.0, 3.2, 3.1])
    >>> round(study.part("repeatability").sd, 4)
    0.0886
    """
    problems = Problems()
    table = _crossed(part, inspector, readings, problems)
    if tolerance is not None:
        number(tolerance, "tolerance", problems, above=0.0)
    problems.raise_errors()
    p, o, r = table.shape
    mean_range = float(np.ptp(table, axis=2).mean())
    if mean_range == 0:
        problems.error("readings", "every repeat is the same", hint="is the gauge's step too coarse to see its error?")
        problems.raise_errors()
    repeat = mean_range / d2(r)
    between = float(np.ptp(table.mean(axis=(0, 2)))) / _one_range(o)
    reproduce = max(0.0, between**2 - repeat**2 / (p * r))
    parts = float(np.ptp(table.mean(axis=(1, 2)))) / _one_range(p)
    gauge = repeat**2 + reproduce
    named = {
        "repeatability": repeat**2,
        "reproducibility": reproduce,
        "gauge": gauge,
        "part-to-part": parts**2,
        "total": gauge + parts**2,
    }
    found = tuple(Part(name, math.sqrt(v), None, None, math.sqrt(v / named["total"])) for name, v in named.items())
    exact = math.sqrt(2) * parts / math.sqrt(gauge)
    return GaugeStudy(
        "means and ranges",
        (),
        found,
        None,
        max(1, int(exact)),
        exact,
        None if tolerance is None else 6 * math.sqrt(gauge) / tolerance,
        0.95,
        Honesty("estimate", notes=("the method of ranges gives no intervals",)),
    )


def read_gauge_table(path: str | Path) -> tuple[list[str], list[str], Floats]:
    """A gauge study's table from a CSV or XLSX file.

    Equation: none; a reader.
    Takes:
        path [file name]: a table with the columns ``part``, ``inspector`` (or ``operator``) and ``value``.
    Gives: part names, inspector names and readings, one of each a row.
    Range: any number of rows.
    Source: none.

    Raises ProblemsError with every problem by line.

    >>> import tempfile, pathlib
    >>> file = pathlib.Path(tempfile.mkdtemp()) / "gauge.csv"
    >>> _ = file.write_text("part,inspector,value\\n1,Ann,0.29\\n1,Ben,0.31\\n")
    >>> read_gauge_table(file)[2].tolist()
    [0.29, 0.31]
    """
    sheet = read_sheet(path)
    who = "operator" if sheet.has("operator") and not sheet.has("inspector") else "inspector"
    parts, people, values = sheet.texts("part"), sheet.texts(who), sheet.numbers("value")
    sheet.problems.raise_errors()
    return parts, people, values


@lru_cache(maxsize=64)
def _one_range(n: int) -> float:
    """d2* of a single range of n: the root mean square of the range, so that its square is unbiased."""
    return math.hypot(d2(n), d3(n))


def _crossed(part: Sequence[object], inspector: Sequence[object], readings: ArrayLike, problems: Problems) -> Floats:
    """Readings as parts x inspectors x trials."""
    values = numbers(readings, "readings", problems, at_least=8, vary=True)
    parts, where = np.unique([str(x) for x in part], return_inverse=True)
    people, who = np.unique([str(x) for x in inspector], return_inverse=True)
    if not where.size == who.size == values.size:
        problems.error(
            "readings",
            f"{where.size} parts, {who.size} inspectors and {values.size} readings",
            expected="one part and one inspector for each reading",
        )
        return np.empty((0, 0, 0))
    count = np.zeros((parts.size, people.size), dtype=int)
    np.add.at(count, (where, who), 1)
    if parts.size < 2 or people.size < 2:
        problems.error("part", f"{parts.size} parts and {people.size} inspectors", expected="at least 2 of each")
        return np.empty((0, 0, 0))
    if count.min() != count.max() or count.max() < 2:
        for i, j in np.argwhere(count != max(2, int(np.bincount(count.ravel()).argmax())))[:5]:
            what = f'inspector "{people[j]}" read part "{parts[i]}" {count[i, j]} times'
            problems.error("readings", what, expected="the same number of times for all, at least 2")
        return np.empty((0, 0, 0))
    order = np.lexsort((np.arange(values.size), who, where))
    return values[order].reshape(parts.size, people.size, -1)


def _sums(table: Floats) -> tuple[Floats, NDArray[np.int64]]:
    """Sums of squares and degrees of freedom: parts, inspectors, interaction, error, total."""
    p, o, r = table.shape
    y = table - table.mean()
    part, who, cell = y.mean(axis=(1, 2)), y.mean(axis=(0, 2)), y.mean(axis=2)
    inter = cell - part[:, None] - who[None, :]
    error = y - cell[:, :, None]
    ss = np.array(
        [o * r * np.sum(part**2), p * r * np.sum(who**2), r * np.sum(inter**2), np.sum(error**2), np.sum(y**2)]
    )
    df = np.array([p - 1, o - 1, (p - 1) * (o - 1), p * o * (r - 1), p * o * r - 1])
    return ss, df


def _anova_rows(ss: Floats, df: NDArray[np.int64], pooled: bool, f_int: float, p_int: float) -> tuple[Source, ...]:
    below, below_df = (ss[2] + ss[3], df[2] + df[3]) if pooled else (ss[2], df[2])
    rows = []
    for i, name in enumerate(("part", "inspector")):
        f = float((ss[i] / df[i]) / (below / below_df))
        rows.append(Source(name, int(df[i]), float(ss[i]), f, float(special.fdtrc(df[i], below_df, f))))
    rows.append(Source("interaction", int(df[2]), float(ss[2]), f_int, p_int))
    rows.append(Source("repeat", int(df[3]), float(ss[3]), None, None))
    rows.append(Source("total", int(df[4]), float(ss[4]), None, None))
    return tuple(rows)


def _variance_parts(
    ms: Floats, df: NDArray[np.int64], shape: tuple[int, ...], pooled: bool, samples: int, seed: int
) -> tuple[dict[str, float], dict[str, Floats]]:
    """Variances, and draws of each: every mean square stands for its expectation times chi-square/df."""
    ss = ms * df[:4]
    if pooled:
        freedom = np.array([df[0], df[1], df[2] + df[3]])
        sums = np.array([ss[0], ss[1], ss[2] + ss[3]])
    else:
        freedom, sums = df[:4], ss
    random = np.random.default_rng(seed)
    drawn = sums[:, None] / random.chisquare(freedom[:, None], (freedom.size, samples))
    return (
        {k: float(v[0]) for k, v in _solve((sums / freedom)[:, None], shape, pooled).items()},
        _solve(drawn, shape, pooled),
    )


def _solve(ms: Floats, shape: tuple[int, ...], pooled: bool) -> dict[str, Floats]:
    p, o, r = shape
    error, inter_ms = (ms[2], ms[2]) if pooled else (ms[3], ms[2])
    inter = np.maximum(0.0, (inter_ms - error) / r)
    who = np.maximum(0.0, (ms[1] - inter_ms) / (p * r))
    part = np.maximum(0.0, (ms[0] - inter_ms) / (o * r))
    found = {"repeatability": error, "reproducibility": who + inter}
    if not pooled:
        found["interaction"] = inter
    gauge = error + who + inter
    return {**found, "gauge": gauge, "part-to-part": part, "total": gauge + part}


def _as_parts(parts: dict[str, float], draws: dict[str, Floats], level: float) -> tuple[Part, ...]:
    a = (1 - level) / 2
    found = []
    for name, variance in parts.items():
        low, high = np.quantile(np.sqrt(draws[name]), [a, 1 - a])
        share_of_total = math.sqrt(variance / parts["total"])
        found.append(Part(name, math.sqrt(variance), float(low), float(high), share_of_total))
    return tuple(found)
