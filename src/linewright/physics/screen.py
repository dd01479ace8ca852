"""What goes where on a screen, and what must the mill carry when the coarse part goes round?

A deck sends each size to the oversize with a chance that rises with size; decks in a row share a feed into oversize,
core, face and dust. A mill breaks each size into finer ones; with a screen sending coarse back, the load that goes
round is a fixpoint, solved as one set of linear equations.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from linewright.base.cautions import Caution, cautions
from linewright.base.results import Shown, Table
from linewright.physics.inputs import Floats, Inputs
from linewright.physics.sizes import Sizes


def to_oversize(size: ArrayLike, aperture: ArrayLike, sharpness: ArrayLike = 6.0, fit: ArrayLike = 0.9) -> Floats:
    """Chance that a particle goes over a deck.

    Equation: 1 - exp(-ln 2 (d / (fit aperture))^m): a half at the cut size.
    Takes:
        size [mm]: d, 0 or more.
        aperture [mm]: of the deck, above 0.
        sharpness [1]: m, above 0; infinite for a perfect screen, 4 to 10 in practice.
        fit [1]: cut size over aperture, above 0.
    Gives: chance [1]. Raises ProblemsError.
    Range: sharpness and fit are constants of a screen and its load: sieve its streams.
    Source: Reid 1971 and Plitt 1971 for classifiers (from memory).

    >>> round(float(to_oversize(1.8, 2.0)), 9)
    0.5
    """
    inputs = Inputs()
    d, a = inputs.amount("size", size, "mm"), inputs.size("aperture", aperture, "mm")
    m, f = np.asarray(sharpness, dtype=np.float64), inputs.size("fit", fit, "")
    if np.any(~(m > 0)):
        inputs.refuse("sharpness", "this must be above zero", value=float(np.min(m)))
    inputs.done()
    with np.errstate(over="ignore", invalid="ignore"):
        return np.asarray(-np.expm1(-np.log(2) * (d / (f * a)) ** m))


@dataclass(frozen=True)
class Screened(Shown):
    """Streams of a screen: ``shares`` of the feed's mass by name, which add up to 1, and the ``sizes`` of each."""

    shares: Mapping[str, float]
    sizes: Mapping[str, Sizes]
    cautions: tuple[Caution, ...] = ()

    def to_table(self) -> Table:
        """One row a stream."""
        rows = tuple(
            (name, 100 * share, float(self.sizes[name].size_at(0.5)), float(self.sizes[name].size_at(0.95)))
            for name, share in self.shares.items()
        )
        return Table("Streams", ("stream", "share of feed [%]", "d50 [mm]", "d95 [mm]"), rows)


def screen(feed: Sizes, decks: Mapping[str, float], last: str = "dust", *, sharpness: float = 6.0,
           fit: float = 0.9) -> Screened:  # fmt: skip
    """Share a feed over decks in a row, the coarsest first.

    Equation: each deck takes to_oversize of what reaches it; the rest falls on.
    Takes:
        feed [see Sizes]: sizes of the feed.
        decks [mm]: aperture of each deck by the name of what it holds back, falling.
        last [text]: name of what passes all decks.
        sharpness [1]: of all decks.
        fit [1]: cut size over aperture.
    Gives: a Screened. Raises ProblemsError.
    Range: as to_oversize.
    Source: mass balance.

    >>> from linewright.physics.sizes import sizes_by_law
    >>> found = screen(sizes_by_law(1.4, 1.5), {"oversize": 2.0, "core": 0.8, "face": 0.2})
    >>> list(found.shares), round(sum(found.shares.values()), 12)
    (['oversize', 'core', 'face', 'dust'], 1.0)
    """
    inputs = Inputs()
    apertures = inputs.size("decks", list(decks.values()) or [1.0], "mm")
    if not decks:
        inputs.refuse("decks", "no deck is given")
    if np.any(np.diff(apertures) >= 0):
        inputs.refuse("decks", "decks go from coarse to fine", value=", ".join(f"{a:g}" for a in apertures))
    if last in decks:
        inputs.refuse("last", "this name is a deck's already", value=last)
    inputs.done()
    left = np.array(feed.shares)
    total = left.sum()
    shares: dict[str, float] = {}
    sizes: dict[str, Sizes] = {}
    for name, aperture in decks.items():
        over = left * to_oversize(feed.middles, aperture, sharpness, fit)
        shares[name], sizes[name] = float(over.sum() / total), _as_sizes(feed.edges, over)
        left = left - over
    shares[last], sizes[last] = float(left.sum() / total), _as_sizes(feed.edges, left)
    return Screened(shares, sizes, cautions((("combustible dust", "screen"), ("noise", "screen"))))


def _as_sizes(edges: tuple[float, ...], masses: Floats) -> Sizes:
    whole = masses.sum()
    return Sizes(edges, tuple((masses / whole if whole > 0 else masses).tolist()))


@dataclass(frozen=True)
class Mill:
    """How a mill breaks: ``chance`` that a particle of 1 mm is broken in a pass, rising with size by the power
    ``rise``; the pieces of a broken particle are finer than a share x of it by x^``fineness``."""  # fmt: skip

    chance: float = 0.5
    rise: float = 0.8
    fineness: float = 1.2


