"""The engine's memory: built once from a network as a template, copied for each replication, grown when it is full."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from linewright.network.model import Floats, Ints
from linewright.simulate.kernel import rows as r


class Builder:
    """Rows appended one after another to two lists of one length; row 0 is the header."""

    def __init__(self) -> None:
        self.m: list[int] = [0] * r.HEADER
        self.x: list[float] = [0.0] * r.HEADER

    def row(self, width: int, kind: int = 0) -> int:
        """A new row of zeros; its base."""
        base = len(self.m)
        self.m.extend([0] * width)
        self.x.extend([0.0] * width)
        self.m[base] = kind
        return base

    def list_of(self, entries: Iterable[int]) -> int:
        """A list: its length, then its entries. 0 where there are none."""
        found = list(entries)
        if not found:
            return 0
        base = self.row(1 + len(found))
        self.m[base] = len(found)
        self.m[base + 1 : base + 1 + len(found)] = found
        return base

    def pairs(self, entries: Iterable[tuple[int, int]]) -> int:
        """A list of pairs of whole numbers. 0 where there are none."""
        found = list(entries)
        if not found:
            return 0
        base = self.row(1 + 2 * len(found))
        self.m[base] = len(found)
        for k, (first, second) in enumerate(found):
            self.m[base + 1 + 2 * k] = first
            self.m[base + 2 + 2 * k] = second
        return base

    def amounts(self, entries: Iterable[tuple[int, float]]) -> int:
        """A list of rows, each with an amount. 0 where there are none."""
        found = list(entries)
        base = self.list_of(row for row, _ in found)
        for k, (_, amount) in enumerate(found):
            self.x[base + 1 + k] = amount
        return base


@dataclass(frozen=True, slots=True)
class Template:
    """A network as memory at time zero; ``fixed`` cells are there from the start, rows that come and go follow them."""

    m: Ints
    x: Floats
    fixed: int


class Checked:
    """Memory without the compiler: a list that refuses an index below zero or past its end."""

    __slots__ = ("cells",)

    def __init__(self, cells: list[Any]) -> None:
        self.cells = cells

    def __getitem__(self, index: int) -> Any:
        if index < 0:
            raise IndexError(f"index {index} is below zero")
        return self.cells[index]

    def __setitem__(self, index: int, value: Any) -> None:
        if index < 0:
            raise IndexError(f"index {index} is below zero")
        self.cells[index] = value


def grown(array: Any, size: int) -> Any:
    """A longer copy of an array, zeros behind."""
    new = np.zeros(size, dtype=array.dtype)
    new[: len(array)] = array
    return new
