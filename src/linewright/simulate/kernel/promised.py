"""What has been let in to a place of its own over a season and has not taken its parts yet: they are promised to it.

Without that several empty vessels would be claimed for the same must, while who fills them is busy elsewhere.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.parts import enough


def promised(m: Whole, x: Real, item: int) -> float:
    """Units of an item that those in places will take who have not begun."""
    stations, units = m[item + r.I_OPENERS], 0.0
    if stations == 0:
        return 0.0
    for k in range(m[stations]):
        station = m[stations + 1 + k]
        place = m[station + r.S_PLACES]
        for _ in range(m[station + r.S_COUNT] if m[station + r.S_BENCH] == 0 else 0):
            piece = m[place + r.TAIL]
            while piece != 0 and m[piece + r.BEGINS] == 1:
                units += x[piece + r.AMOUNT] * _each(m, x, m[m[piece + r.OPERATION] + r.O_TAKES], item)
                piece = m[piece + r.P_BEFORE]
            place += r.WIDTH
    return units


def parts_not_promised(m: Whole, x: Real, piece: int) -> bool:
    """Whether what a new piece begins with is on hand beside what is promised to others."""
    parts = m[m[piece + r.OPERATION] + r.O_TAKES]
    if parts == 0:
        return True
    for k in range(m[parts]):
        item = m[parts + 1 + k]
        if m[item + r.I_ENDLESS] == 0:
            have = x[item + r.I_POOL] - promised(m, x, item)
            if not enough(have, x[parts + 1 + k] * x[piece + r.AMOUNT]):
                return False
    return True


def level_for(m: Whole, x: Real, piece: int, item: int) -> float:
    """Units of an item that must be on hand for a new piece: its own and what is promised; 0: it takes none."""
    units = x[piece + r.AMOUNT] * _each(m, x, m[m[piece + r.OPERATION] + r.O_TAKES], item)
    return units + promised(m, x, item) if units > 0.0 else 0.0


def _each(m: Whole, x: Real, parts: int, item: int) -> float:
    """Units of an item for a piece, by a list of parts."""
    units = 0.0
    if parts != 0:
        for k in range(m[parts]):
            if m[parts + 1 + k] == item:
                units += x[parts + 1 + k]
    return units
