"""How long does a screen take for an amount, and how much of it stays above? Area, load on the deck, sizes.

The load that a square metre takes is a figure of the maker or of a trial; sharing follows from sizes and aperture.
"""

from __future__ import annotations

import numpy as np

from linewright.base.cautions import cautions
from linewright.base.results import Honesty
from linewright.physics.inputs import Inputs
from linewright.physics.outcome import Outcome, Timed, curve
from linewright.physics.screen import screen
from linewright.physics.sizes import sizes_by_law


def screen_time(
    amount: float,
    area: float,
    each_m2: float,
    middle: float,
    spread: float,
    aperture: float,
    sharpness: float = 6.0,
    *,
    core_aperture: float | None = None,
    face_aperture: float | None = None,
) -> Timed:
    """The time of an amount over a deck, with what stays above and what passes.

    Equation: t = amount / (area each_m2); shares by screen on Rosin and Rammler's sizes.
    Takes:
        amount [kg]: to be screened, above 0.
        area [m2]: of the deck, above 0.
        each_m2 [kg/s]: what a square metre takes, above 0.
        middle [mm]: size below which 63.2 % of the feed lies.
        spread [1]: of the sizes.
        aperture [mm]: of the deck, the coarsest of several.
        sharpness [1]: of every deck.
        core_aperture [mm]: of a second, finer deck, or None.
        face_aperture [mm]: of a third, or None.
    Gives: a Timed; outcomes are the shares over and under one deck, or oversize, core, face and dust of several. Raises
        ProblemsError.
    Range: as screen.to_oversize; the load on the deck as its maker gives it.
    Source: mass balance.

    >>> screen_time(100.0, 5.0, 0.2, 1.4, 1.5, 2.0).seconds
    100.0
    """
    inputs = Inputs()
    for name, value, unit in (("amount", amount, "kg"), ("area", area, "m2"), ("each_m2", each_m2, "kg/s")):
        inputs.size(name, value, unit)
    inputs.done()
    seconds = amount / (area * each_m2)
    finer = {"core": core_aperture, "face": face_aperture}
    below = {name: deck for name, deck in finer.items() if deck is not None}
    decks = {"oversize": aperture, **below} if below else {"over": aperture}
    found = screen(sizes_by_law(middle, spread), decks, "dust" if below else "under", sharpness=sharpness)
    times = np.linspace(0, seconds, 11)
    return Timed(
        "screen",
        seconds,
        curve("Screened", times, None, **{n: ("kg", amount * s * times / seconds) for n, s in found.shares.items()}),
        tuple(Outcome(name, 100 * share, "%", "feed") for name, share in found.shares.items()),
        {"amount": amount, "area": area, "middle": middle, "spread": spread, "aperture": aperture},
        {"amount": "kg", "area": "m2", "middle": "mm", "spread": "", "aperture": "mm"},
        ("the load on the deck is as given",),
        cautions((("combustible dust", "screen"), ("noise", "screen"))),
        Honesty("estimate"),
    )  # fmt: skip
