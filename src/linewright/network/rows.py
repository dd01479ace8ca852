"""Growing columns that become the network's read-only arrays.

Tables are compiled row by row in plain lists, which is fast and easy to read, and frozen into NumPy arrays at the end.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from linewright.base.distributions import Distribution, Shape
from linewright.network.model import Bools, Durations, Floats, Ints, Links

SECOND = 1e9
"""Nanoseconds in a second."""


def ints(values: Sequence[int]) -> Ints:
    """A read-only column of whole numbers."""
    array = np.array(values, dtype=np.int64)
    array.flags.writeable = False
    return array


def floats(values: Sequence[float]) -> Floats:
    """A read-only column of numbers."""
    array = np.array(values, dtype=np.float64)
    array.flags.writeable = False
    return array


def bools(values: Sequence[bool]) -> Bools:
    """A read-only column of yes and no."""
    array = np.array(values, dtype=np.bool_)
    array.flags.writeable = False
    return array


def owners(links: Links) -> Ints:
    """The row of every entry of links."""
    return np.repeat(np.arange(len(links.starts) - 1, dtype=np.int64), np.diff(links.starts))


def summed(index: Ints, amounts: Floats, size: int) -> Floats:
    """[size] amounts added up by index.

    >>> summed(np.array([0, 2, 2]), np.array([1.0, 2.0, 3.0]), 3)
    array([1., 0., 5.])
    """
    return np.asarray(np.bincount(index, amounts, size), dtype=np.float64)


MOST = 2.0**62
"""ns that still fit into whole numbers when they are added up; no time that a plan may write comes near."""


class LinkRows:
    """Rows of varying length: add one row at a time, then ``done``."""

    __slots__ = ("_amount", "_index", "_starts")

    def __init__(self) -> None:
        self._starts = [0]
        self._index: list[int] = []
        self._amount: list[float] = []

    def add(self, pairs: Iterable[tuple[int, float]]) -> None:
        """Add a row; the same index twice is added up."""
        if pairs in ((), []):  # nearly all of most columns
            self._starts.append(self._starts[-1])
            return
        row: dict[int, float] = {}
        for index, amount in pairs:
            row[index] = row.get(index, 0.0) + amount
        self._index.extend(row)
        self._amount.extend(row.values())
        self._starts.append(len(self._index))

    def done(self) -> Links:
        """The rows as read-only arrays."""
        return Links(ints(self._starts), ints(self._index), floats(self._amount))


class DurationRows:
    """One random time a row, rounded here and nowhere else: fixed times to whole ns."""

    __slots__ = ("_mean", "_parameters", "_shape", "_variance")

    def __init__(self) -> None:
        self._shape: list[int] = []
        self._parameters: list[tuple[float, float, float]] = []
        self._mean: list[float] = []
        self._variance: list[float] = []

    def add(self, value: Distribution | float) -> None:
        """Add a time in seconds: a plain number is fixed."""
        if not isinstance(value, Distribution) or value.shape is Shape.FIXED:
            seconds = value.a if isinstance(value, Distribution) else value
            whole = float(round(min(seconds * SECOND, MOST)))
            self._append(int(Shape.FIXED), (whole, 0.0, 0.0), whole, 0.0)
            return
        scaled = value.scaled(SECOND)
        self._append(int(value.shape), (scaled.a, scaled.b, scaled.c), value.mean * SECOND, value.variance * SECOND**2)

    def _append(self, shape: int, parameters: tuple[float, float, float], mean: float, variance: float) -> None:
        self._shape.append(shape)
        self._parameters.append(parameters)
        self._mean.append(mean)
        self._variance.append(variance)

    def done(self) -> Durations:
        """The rows as read-only arrays."""
        parameters = np.array(self._parameters, dtype=np.float64).reshape(-1, 3)
        parameters.flags.writeable = False
        return Durations(ints(self._shape), parameters, floats(self._mean), floats(self._variance))