def mill_matrix(edges: ArrayLike, mill: Mill) -> Floats:
    """What a pass through the mill makes of each size class.

    Equation: P = I - S + B S: S the chance to be broken, B the shares into which a broken class falls.
    Takes:
        edges [mm]: of the classes, rising.
        mill [see Mill]: how it breaks.
    Gives: P [1], product class by feed class; each column adds up to 1. Raises ProblemsError.
    Range: breakage that does not hang on the load.
    Source: Broadbent and Callcott, Journal of the Institute of Fuel 29 (1956) 524 (from memory).

    >>> mill_matrix([0.0, 1.0, 2.0, 4.0], Mill()).sum(axis=0).round(12).tolist()
    [1.0, 1.0, 1.0]
    """
    inputs = Inputs()
    e = inputs.amount("edges", edges, "mm")
    inputs.share("mill.chance", mill.chance)
    inputs.amount("mill.rise", mill.rise, "")
    inputs.size("mill.fineness", mill.fineness, "")
    if e.ndim != 1 or e.size < 3 or np.any(np.diff(e) <= 0):
        inputs.refuse("edges", "edges rise, and make at least two classes")
    inputs.done()
    sizes = Sizes(tuple(e.tolist()), tuple(np.full(e.size - 1, 1 / (e.size - 1)).tolist()))
    middle = sizes.middles
    chance = np.minimum(mill.chance * middle**mill.rise, 1.0)
    chance[0] = 0.0  # the finest class has nowhere to go
    pieces = np.zeros((middle.size, middle.size))
    for j in range(1, middle.size):
        below = np.minimum(e[: j + 1] / e[j], 1.0) ** mill.fineness  # pieces are finer than the class they came from
        pieces[:j, j] = np.diff(below)
    return np.asarray(np.eye(middle.size) * (1 - chance) + pieces * chance)


@dataclass(frozen=True)
class Circuit(Shown):
    """A mill with its screen, for one kg of fresh feed: ``mill_load`` kg through the mill, ``round`` kg sent back, and
    the ``streams`` that leave (their shares add up to 1). ``mill_sizes`` is what leaves the mill."""  # fmt: skip

    mill_load: float
    round: float
    streams: Screened
    mill_sizes: Sizes

    def to_table(self) -> Table:
        """The load that goes round and the streams."""
        rows = (("through the mill", self.mill_load), ("sent back", self.round), *self.streams.shares.items())
        return Table("Mill and screen", ("what", "kg for each kg of fresh feed"), rows)


def mill_circuit(feed: Sizes, mill: Mill, decks: Mapping[str, float], last: str = "dust", *, sharpness: float = 6.0,
                 fit: float = 0.9, feed_to_screen: bool = False) -> Circuit:  # fmt: skip
    """A mill whose screen sends the coarsest stream back, solved for the load that goes round.

    Equation: m = f + O P m with O the chance to go over the first deck: m = (I - O P)^-1 f.
    Takes:
        feed [see Sizes]: sizes of the fresh feed, on the classes of the whole circuit.
        mill [see Mill]: how the mill breaks.
        decks [mm]: aperture by name, falling; the first goes back to the mill.
        last [text]: name of what passes all decks.
        sharpness [1]: of all decks.
        fit [1]: cut size over aperture.
        feed_to_screen [yes or no]: whether fresh feed meets the screen before the mill.
    Gives: a Circuit. Raises ProblemsError where the coarse part would go round for ever.
    Range: as mill_matrix and to_oversize.
    Source: steady mass balance; the fixpoint of the loop.

    >>> from linewright.physics.sizes import sizes_by_law
    >>> found = mill_circuit(sizes_by_law(4.0, 1.5), Mill(), {"oversize": 2.0, "core": 0.8, "face": 0.2})
    >>> bool(abs(found.mill_load - 1 - found.round) < 1e-12)
    True
    """
    inputs = Inputs()
    if not decks:
        inputs.refuse("decks", "no deck is given")
    inputs.done()
    names = list(decks)
    over = to_oversize(feed.middles, decks[names[0]], sharpness, fit)
    product = mill_matrix(feed.edges, mill)
    fresh = np.array(feed.shares)
    first = over * fresh if feed_to_screen else fresh
    loop = over[:, None] * product
    if np.max(np.abs(np.linalg.eigvals(loop))) > 1 - 1e-9:
        inputs.refuse("mill.chance", "the mill does not break what the screen sends back: it would go round for ever")
        inputs.done()
    load = np.linalg.solve(np.eye(fresh.size) - loop, first)
    milled = product @ load
    passed = (1 - over) * (milled + (fresh if feed_to_screen else 0.0))
    rest = {name: decks[name] for name in names[1:]}
    # The first deck has done its work: what passed it is shared over the others.
    after = _as_sizes(feed.edges, passed)
    streams = screen(after, rest, last, sharpness=sharpness, fit=fit) if rest else Screened({last: 1.0}, {last: after})
    back = float((over * milled).sum())
    return Circuit(float(load.sum()), back, streams, _as_sizes(feed.edges, milled))
