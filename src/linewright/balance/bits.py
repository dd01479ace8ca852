"""Sets of tasks as rows of 64-bit words, for the compiled search: the few operations it needs.

All arithmetic stays in unsigned words, so the bits are the same with the compiler on or off.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from linewright.balance.kernel import kernel

Words = NDArray[np.uint64]
ONE = np.uint64(1)


@kernel(inline="always")
def has(words: Words, i: int) -> bool:
    """Whether ``i`` is in the set."""
    return bool((words[i >> 6] >> np.uint64(i & 63)) & ONE)


@kernel(inline="always")
def add(words: Words, i: int) -> None:
    """Put ``i`` into the set."""
    words[i >> 6] |= ONE << np.uint64(i & 63)


@kernel(inline="always")
def low_ones(count: int) -> np.uint64:
    """A word whose lowest ``count`` bits are set, for ``count`` from 0 to 64."""
    if count >= 64:
        return ~np.uint64(0)
    return (ONE << np.uint64(count)) - ONE


@kernel()
def any_between(words: Words, low: int, high: int) -> bool:
    """Whether the set holds any of ``low`` .. ``high``, both included; ``low`` is not below zero."""
    if low > high:
        return False
    first, last = low >> 6, high >> 6
    head = ~low_ones(low & 63)
    tail = low_ones((high & 63) + 1)
    if first == last:
        return bool(words[first] & head & tail)
    if words[first] & head != np.uint64(0) or words[last] & tail != np.uint64(0):
        return True
    for k in range(first + 1, last):  # noqa: SIM110 - numba compiles the loop, not the generator
        if words[k] != np.uint64(0):
            return True
    return False


@kernel()
def shifted_into(target: Words, source: Words, by: int, top: int) -> None:
    """``target = source | (source << by)``, cut above ``top``: the sums with and without one more term of ``by``.

    ``target`` and ``source`` may be the same row, since it is filled from the top.
    """
    whole, part = by >> 6, by & 63
    last = top >> 6
    for k in range(last, -1, -1):
        moved = np.uint64(0)
        if k >= whole:
            moved = source[k - whole] << np.uint64(part)
            if part and k > whole:
                moved |= source[k - whole - 1] >> np.uint64(64 - part)
        target[k] = source[k] | moved
    target[last] &= low_ones((top & 63) + 1)


@kernel(inline="always")
def count_ones(word: np.uint64) -> int:
    """How many bits of a word are set."""
    word = word - ((word >> np.uint64(1)) & np.uint64(0x5555555555555555))
    word = (word & np.uint64(0x3333333333333333)) + ((word >> np.uint64(2)) & np.uint64(0x3333333333333333))
    word = (word + (word >> np.uint64(4))) & np.uint64(0x0F0F0F0F0F0F0F0F)
    return int((word * np.uint64(0x0101010101010101)) >> np.uint64(56))


def unpacked(words: Words, n: int) -> NDArray[np.bool_]:
    """Sets of ``n`` tasks [n_sets, words] as truths [n_sets, n].

    >>> unpacked(np.array([[5]], dtype=np.uint64), 3).tolist()
    [[True, False, True]]
    """
    bits = np.unpackbits(words.astype("<u8").view(np.uint8), axis=1, count=n, bitorder="little")
    return bits.astype(np.bool_)
