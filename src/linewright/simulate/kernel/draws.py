"""Luck: a counter-based generator, so that a draw depends on what it is for and on nothing that happened before.

Philox-4x32 with ten rounds (Salmon, Moraes, Dror and Shaw, "Parallel random numbers: as easy as 1, 2, 3", SC11). The
counter is (key of the operation, ordinal, purpose), the generator's key is (seed, replication). All arithmetic stays
within 64 bits and every word is masked, so that compiled and plain Python agree bit for bit.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.quantiles import quantile

WORD = 0xFFFFFFFF
MULTIPLY_0 = 0xD2511F53
MULTIPLY_1 = 0xCD9E8D57
WEYL_0 = 0x9E3779B9
WEYL_1 = 0xBB67AE85


def philox(c0: int, c1: int, c2: int, c3: int, k0: int, k1: int) -> tuple[int, int, int, int]:
    """Ten rounds of Philox-4x32 on a counter of four words with a key of two: four random words of 32 bits."""
    for _ in range(10):
        p0 = MULTIPLY_0 * c0
        p1 = MULTIPLY_1 * c2
        c0 = ((p1 >> 32) & WORD) ^ c1 ^ k0
        c1 = p1 & WORD
        c2 = ((p0 >> 32) & WORD) ^ c3 ^ k1
        c3 = p0 & WORD
        k0 = (k0 + WEYL_0) & WORD
        k1 = (k1 + WEYL_1) & WORD
    return c0, c1, c2, c3


def uniform(m: Whole, key: int, key_high: int, ordinal: int, purpose: int, index: int) -> float:
    """A number strictly between 0 and 1, of 53 bits less the ends."""
    word0, word1, _, _ = philox(
        key, key_high, ordinal & WORD, (purpose << 26) | (index & 0x3FFFFFF), m[r.SEED] & WORD, m[r.REPLICATION] & WORD
    )
    return ((word0 >> 5) * 67108864.0 + (word1 >> 6) + 0.5) / 9007199254740992.0


def duration(m: Whole, x: Real, row: int, key: int, key_high: int, ordinal: int, purpose: int) -> int:
    """A random time in ns from a row of shape and parameters."""
    shape = m[row + r.T_SHAPE]
    if shape == 0:
        return m[row + r.T_FIXED]
    if m[r.STILL] == 1:
        return int(x[row + 3] + 0.5)
    u = uniform(m, key, key_high, ordinal, purpose, 0)
    return int(quantile(shape, x[row], x[row + 1], x[row + 2], u) + 0.5)
