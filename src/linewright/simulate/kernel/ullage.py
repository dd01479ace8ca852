"""What a load loses for as long as it stands in its vessel: during its stand, and while it waits there afterwards.

The loss ends when the next work on it begins or when it leaves its place. What waits longer loses more.
"""

from __future__ import annotations

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole


def kept_in_stand(m: Whole, x: Real, place: int, op: int) -> float:
    """The share of a load that is left at the end of its stand."""
    return max(1.0 - x[op + r.O_ULLAGE] * (float(m[r.NOW]) - x[place + r.STOOD]), 0.0)


def shrink(m: Whole, x: Real, piece: int, op: int, lost: float) -> None:
    """An amount becomes less; what is lost counts as scrap of operation ``op``."""
    units = lost * x[m[piece + r.OPERATION] + r.O_TO_GO]
    x[op + r.O_LOST] += units / x[op + r.O_TO_GO]
    route = m[piece + r.ROUTE]
    x[m[route + r.U_ITEM] + r.I_OPEN] -= units
    x[route + r.U_SCRAPPED] += units
    x[piece + r.AMOUNT] -= lost
    if m[piece + r.IN_PLACE] != 0:
        x[m[piece + r.IN_PLACE] + r.AMOUNT] -= lost


def air_out(m: Whole, x: Real, piece: int) -> float:
    """Bring the loss of a piece that waits in its vessel up to the present; how much that was."""
    op, passed = m[piece + r.AIRS], m[r.NOW] - m[piece + r.AIRED]
    if passed == 0:
        return 0.0
    m[piece + r.AIRED] = m[r.NOW]
    lost = x[piece + r.AMOUNT] * min(x[op + r.O_ULLAGE] * float(passed), 1.0)
    shrink(m, x, piece, op, lost)
    return lost


def stop_airing(m: Whole, x: Real, place: int) -> None:
    """Work on what has stood in a place begins: it loses no more."""
    piece, lost = m[place + r.HEAD], 0.0
    while piece != 0:
        if m[piece + r.AIRS] != 0 and m[piece + r.WHERE] == r.TO_DO:
            lost += air_out(m, x, piece)
            m[piece + r.AIRS] = 0
        piece = m[piece + r.P_NEXT]
    part = lost / x[place + r.GROUP] if x[place + r.GROUP] > 0.0 else 0.0
    x[place + r.FRESH] -= x[place + r.FRESH] * part
    x[place + r.GROUP] -= lost
