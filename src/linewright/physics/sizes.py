"""How large are the particles? A distribution of sizes by mass, from a law or from a sieve table.

Sizes are held as classes: edges in mm from fine to coarse and the share of mass between two edges. Everything that a
screen or mill does is then arithmetic on shares, and mass is kept to rounding.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from linewright.base.results import Shown, Table
from linewright.physics.fitting import Fitted, fit_constants
from linewright.physics.inputs import Floats, Inputs


@dataclass(frozen=True)
class Sizes(Shown):
    """Shares of mass by size: ``edges`` in mm, rising, one more than ``shares``, which add up to 1."""

    edges: tuple[float, ...]
    shares: tuple[float, ...]

    @property
    def middles(self) -> Floats:
        """The geometric middle of each class, mm; the arithmetic one where a class begins at zero."""
        e = np.array(self.edges)
        return np.asarray(np.where(e[:-1] > 0, np.sqrt(e[:-1] * e[1:]), e[1:] / 2), dtype=np.float64)

    def passing(self, size: ArrayLike) -> Floats:
        """Share of mass finer than a size in mm, straight between edges."""
        below = np.concatenate([[0.0], np.cumsum(self.shares)])
        return np.asarray(np.interp(np.asarray(size, dtype=np.float64), self.edges, below))

    def size_at(self, share: ArrayLike) -> Floats:
        """Size in mm below which a share of the mass lies: 0.8 gives the d80."""
        below = np.concatenate([[0.0], np.cumsum(self.shares)])
        return np.asarray(np.interp(np.asarray(share, dtype=np.float64), below, self.edges))

    def to_table(self) -> Table:
        """One row a class."""
        rows = tuple(zip(self.edges[:-1], self.edges[1:], (100 * s for s in self.shares), strict=True))
        return Table("Sizes", ("from [mm]", "to [mm]", "share [%]"), rows)


def grid(finest: float = 0.05, coarsest: float = 20.0, classes: int = 60) -> Floats:
    """Edges for size classes, evenly spread by ratio, with zero below.

    Equation: e_i = finest (coarsest / finest)^(i / (classes - 1)).
    Takes:
        finest [mm]: the lowest edge above zero.
        coarsest [mm]: the highest edge.
        classes [1]: how many, at least 2.
    Gives: edges [mm], one more than classes. Raises ProblemsError.
    Range: any.
    Source: none.

    >>> grid(0.1, 10.0, 3).round(3).tolist()
    [0.0, 0.1, 1.0, 10.0]
    """
    inputs = Inputs()
    inputs.size("finest", finest, "mm")
    inputs.number("coarsest", coarsest, above=finest, unit="mm")
    inputs.number("classes", classes, low=2)
    inputs.done()
    return np.concatenate([[0.0], np.geomspace(finest, coarsest, classes)])


def rosin_rammler(size: ArrayLike, middle: ArrayLike, spread: ArrayLike) -> Floats:
    """Share of mass finer than a size.

    Equation: F = 1 - exp(-(d / d')^n).
    Takes:
        size [mm]: d, 0 or more.
        middle [mm]: d', below which 63.2 % lies, above 0.
        spread [1]: n, above 0; larger is more alike.
    Gives: F [1]. Raises ProblemsError.
    Range: milled products; n 0.8 to 3 as a rule.
    Source: Rosin and Rammler, Journal of the Institute of Fuel 7 (1933) 29.

    >>> round(float(rosin_rammler(2.0, 2.0, 1.5)), 4)
    0.6321
    """
    inputs = Inputs()
    d, mid = inputs.amount("size", size, "mm"), inputs.size("middle", middle, "mm")
    n = inputs.size("spread", spread, "")
    inputs.done()
    return np.asarray(-np.expm1(-((d / mid) ** n)))


def sizes_by_law(middle: float, spread: float, edges: ArrayLike | None = None) -> Sizes:
    """Size classes by Rosin and Rammler.

    Equation: share of a class F(upper) - F(lower); what lies above the last edge goes into the last class.
    Takes:
        middle [mm]: d'.
        spread [1]: n.
        edges [mm]: of the classes, rising; grid() where not given.
    Gives: Sizes. Raises ProblemsError.
    Range: as rosin_rammler.
    Source: as rosin_rammler.

    >>> round(sum(sizes_by_law(2.0, 1.5).shares), 12)
    1.0
    """
    e = grid() if edges is None else np.asarray(edges, dtype=np.float64)
    below = rosin_rammler(e, middle, spread).copy()
    below[-1] = 1.0
    below[0] = 0.0
    return Sizes(tuple(e.tolist()), tuple(np.diff(below).tolist()))


def sizes_from_sieves(apertures: ArrayLike, held: ArrayLike, edges: ArrayLike | None = None) -> Sizes:
    """Size classes from a sieve analysis.

    Equation: shares are masses over their sum; with edges, the passing curve is read between sieves.
    Takes:
        apertures [mm]: of the sieves from fine to coarse.
        held [g, or any mass]: on the pan and on each sieve, one more than apertures.
        edges [mm]: classes wanted; those of the sieves where not given.
    Gives: Sizes; what lies on the coarsest sieve is taken up to twice its aperture. Raises ProblemsError.
    Range: any.
    Source: practice of ISO 3310 sieves.

    >>> sizes_from_sieves([0.5, 1.0], [20.0, 50.0, 30.0]).shares
    (0.2, 0.5, 0.3)
    """
    inputs = Inputs()
    a, m = inputs.size("apertures", apertures, "mm"), inputs.amount("held", held, "g")
    if a.ndim != 1 or np.any(np.diff(a) <= 0):
        inputs.refuse("apertures", "sieves go from fine to coarse, each coarser than the last")
    if m.ndim != 1 or m.size != a.size + 1:
        inputs.refuse("held", "one mass for the pan and one for each sieve", value=m.size, expected=f"{a.size + 1}")
    elif not m.sum() > 0:
        inputs.refuse("held", "nothing was held")
    inputs.done()
    found = Sizes((0.0, *a.tolist(), 2 * float(a[-1])), tuple((m / m.sum()).tolist()))
    if edges is None:
        return found
    e = np.asarray(edges, dtype=np.float64)
    below = found.passing(e)
    below[0], below[-1] = 0.0, 1.0
    return Sizes(tuple(e.tolist()), tuple(np.diff(below).tolist()))


def fit_sizes(apertures: ArrayLike, passing: ArrayLike) -> Fitted:
    """Middle and spread of Rosin and Rammler from a sieve analysis, with intervals.

    Equation: least squares on the passing shares.
    Takes:
        apertures [mm]: of the sieves, at least three.
        passing [1]: share finer than each.
    Gives: a Fitted with middle [mm] and spread [1]. Raises ProblemsError.
    Range: as rosin_rammler.
    Source: as fitting.fit_constants.

    >>> a = [0.5, 1.0, 2.0, 4.0]
    >>> round(fit_sizes(a, rosin_rammler(a, 1.8, 1.4)).value("middle"), 4)
    1.8
    """
    start = {"middle": float(np.median(np.asarray(apertures, dtype=np.float64))), "spread": 1.2}
    return fit_constants(lambda d, c: rosin_rammler(d, c["middle"], c["spread"]), apertures, passing, start)
