"""How long does a mill need for an amount when its screen sends the coarse part back, and what leaves it?

The mill carries fresh feed and what comes back, so the load that goes round sets the time; the load that the mill takes
is a figure of its maker or of a trial.
"""

from __future__ import annotations

import numpy as np

from linewright.base.cautions import cautions
from linewright.base.results import Honesty
from linewright.physics.inputs import Inputs
from linewright.physics.outcome import Outcome, Timed, curve
from linewright.physics.screen import Mill, mill_circuit
from linewright.physics.sizes import grid, sizes_by_law

FINEST, COARSEST = 0.05, 20.0
"""mm between which sizes are held in classes, as grid has them; a coarser feed stretches the upper end."""


def mill_time(
    amount: float,
    takes: float,
    middle: float,
    spread: float,
    aperture: float,
    sharpness: float = 6.0,
    *,
    chance: float = 0.5,
    rise: float = 0.8,
    fineness: float = 1.2,
    core_aperture: float | None = None,
    face_aperture: float | None = None,
) -> Timed:
    """The time of an amount through a mill that gets back what its screen holds, with what leaves.

    Equation: t = amount m / takes, with m the load through the mill for each kg of fresh feed, by mill_circuit.
    Takes:
        amount [kg]: of fresh feed, above 0.
        takes [kg/s]: that the mill carries, fresh and sent back together, above 0.
        middle [mm]: size below which 63.2 % of the fresh feed lies.
        spread [1]: of its sizes.
        aperture [mm]: of the deck whose oversize goes back.
        sharpness [1]: of every deck.
        chance [1]: that a particle of 1 mm is broken in a pass.
        rise [1]: power of size by which that chance rises.
        fineness [1]: power of the law of the pieces; smaller is finer.
        core_aperture [mm]: of a second, finer deck, or None.
        face_aperture [mm]: of a third, or None.
    Gives: a Timed; outcomes are the load through the mill, what is sent back, and the shares of what leaves: under for
        one deck, or core, face and dust of several. Raises ProblemsError.
    Range: as screen.mill_circuit. The defaults of breakage have no source: sieve what leaves your mill. Pieces are
        finer than the class they come from, so the 60 classes of grid are part of the law: at the defaults the load
        is about 4 % below that of ever finer classes. Constants fitted with these classes take that in.
    Source: steady mass balance.

    >>> found = mill_time(100.0, 0.5, 4.0, 1.5, 2.0)
    >>> round(found.seconds - 100.0 * (1 + found.outcome("sent back") / 100) / 0.5, 9)
    0.0
    """
    inputs = Inputs()
    for name, value, unit in (("amount", amount, "kg"), ("takes", takes, "kg/s"), ("middle", middle, "mm"),
                              ("spread", spread, "")):  # fmt: skip
        inputs.size(name, value, unit)
    inputs.done()
    reach = middle * np.log(1e4) ** (1 / spread)  # all but a ten-thousandth of the feed is finer
    feed = sizes_by_law(middle, spread, grid(FINEST, max(COARSEST, float(reach))))
    finer = {"core": core_aperture, "face": face_aperture}
    below = {name: deck for name, deck in finer.items() if deck is not None}
    found = mill_circuit(feed, Mill(chance, rise, fineness), {"oversize": aperture, **below},
                         "dust" if below else "under", sharpness=sharpness)  # fmt: skip
    seconds = amount * found.mill_load / takes
    times = np.linspace(0, seconds, 11)
    shares = found.streams.shares
    return Timed(
        "mill",
        seconds,
        curve("Milled", times, None, **{n: ("kg", amount * s * times / seconds) for n, s in shares.items()}),
        (
            Outcome("through the mill", 100 * found.mill_load, "% of fresh feed"),
            Outcome("sent back", 100 * found.round, "% of fresh feed"),
            *(Outcome(name, 100 * share, "%", "feed") for name, share in shares.items()),
        ),
        {"amount": amount, "takes": takes, "middle": middle, "spread": spread, "aperture": aperture, "chance": chance},
        {"amount": "kg", "takes": "kg/s", "middle": "mm", "spread": "", "aperture": "mm", "chance": ""},
        ("the load that the mill takes and how it breaks are as given", "filling and emptying of the loop left out",
         "sizes held in 60 classes: with the same constants, finer classes send some per cent more back"),
        cautions((("combustible dust", "mill"), ("noise", "mill"), ("pinch points", "mill"))),
        Honesty("estimate"),
    )  # fmt: skip
