"""Control charts of counts: faulty units and faults, with equal or varying sample size, and corrected for spread.

With large samples real processes vary by more than chance alone, and plain limits are too narrow; the corrected form
measures that spread between points and widens them.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike
from scipy import special, stats

from linewright.base.arrays import numbers
from linewright.base.problems import Problems
from linewright.quality.charts.chart import Chart, Floats, Known, check_known, make_track
from linewright.quality.charts.rules import USUAL_RULES, Rule
from linewright.quality.constants import d2

_TOO_WILD = 0.001  # chance of so much spread between points, below which the corrected form is advised


def share_faulty(
    faulty: ArrayLike,
    inspected: ArrayLike,
    *,
    known: Known | None = None,
    corrected: bool = False,
    rules: Sequence[Rule] = USUAL_RULES,
) -> Chart:
    """Chart of the share of faulty units (p chart), sample size as it comes.

    Equation: p = sum faulty/sum inspected; one standard deviation sqrt(p (1-p)/n_i), times the spread between points
        where corrected: mean moving range of z_i over d2(2), z_i = (p_i - p)/sqrt(p (1-p)/n_i).
    Takes:
        faulty [units]: counts from 0, in time order, at least 3 points.
        inspected [units]: sample sizes, from 1, one a point; or one number for all.
        known [share]: rate and spread from phase I; None makes a phase I chart.
        corrected [yes or no]: widen the limits by the spread between points.
        rules [Rules]: looked for.
    Gives: a Chart of one track. A note gives the true rate of false alarms where counts are few, and advises the
        corrected form where the points vary by more than chance.
    Range: normal limits are fair from about 5 faulty a point.
    Source: ISO 7870-2:2013; correction: Laney, Quality Engineering 14 (2002) 531-537 (from memory).

    >>> chart = share_faulty([4, 6, 3, 7, 5], 200)
    >>> round(chart.known.mean, 4), round(float(chart.tracks[0].upper[0]), 4)
    (0.025, 0.0581)
    """
    count, size, p = _rate(faulty, inspected, "faulty", "inspected", known, share=True)
    sd = np.sqrt(p * (1 - p) / size)
    return _chart("share faulty", count / size, p, sd, known, corrected, rules, ceiling=1.0, counts=p * size)


def number_faulty(
    faulty: ArrayLike, inspected: int, *, known: Known | None = None, rules: Sequence[Rule] = USUAL_RULES
) -> Chart:
    """Chart of the number of faulty units in samples of one size (np chart).

    Equation: centre n p, one standard deviation sqrt(n p (1-p)).
    Takes:
        faulty [units]: counts from 0 to inspected, in time order, at least 3 points.
        inspected [units]: the one sample size, at least 1.
        known [share]: rate from phase I (spread 1); None makes a phase I chart.
        rules [Rules]: looked for.
    Gives: a Chart of one track.
    Range: as share_faulty.
    Source: ISO 7870-2:2013.

    >>> round(float(number_faulty([4, 6, 3, 7, 5], 200).tracks[0].upper[0]), 2)
    11.62
    """
    count, size, p = _rate(faulty, inspected, "faulty", "inspected", known, share=True)
    sd = np.sqrt(size * p * (1 - p))
    chart = _chart("number faulty", count, p * size, sd, known, False, rules, ceiling=float(inspected), counts=p * size)
    return Chart(chart.kind, chart.tracks, chart.phase, Known(p, 1.0), chart.notes)


def faults(counts: ArrayLike, *, known: Known | None = None, rules: Sequence[Rule] = USUAL_RULES) -> Chart:
    """Chart of the number of faults in equal samples (c chart).

    Equation: centre c = mean count, one standard deviation sqrt(c).
    Takes:
        counts [faults]: from 0, in time order, at least 3 points.
        known [faults a sample]: rate from phase I (spread 1); None makes a phase I chart.
        rules [Rules]: looked for.
    Gives: a Chart of one track.
    Range: as share_faulty.
    Source: ISO 7870-2:2013.

    >>> round(float(faults([7, 9, 4, 8, 7]).tracks[0].upper[0]), 3)
    14.937
    """
    chart = faults_per_unit(counts, 1.0, known=known, rules=rules)
    return Chart("faults", chart.tracks, chart.phase, chart.known, chart.notes)


def faults_per_unit(
    counts: ArrayLike,
    units: ArrayLike,
    *,
    known: Known | None = None,
    corrected: bool = False,
    rules: Sequence[Rule] = USUAL_RULES,
) -> Chart:
    """Chart of faults a unit (u chart), sample size as it comes.

    Equation: u = sum counts/sum units; one standard deviation sqrt(u/n_i), times the spread between points where
        corrected (as share_faulty).
    Takes:
        counts [faults]: from 0, in time order, at least 3 points.
        units [units, m2 or any one measure]: how much was looked at, above 0, one a point; or one number for all.
        known [faults a unit]: rate and spread from phase I; None makes a phase I chart.
        corrected [yes or no]: widen the limits by the spread between points.
        rules [Rules]: looked for.
    Gives: a Chart of one track.
    Range: as share_faulty.
    Source: as share_faulty.

    >>> round(faults_per_unit([7, 9, 4, 8, 7], [2.0, 2.5, 1.5, 2.0, 2.0]).known.mean, 2)
    3.5
    """
    count, size, u = _rate(counts, units, "counts", "units", known, share=False)
    return _chart("faults per unit", count / size, u, np.sqrt(u / size), known, corrected, rules, counts=u * size)


def _chart(
    kind: str,
    values: Floats,
    centre: float | Floats,
    sd: Floats,
    known: Known | None,
    corrected: bool,
    rules: Sequence[Rule],
    *,
    ceiling: float | None = None,
    counts: Floats,
) -> Chart:
    spread = 1.0
    notes = []
    z = (values - centre) / sd
    wild = float(np.sum(z**2))
    if corrected:
        spread = known.sd if known is not None else max(float(np.abs(np.diff(z)).mean()) / d2(2), 1e-9)
        notes.append(f"limits are {spread:.2f} times those of chance alone")
    elif known is None and float(special.chdtrc(values.size - 1, wild)) < _TOO_WILD:
        ratio = (wild / (values.size - 1)) ** 0.5
        notes.append(f"points vary {ratio:.1f} times as much as chance alone: the corrected form suits better")
    if known is None and values.size < 20:
        notes.append(f"limits from {values.size} points are uncertain; 20 to 25 are usual")
    track = make_track(kind, values, centre, sd * spread, rules, floor=0.0, ceiling=ceiling)
    if not corrected and float(counts.min()) < 5:
        notes.append(_true_alarm(float(counts.min())))
    rate = float(np.asarray(centre).flat[0])
    return Chart(kind, (track,), 1 if known is None else 2, Known(rate, spread), tuple(notes))


def _true_alarm(expected: float) -> str:
    """What the limits really do where few are expected at a point, by the Poisson law."""
    high, low = expected + 3 * expected**0.5, expected - 3 * expected**0.5
    alarm = float(stats.poisson.sf(np.floor(high), expected)) + float(stats.poisson.cdf(np.ceil(low) - 1, expected))
    return (
        f"only {expected:.2g} are expected at the smallest point: its limits give a false alarm in "
        f"{alarm:.2%} of points, not 0.27 %"
    )


def _rate(
    counts: ArrayLike, sizes: ArrayLike, name: str, size_name: str, known: Known | None, *, share: bool
) -> tuple[Floats, Floats, float]:
    """Counts and sizes checked, and the rate that is known or that they show."""
    problems = Problems()
    count, size = _counts(counts, sizes, name, size_name, problems, share=share)
    check_known(known, problems)
    problems.raise_errors()
    rate = known.mean if known is not None else float(count.sum() / size.sum())
    if rate <= 0 or (share and rate >= 1):
        _all_or_none(problems, name, rate)
    return count, size, rate


def _counts(
    counts: ArrayLike, sizes: ArrayLike, name: str, size_name: str, problems: Problems, *, share: bool
) -> tuple[Floats, Floats]:
    count = numbers(counts, name, problems, at_least=3, low=0.0, whole=True)
    one = np.ndim(sizes) == 0
    low, above = (1.0, None) if share else (None, 0.0)
    size = numbers([sizes] if one else sizes, size_name, problems, low=low, above=above, whole=share)
    if one and size.size:
        size = np.full(count.size, size[0])
    if size.size != count.size:
        problems.error(size_name, f"{size.size} sizes for {count.size} counts", expected="one for each, or one for all")
    elif share:
        for i in np.flatnonzero(count > size)[:5]:
            problems.error(
                f"{name}[{i}]", "more than were inspected", value=float(count[i]), expected=f"at most {size[i]:g}"
            )
    return count, size


def _all_or_none(problems: Problems, name: str, rate: float) -> None:
    what = "nothing was found, so there are no limits" if rate <= 0 else "everything is faulty, so there are no limits"
    problems.error(name, what, hint="count something commoner, or the units between faults")
    problems.raise_errors()
