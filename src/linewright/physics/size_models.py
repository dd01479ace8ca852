"""Screen and mill as a plan calls them: their conditions, and the functions that answer for the values.

They stand apart from the other models because they share what an amount and several decks mean.
"""

from __future__ import annotations

from dataclasses import replace

from linewright.physics.conditions import Condition, Values
from linewright.physics.outcome import Timed

TONNE = 1000.0
"""kg whose time is told of a screen or mill that works without pause."""
_SIZES = ("middle", "spread", "aperture", "sharpness", "core_aperture", "face_aperture")
_BREAKS = ("chance", "rise", "fineness")
_FINER = (
    Condition("core_aperture", "length", "mm", "of a second deck: what it holds is core", '"0.8 mm"', 1000.0,
              optional=True),
    Condition("face_aperture", "length", "mm", "of a third deck: what it holds is face", '"0.2 mm"', 1000.0,
              optional=True),
    Condition("sharpness", "number", "", "of the deck", "6", default=6.0),
)  # fmt: skip

SCREEN = (
    Condition("amount", "mass", "kg", "screened at a time; no pause where left out", '"100 kg"', optional=True),
    Condition("area", "area", "m2", "of the screen", '"6 m2"'),
    Condition("each_m2", "mass/time", "kg/s", "what a square metre of the deck takes", '"0.8 t/h"'),
    Condition("middle", "length", "mm", "size below which 63 % of the feed lies", '"1.4 mm"', 1000.0),
    Condition("spread", "number", "", "of sizes (Rosin and Rammler)", "1.5", default=1.5),
    Condition("aperture", "length", "mm", "of the deck, the coarsest of several", '"2 mm"', 1000.0),
    *_FINER,
)
"""Conditions of a screen."""

MILL = (
    Condition("amount", "mass", "kg", "fresh feed at a time; no pause where left out", '"100 kg"', optional=True),
    Condition("takes", "mass/time", "kg/s", "what the mill carries, fresh and sent back together", '"4 t/h"'),
    Condition("middle", "length", "mm", "size below which 63 % of the fresh feed lies", '"4 mm"', 1000.0),
    Condition("spread", "number", "", "of sizes (Rosin and Rammler)", "1.5", default=1.5),
    Condition("aperture", "length", "mm", "of the deck whose oversize goes back", '"2 mm"', 1000.0),
    *_FINER,
    Condition("chance", "share", "", "that a particle of 1 mm is broken in a pass; fit it to your mill", '"50 %"',
              default=0.5),
    Condition("rise", "number", "", "power of size by which that chance rises", "0.8", default=0.8),
    Condition("fineness", "number", "", "of the pieces; smaller is finer", "1.2", default=1.2),
)  # fmt: skip
"""Conditions of a mill with its screen."""


def screen_answer(values: Values) -> Timed:
    """An amount, or a tonne, over a screen.

    Equation: that of screening.screen_time.
    Takes:
        values [see Values]: conditions as read.
    Gives: a Timed. Raises ProblemsError.
    Range: as screening.screen_time.
    Source: mass balance.

    >>> from linewright.physics.conditions import read_conditions
    >>> asked = {"area": "5 m2", "each_m2": "0.2 kg/s", "middle": "1.4 mm", "aperture": "2 mm"}
    >>> screen_answer(read_conditions("screen", SCREEN, asked)).seconds
    1000.0
    """
    from linewright.physics.screening import screen_time

    found = screen_time(float(values.get("amount", TONNE)), **_written(values, "area", "each_m2", *_SIZES))
    return _of_a_tonne(found, values)


def mill_answer(values: Values) -> Timed:
    """An amount, or a tonne, through a mill with its screen.

    Equation: that of milling.mill_time.
    Takes:
        values [see Values]: conditions as read.
    Gives: a Timed. Raises ProblemsError.
    Range: as milling.mill_time.
    Source: mass balance.

    >>> from linewright.physics.conditions import read_conditions
    >>> asked = {"takes": "2 kg/s", "middle": "4 mm", "aperture": "2 mm"}
    >>> mill_answer(read_conditions("mill", MILL, asked)).seconds > 500
    True
    """
    from linewright.physics.milling import mill_time

    found = mill_time(float(values.get("amount", TONNE)), **_written(values, "takes", *_SIZES, *_BREAKS))
    return _of_a_tonne(found, values)


def rate_of_tonne(values: Values, seconds: float) -> float | None:
    """The rate of a screen or mill that works without pause.

    Equation: 1 t / seconds.
    Takes:
        values [see Values]: conditions as read.
        seconds [s]: of a tonne.
    Gives: rate [kg/s], or None where an amount is written. Raises ProblemsError.
    Range: as the model's.
    Source: mass balance.

    >>> rate_of_tonne({"takes": 2.0}, 800.0)
    1.25
    """
    return None if "amount" in values else TONNE / seconds


def _written(values: Values, *names: str) -> dict[str, float]:
    """The named values that are there, as keyword arguments."""
    return {name: float(values[name]) for name in names if name in values}


def _of_a_tonne(found: Timed, values: Values) -> Timed:
    return found if "amount" in values else replace(found, notes=("the time is that of a tonne", *found.notes))
