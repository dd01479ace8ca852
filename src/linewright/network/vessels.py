"""Loads in vessels of several sizes: how many pieces each holds, and the load to reckon with on average.

A load is at most what its vessel holds. Where every vessel is used as often as the next, so many loads of the mean size
are so much, which is how averages count them; the simulation fills the vessels that there are.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from linewright.network.context import Context
from linewright.network.items import ItemFacts
from linewright.network.loads import pieces_of
from linewright.plan.model import Load, Operation


@dataclass(frozen=True, slots=True)
class Sized:
    """Loads of one operation in vessels: ``per_size`` pieces in one base unit of size (0: the places have no sizes).

    ``least`` and ``most`` are the written limits of a load in pieces (inf: none but the vessel's own).
    """

    per_size: float = 0.0
    least: float = math.inf
    most: float = math.inf


NOT_SIZED = Sized()


def in_vessels(
    operation: Operation,
    load: Load | None,
    written: tuple[float, float],
    path: str,
    piece: tuple[float, int, float],
    facts: list[ItemFacts],
    context: Context,
) -> tuple[float, float, Sized]:
    """Least and most of a load to reckon with, and its vessels; ``written`` as they are where there are no sizes.

    ``piece`` is the mass of a piece, the item it is thought of as, and its base units.
    """
    least, most = written
    stations = [context.plan.stations[name] for name in operation.station if name in context.plan.stations]
    if not any(station.sizes for station in stations):
        return least, most, NOT_SIZED
    if not all(station.sizes for station in stations):
        plain = next(station.id for station in stations if not station.sizes)
        context.problems.error(
            f"{path}.station", f"{plain} has no sizes, and the other station that does the same has", value=plain,
            hint=f"write sizes of {plain} too",
        )  # fmt: skip
        return least, most, NOT_SIZED
    vessels = [(size, count) for station in stations for size, count in station.sizes]
    per_size = pieces_of(vessels[0][0], f"stations.{stations[0].id}.sizes", *piece, facts, context)
    per_size /= vessels[0][0].value
    if not per_size > 0:
        return 1.0, 1.0, NOT_SIZED
    sized = Sized(per_size) if load is None else Sized(per_size, least, most)
    if load is not None and load.least is not None and least < most:
        _fits(vessels[0][0].text, vessels[0][0].value * per_size, load, least, path, context)
    count = sum(number for _, number in vessels)
    mean = sum(min(size.value * per_size, sized.most) * number for size, number in vessels) / count
    return min(sized.least, mean), mean, sized


def _fits(size: str, holds: float, load: Load, least: float, path: str, context: Context) -> None:
    """A vessel smaller than the least load would never be filled."""
    if holds < least * (1 - 1e-9):
        assert load.least is not None
        context.problems.error(
            f"{path}.load.least", f"a vessel of {size} can never hold the least load", value=load.least.text,
            expected=f"{size} at most", hint="a smaller least, or no vessels of this size",
        )  # fmt: skip
