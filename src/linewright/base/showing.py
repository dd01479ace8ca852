"""How results show themselves where a notebook asks: always as a table, and as a picture where somebody draws one.

Nothing here draws. Whoever can draw a kind of result says so with ``draw_with``; results know of nobody.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Draw = Callable[[Any], str]
"""From a result to the HTML of its picture."""

_drawers: dict[type, Draw] = {}
_openers: list[Callable[[], object]] = []


def draw_with(kind: type, draw: Draw) -> None:
    """Let results of this kind, and of kinds derived from it, show themselves by ``draw``."""
    _drawers[kind] = draw


def before_showing(opener: Callable[[], object]) -> None:
    """Call ``opener`` once, before the first result shows itself: to load whoever draws."""
    _openers.append(opener)


def picture_of(result: object) -> str | None:
    """The picture of a result as HTML; None where nobody draws its kind."""
    while _openers:
        _openers.pop(0)()
    draw = next((_drawers[kind] for kind in type(result).__mro__ if kind in _drawers), None)
    return draw(result) if draw is not None else None
