"""What the kernel's functions are given: flat memory that can be indexed and nothing else.

Compiled, these are bare pointers; without the compiler they are lists that check every index (``memory.Checked``).
"""

from __future__ import annotations

from typing import Protocol, TypeVar

Number = TypeVar("Number", int, float)


class Cells(Protocol[Number]):
    """Memory of one kind of number."""

    def __getitem__(self, index: int, /) -> Number:
        """The number at ``index``."""
        ...

    def __setitem__(self, index: int, value: Number, /) -> None:
        """Put a number at ``index``."""
        ...


Whole = Cells[int]
Real = Cells[float]
