"""How long does a machine run between stoppages, and how long is it mended? From a log, the unfinished runs counted.

A run still going when the log ends has lasted at least so long; leaving it out makes a machine look worse than it is.
Such readings are censored, and Kaplan-Meier, the exponential and the Weibull all take them as what they are.
"""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special, stats

from linewright.base.arrays import number, numbers, share
from linewright.base.problems import Problems, did_you_mean
from linewright.base.results import Shown, Table
from linewright.base.tables import read_sheet


@dataclass(frozen=True)
class Lifetimes(Shown):
    """Times to an end, some still unfinished. All times in the unit of the readings; the interval at ``level``.

    ``mean`` = total time / ends, with its exact interval for exponential times; ``high`` is None where no end was
    seen. ``shape`` and ``scale`` are the Weibull's; ``exponential_p`` tests shape = 1. ``at``, ``surviving``,
    ``low_curve`` and ``high_curve`` are the Kaplan-Meier steps.
    """

    ends: int
    unfinished: int
    total: float
    mean: float | None
    low: float
    high: float | None
    level: float
    shape: float | None
    scale: float | None
    exponential_p: float | None
    at: tuple[float, ...]
    surviving: tuple[float, ...]
    low_curve: tuple[float, ...]
    high_curve: tuple[float, ...]
    notes: tuple[str, ...] = ()

    @property
    def weibull_mean(self) -> float | None:
        """Mean of the fitted Weibull."""
        return None if self.shape is None or self.scale is None else self.scale * math.gamma(1 + 1 / self.shape)

    def to_table(self) -> Table:
        """One row for each way of reading the log."""
        rows: tuple[tuple[object, ...], ...] = (
            ("exponential", self.mean, self.low, self.high, None),
            ("Weibull", self.weibull_mean, None, None, self.shape),
        )
        note = f"{self.ends} ended, {self.unfinished} unfinished; " + "; ".join(self.notes)
        return Table("Time to an end", ("law", "mean", "low", "high", "shape"), rows, note.rstrip("; "))


@dataclass(frozen=True)
class StoppageStudy(Shown):
    """Running times and repair times of one station, in seconds, and the plan's words for them."""

    running: Lifetimes
    repair: Lifetimes

    def to_table(self) -> Table:
        """Both lines."""
        rows = tuple(
            (name, life.ends, life.unfinished, life.mean, life.low, life.high)
            for name, life in (("between stops", self.running), ("repair", self.repair))
        )
        columns = ("", "ended", "unfinished", "mean [s]", "low [s]", "high [s]")
        return Table("Stoppages", columns, rows, f"{self.running.level:.0%} intervals")

    def plan_fields(self) -> dict[str, str]:
        """``between_stops`` and ``repair`` as a plan writes them; only what the log can tell."""
        found = {}
        if self.running.mean is not None:
            found["between_stops"] = f"{self.running.mean / 3600:.4g} h"
        if self.repair.mean is not None:
            found["repair"] = f"{self.repair.mean / 60:.4g} min"
        return found


def mean_between(total: float, ends: int, level: float = 0.95) -> tuple[float, float, float | None]:
    """Mean time to an end and its interval, from total time and the number of ends.

    Equation: T/r; low = 2T / chi2(1 - a/2, 2r + 2); high = 2T / chi2(a/2, 2r), a = 1 - level; watching stopped by the
        clock. With no end seen there is only the low end: 2T / chi2(1 - a, 2).
    Takes:
        total [h, or any unit of time]: T, running time watched in all, above 0.
        ends [1]: r, stoppages seen, 0 or more.
        level [1]: confidence, between 0 and 1.
    Gives: mean (infinite with no end), low, high (None with no end); in the unit of total.
    Range: exponential times (a constant rate of stopping).
    Source: NIST/SEMATECH e-Handbook 8.4.5.1; Epstein (1954).

    >>> [round(v, 1) for v in mean_between(1600.0, 2, 0.8)]
    [800.0, 300.6, 3008.6]
    """
    problems = Problems()
    number(total, "total", problems, above=0.0)
    number(ends, "ends", problems, low=0, whole=True)
    share(level, "level", problems)
    problems.raise_errors()
    if ends == 0:
        return math.inf, 2 * total / float(special.chdtri(2, 1 - level)), None
    a = (1 - level) / 2
    low = 2 * total / float(special.chdtri(2 * ends + 2, a))
    return total / ends, low, 2 * total / float(special.chdtri(2 * ends, 1 - a))


