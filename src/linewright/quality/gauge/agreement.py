"""Do inspectors agree, with each other and with the truth? Kappa with its interval, and what each one misses.

Kappa is agreement beyond chance: 1 is perfect, 0 what two coins would reach. Against known pieces each inspector's
misses and false alarms say more, for they are what a plan's ``finds`` and ``false_alarms`` ask for.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special, stats

from linewright.base.arrays import share
from linewright.base.problems import Problems
from linewright.base.results import Shown, Table

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Agreement(Shown):
    """Kappa with its interval, the agreement seen and that expected by chance, all shares of 1."""

    kappa: float
    low: float
    high: float
    seen: float
    by_chance: float
    level: float

    def to_table(self) -> Table:
        """One row."""
        columns = ("kappa", "low", "high", "agreement seen", "agreement by chance")
        return Table("Agreement", columns, ((self.kappa, self.low, self.high, self.seen, self.by_chance),))


@dataclass(frozen=True)
class Inspector:
    """One inspector against the truth: shares with Wilson intervals (value, low, high); counts they rest on.

    ``right``: pieces judged rightly every time. ``finds``: faulty looks called faulty. ``false_alarms``: good looks
    called faulty. ``with_self``: pieces judged alike every time, right or wrong.
    """

    name: str
    pieces: int
    right: tuple[float, float, float]
    with_self: tuple[float, float, float]
    finds: tuple[float, float, float]
    false_alarms: tuple[float, float, float]


@dataclass(frozen=True)
class InspectorStudy(Shown):
    """Each inspector against the truth, and the share of pieces on which all agree, with the truth as well."""

    inspectors: tuple[Inspector, ...]
    all_right: tuple[float, float, float]
    level: float

    def to_table(self) -> Table:
        """One row an inspector."""
        rows = tuple(
            (i.name, i.pieces, i.right[0], i.with_self[0], i.finds[0], i.finds[1], i.finds[2], i.false_alarms[0],
             i.false_alarms[1], i.false_alarms[2])
            for i in self.inspectors
        )  # fmt: skip
        columns = (
            "inspector",
            "pieces",
            "right every time",
            "alike every time",
            "finds",
            "finds, low",
            "finds, high",
            "false alarms",
            "false alarms, low",
            "false alarms, high",
        )
        note = f"all right on {self.all_right[0]:.1%} of pieces; {self.level:.0%} intervals"
        return Table("Inspectors against the truth", columns, rows, note)


def agreement_of_two(counts: ArrayLike, level: float = 0.95) -> Agreement:
    """Cohen's kappa of two inspectors from their table of counts.

    Equation: kappa = (po - pe)/(1 - pe), po the diagonal's share, pe = sum of row share x column share; interval kappa
        -+ z times the large-sample standard error of Fleiss, Cohen and Everitt.
    Takes:
        counts [pieces]: square table, row the first inspector's class, column the second's; at least 2 classes.
        level [1]: confidence, between 0 and 1.
    Gives: an Agreement.
    Range: the interval from about 50 pieces; classes that both never leave have no kappa, and a problem is raised.
    Source: Cohen, Educational and Psychological Measurement 20 (1960); Fleiss, Cohen and Everitt (1969).

    >>> round(agreement_of_two([[20, 5], [10, 15]]).kappa, 4)
    0.4
    """
    problems = Problems()
    table = _table(counts, problems)
    share(level, "level", problems)
    if table.size and table.shape[0] != table.shape[1]:
        problems.error("counts", "the table is not square", value=str(table.shape))
    problems.raise_errors()
    n = float(table.sum())
    p = table / n
    row, column = p.sum(axis=1), p.sum(axis=0)
    seen, chance = float(np.trace(p)), float(row @ column)
    if chance >= 1:
        problems.error("counts", "all pieces are in one class, so there is no kappa", hint="use pieces of both kinds")
        problems.raise_errors()
    kappa = (seen - chance) / (1 - chance)
    own = float(np.sum(np.diag(p) * (1 - (row + column) * (1 - kappa)) ** 2))
    off = (row[None, :] + column[:, None]) ** 2 * p
    other = (1 - kappa) ** 2 * float(off.sum() - np.trace(off))
    error = math.sqrt(max(0.0, own + other - (kappa - chance * (1 - kappa)) ** 2) / n) / (1 - chance)
    half = float(special.ndtri(0.5 + level / 2)) * error
    return Agreement(kappa, max(-1.0, kappa - half), min(1.0, kappa + half), seen, chance, level)


def agreement_of_many(counts: ArrayLike, level: float = 0.95) -> Agreement:
    """Fleiss' kappa of several inspectors.

    Equation: kappa = (P - Pe)/(1 - Pe); P_i = (sum n_ij^2 - n)/(n (n-1)) of piece i, P their mean; Pe = sum of squared
        class shares. Interval by leaving out each piece in turn (jackknife), Student's t.
    Takes:
        counts [inspectors]: one row a piece, how many inspectors chose each class; all rows have one sum, at least 2.
        level [1]: confidence, between 0 and 1.
    Gives: an Agreement.
    Range: at least 5 pieces; the interval from about 20.
    Source: Fleiss, Psychological Bulletin 76 (1971); jackknife: Efron and Tibshirani (1993).

    >>> round(agreement_of_many([[3, 0], [0, 3], [3, 0], [2, 1], [0, 3]]).kappa, 4)
    0.7321
    """
    problems = Problems()
    table = _table(counts, problems)
    share(level, "level", problems)
    if table.size:
        total = table.sum(axis=1)
        if table.shape[0] < 5:
            problems.error("counts", f"only {table.shape[0]} pieces", expected="at least 5")
        for i in np.flatnonzero(total != total[0])[:5]:
            problems.error(f"counts[{i}]", f"{total[i]:g} judgements", expected=f"{total[0]:g}, as the first piece")
        if total[0] < 2:
            problems.error("counts", "one judgement a piece", expected="at least 2")
    problems.raise_errors()
    kappa, seen, chance = _fleiss(table)
    if math.isnan(kappa):
        problems.error("counts", "all judgements are in one class, so there is no kappa")
        problems.raise_errors()
    m = table.shape[0]
    left = np.array([_fleiss(np.delete(table, i, axis=0))[0] for i in range(m)])
    left = np.where(np.isfinite(left), left, kappa)
    error = math.sqrt((m - 1) / m * float(np.sum((left - left.mean()) ** 2)))
    half = float(special.stdtrit(m - 1, 0.5 + level / 2)) * error
    return Agreement(kappa, max(-1.0, kappa - half), min(1.0, kappa + half), seen, chance, level)


def inspectors_against_truth(
    truth: Sequence[bool], judged: Mapping[str, ArrayLike], level: float = 0.95
) -> InspectorStudy:
    """Each inspector's judgements of known pieces.

    Equation: shares with Wilson intervals: right every time, alike every time, faulty looks called faulty (finds), good
        looks called faulty (false alarms).
    Takes:
        truth [yes or no]: whether each piece is faulty; both kinds needed.
        judged [yes or no, 1 or 0]: for each inspector a table, one row a piece, one column a look: called faulty?
        level [1]: confidence, between 0 and 1.
    Gives: an InspectorStudy; ``finds`` and ``false_alarms`` are what a plan's check asks for.
    Range: the pieces should be as hard as those of production; easy ones flatter.
    Source: AIAG, Measurement Systems Analysis, 4th ed., attribute studies; Wilson (1927).

    >>> study = inspectors_against_truth([True, True, False, False], {"Ann": [[1, 1], [1, 0], [0, 0], [0, 0]]})
    >>> study.inspectors[0].finds[0], study.inspectors[0].right[0]
    (0.75, 0.75)
    """
    problems = Problems()
    share(level, "level", problems)
    known = np.asarray(truth)
    if known.ndim != 1 or known.size < 2 or not np.isin(known, (0, 1)).all():
        problems.error("truth", "not a row of yes and no", expected="whether each piece is faulty")
    elif known.all() or not known.any():
        problems.error("truth", "all pieces are of one kind", expected="good and faulty pieces")
    if not judged:
        problems.error("judged", "no inspector")
    tables = {}
    for name, values in judged.items():
        table = np.asarray(values)
        table = table[:, None] if table.ndim == 1 else table
        if table.ndim != 2 or table.shape[0] != known.size or not np.isin(table, (0, 1)).all():
            expected = f"{known.size} rows of yes and no"
            problems.error(
                f"judged.{name}", "not a table of judgements", value=f"shape {table.shape}", expected=expected
            )
        tables[name] = table
    problems.raise_errors()
    faulty = known.astype(bool)
    rows = []
    everyone = np.ones(known.size, bool)
    for name, table in tables.items():
        called = table.astype(bool)
        right = (called == faulty[:, None]).all(axis=1)
        alike = (called == called[:, :1]).all(axis=1)
        everyone &= right
        rows.append(
            Inspector(
                name,
                int(known.size),
                _wilson(right, level),
                _wilson(alike, level),
                _wilson(called[faulty].ravel(), level),
                _wilson(called[~faulty].ravel(), level),
            )
        )
    return InspectorStudy(tuple(rows), _wilson(everyone, level), level)


def _wilson(hits: NDArray[np.bool_], level: float) -> tuple[float, float, float]:
    found = stats.binomtest(int(hits.sum()), int(hits.size)).proportion_ci(level, method="wilson")
    return float(hits.mean()), float(found.low), float(found.high)


def _fleiss(table: Floats) -> tuple[float, float, float]:
    n = float(table[0].sum())
    seen = float(np.mean((np.sum(table**2, axis=1) - n) / (n * (n - 1))))
    chance = float(np.sum((table.sum(axis=0) / table.sum()) ** 2))
    return ((seen - chance) / (1 - chance) if chance < 1 else math.nan), seen, chance


def _table(counts: ArrayLike, problems: Problems) -> Floats:
    try:
        table = np.asarray(counts, dtype=float)
    except (TypeError, ValueError):
        problems.error("counts", "not a table of counts", expected="rows of equal length, whole numbers")
        return np.empty((0, 0))
    if table.ndim != 2 or table.shape[1] < 2 or table.shape[0] < 2:
        problems.error("counts", "not a table of counts", value=f"shape {table.shape}", expected="at least 2 by 2")
        return np.empty((0, 0))
    for place in np.argwhere(~np.isfinite(table) | (table < 0) | (table != np.round(table)))[:5]:
        problems.error(f"counts[{place[0]}][{place[1]}]", "not a count", value=float(table[tuple(place)]))
    if not table.any():
        problems.error("counts", "all counts are 0")
    return table
