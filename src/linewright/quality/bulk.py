"""How sure is a large count by weight? The mass of one comes from a counted sample, and its error grows with the count.

Three errors join: the pieces' own spread, that of the sample, and the scale's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy import special

from linewright.base.arrays import number, share
from linewright.base.problems import Problems
from linewright.base.results import Shown, Table
from linewright.quality.counting import Scale, check_scale


@dataclass(frozen=True)
class BulkCount(Shown):
    """A large count by sample weight: standard deviation of the count in pieces, its parts, and the chances."""

    pieces: int
    sd: float
    from_pieces: float
    from_sample: float
    from_scale: float
    exactly_right: float
    interval: tuple[float, float]

    def to_table(self) -> Table:
        """One row."""
        row = (self.pieces, self.sd, self.exactly_right, *self.interval)
        return Table("Count by weight", ("pieces", "sd of count", "exactly right", "95 % low", "95 % high"), (row,))


def count_in_bulk(pieces: int, sample: int, cv: float, *, mean: float = 1.0, scale: Scale | None = None) -> BulkCount:
    """How sure is a large count, the mass of one being taken from a counted sample?

    Equation: sd^2 = N^2 cv^2 (1/N + 1/m) + (N u/(m w))^2 + (u/w)^2; u^2 = repeatability^2 + step^2/12, w the mean mass.
        Exactly right: P(|error| < 0.5).
    Takes:
        pieces [1]: N, count to be found, at least 1.
        sample [1]: m, pieces counted by hand for the mass of one, at least 1.
        cv [1]: spread of the mass of one over its mean, 0 to 10.
        mean [mass]: w, mass of one, above 0; matters only with a scale.
        scale [as mean]: the scale for both weighings; None takes it as perfect.
    Gives: a BulkCount.
    Range: normal approximation, so the scale's step is small beside the other errors; sample and count from one batch.
    Source: propagation of error.

    >>> round(count_in_bulk(500, 10, 0.02).sd, 2)
    3.19
    """
    problems = Problems()
    number(pieces, "pieces", problems, low=1, whole=True)
    number(sample, "sample", problems, low=1, whole=True)
    number(cv, "cv", problems, low=0.0, high=10.0)
    number(mean, "mean", problems, above=0.0)
    if scale is not None:
        check_scale(scale, problems)
    problems.raise_errors()
    u = 0.0 if scale is None else math.hypot(scale.repeatability, scale.step / math.sqrt(12)) / mean
    own = cv * math.sqrt(pieces)
    sampled = pieces * cv / math.sqrt(sample)
    scaled = math.hypot(pieces * u / sample, u)
    sd = math.sqrt(own**2 + sampled**2 + scaled**2)
    right = 2 * float(special.ndtr(0.5 / sd)) - 1 if sd > 0 else 1.0
    half = 1.959964 * sd
    return BulkCount(int(pieces), sd, own, sampled, scaled, right, (pieces - half, pieces + half))


def sample_for_count(pieces: int, cv: float, *, sure: float = 0.95, within: float = 0.5) -> int | None:
    """How many pieces to count by hand so that a large count is right within so many.

    Equation: least m with z N cv sqrt(1/N + 1/m) <= within, z for two-sided ``sure``.
    Takes:
        pieces [1]: N, count to be found, at least 1.
        cv [1]: spread of the mass of one over its mean, 0 to 10.
        sure [1]: confidence, between 0 and 1.
        within [pieces]: error allowed, above 0; below 0.5 is pointless.
    Gives: m; None where no sample does, since the pieces' own spread is already too much.
    Range: a perfect scale.
    Source: count_in_bulk solved for m.

    >>> sample_for_count(200, 0.005), sample_for_count(500, 0.02)
    (17, None)
    """
    problems = Problems()
    number(pieces, "pieces", problems, low=1, whole=True)
    number(cv, "cv", problems, low=0.0, high=10.0)
    share(sure, "sure", problems)
    number(within, "within", problems, above=0.0)
    problems.raise_errors()
    z = float(special.ndtri(0.5 + sure / 2))
    if cv == 0:
        return 1
    left = (within / (z * pieces * cv)) ** 2 - 1 / pieces
    return max(1, math.ceil(1 / left - 1e-9)) if left > 0 else None