def lifetimes(times: ArrayLike, ended: ArrayLike, level: float = 0.95) -> Lifetimes:
    """Times to an end, some unfinished: mean with interval, Weibull by maximum likelihood, Kaplan-Meier steps.

    Equation: S(t) = product over ends t_i <= t of (1 - d_i/n_i); Weibull by maximum likelihood with censoring;
        2 (ln L(Weibull) - ln L(exponential)) against chi2(1) tests a constant rate.
    Takes:
        times [h, or any unit of time]: how long each lasted, above 0, at least 1.
        ended [yes or no, 1 or 0]: whether it ended (no: still going when the watch ended).
        level [1]: confidence of the intervals, between 0 and 1.
    Gives: a Lifetimes.
    Range: the Weibull needs at least 3 different ended times; where it has fewer it is None and a note says so.
    Source: Kaplan and Meier, J. Amer. Statist. Assoc. 53 (1958); scipy.stats.ecdf and CensoredData.

    >>> found = lifetimes([6, 6, 6, 7, 10, 6, 9, 10], [1, 1, 1, 1, 1, 0, 0, 0])
    >>> found.ends, found.unfinished, round(found.surviving[0], 3)
    (5, 3, 0.625)
    """
    problems = Problems()
    array = numbers(times, "times", problems, at_least=1, above=0.0)
    flags = numbers(np.asarray(ended, dtype=float), "ended", problems, at_least=1, low=0, high=1, whole=True) > 0.5
    share(level, "level", problems)
    if flags.size != array.size:
        problems.error("ended", f"{flags.size} marks for {array.size} times", expected="one for each time")
    problems.raise_errors()
    ends = int(flags.sum())
    total = float(array.sum())
    mean, low, high = mean_between(total, ends, level)
    notes = [] if ends else ["no end was seen: only a lower limit is known"]
    shape = scale = p_value = None
    if np.unique(array[flags]).size >= 3:
        shape, scale, p_value = _weibull(array, flags)
        if p_value < 0.05:
            notes.append("the rate of stopping rises with age" if shape > 1 else "the rate of stopping falls with age")
    else:
        notes.append("fewer than 3 different ended times: no Weibull")
    at, surviving, low_curve, high_curve = _kaplan_meier(array, flags, level)
    return Lifetimes(
        ends,
        int(array.size) - ends,
        total,
        mean if ends else None,
        low,
        high,
        level,
        shape,
        scale,
        p_value,
        at,
        surviving,
        low_curve,
        high_curve,
        tuple(notes),
    )


def read_stoppages(path: str | Path, level: float = 0.95) -> StoppageStudy:
    """Stoppages of one station from a log.

    Equation: as lifetimes, once for running and once for repair.
    Takes:
        path [file name]: a CSV or XLSX table with the columns ``run`` and ``repair`` (each with a unit) and
            ``ended``: ``mended`` (ran, stopped, was mended), ``mending`` (stopped, the repair goes on) or ``running``
            (has not stopped; repair is left empty).
        level [1]: confidence, between 0 and 1.
    Gives: a StoppageStudy in seconds.
    Range: at least one row that was mended or is being mended.
    Source: as lifetimes.

    Raises ProblemsError with every problem by line.

    >>> import tempfile, pathlib
    >>> file = pathlib.Path(tempfile.mkdtemp()) / "saw.csv"
    >>> _ = file.write_text("run [h],repair [min],ended\\n20,30,mended\\n24,40,mended\\n10,,running\\n")
    >>> read_stoppages(file).plan_fields()
    {'between_stops': '27 h', 'repair': '35 min'}
    """
    sheet = read_sheet(path)
    words = [w.strip().lower() for w in sheet.texts("ended")]
    known = ("mended", "mending", "running")
    for i, word in enumerate(words):
        if word not in known:
            what = f"line {sheet.lines[i]}: unknown ending"
            sheet.problems.error("ended", what, value=word, hint=did_you_mean(word, known))
    ended = np.array([w != "running" for w in words])
    run = sheet.numbers("run", "time")
    repair = sheet.numbers("repair", "time", blanks=True)
    cells = sheet.texts("repair") if repair.size else []
    for i, (stopped, cell) in enumerate(zip(ended, cells, strict=False)):
        if stopped and not cell.strip():
            sheet.problems.error("repair", f"line {sheet.lines[i]}: no repair time is given", expected="a time")
        elif not stopped and cell.strip():
            what = f"line {sheet.lines[i]}: still running, yet a repair is given"
            sheet.problems.error("repair", what, value=cell)
    for name, values in (("run", run), ("repair", repair)):
        for i in np.flatnonzero(values <= 0)[:5]:
            what = f"line {sheet.lines[i]}: out of range"
            sheet.problems.error(name, what, value=float(values[i]), expected="a time above 0")
    if words and not ended.any():
        sheet.problems.error("ended", "no stoppage in the log", hint="watch for longer")
    sheet.problems.raise_errors()
    mended = np.array([w == "mended" for w in words])[ended]
    return StoppageStudy(lifetimes(run, ended, level), lifetimes(repair[ended], mended, level))


def _weibull(times: NDArray[np.float64], ended: NDArray[np.bool_]) -> tuple[float, float, float]:
    unit = float(times.mean())  # near 1 the search is at ease in any unit
    t = times / unit
    data = stats.CensoredData.right_censored(t, ~ended)
    shape, _, scale = stats.weibull_min.fit(data, floc=0)
    exponential = t.sum() / ended.sum()

    def log_like(k: float, b: float) -> float:
        z = t / b
        return float(np.sum(np.where(ended, math.log(k / b) + (k - 1) * np.log(z), 0.0)) - np.sum(z**k))

    gain = max(0.0, 2 * (log_like(float(shape), float(scale)) - log_like(1.0, float(exponential))))
    return float(shape), float(scale) * unit, float(special.chdtrc(1, gain))


def _kaplan_meier(
    times: NDArray[np.float64], ended: NDArray[np.bool_], level: float
) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
    curve: Any = stats.ecdf(stats.CensoredData.right_censored(times, ~ended)).sf
    with warnings.catch_warnings():  # SciPy warns that no band exists at 1 and at 0; it is mended below
        warnings.simplefilter("ignore", RuntimeWarning)
        band = curve.confidence_interval(confidence_level=level, method="log-log")
    at, surviving = np.asarray(curve.quantiles), np.asarray(curve.probabilities)
    low = np.where(np.isfinite(band.low.probabilities), band.low.probabilities, surviving)
    high = np.where(np.isfinite(band.high.probabilities), band.high.probabilities, surviving)
    return tuple(at.tolist()), tuple(surviving.tolist()), tuple(low.tolist()), tuple(high.tolist())
