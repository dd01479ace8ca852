"""Money that adds up: parts rounded so that their sum is the rounded total."""

from __future__ import annotations

import math
from collections.abc import Sequence


def digits_for(total: float) -> int:
    """Decimal places in which a cost is told: two, or more where one unit is so cheap that four figures need them.

    >>> digits_for(1234.5), digits_for(0.0361)
    (2, 5)
    """
    if total == 0 or not math.isfinite(total):
        return 2
    return min(9, max(2, 3 - math.floor(math.log10(abs(total)))))


def round_to_sum(parts: Sequence[float], digits: int = 2) -> list[float]:
    """Parts rounded to ``digits`` places so that they add up to the rounded sum: those cut most are rounded up.

    Each part moves by less than one unit of the last place (largest remainder method). Parts are finite.

    >>> round_to_sum([0.333, 0.333, 0.334])
    [0.33, 0.33, 0.34]
    """
    scale = 10**digits
    whole = [math.floor(part * scale) for part in parts]
    missing = round(math.fsum(parts) * scale) - sum(whole)
    order = sorted(range(len(parts)), key=lambda k: whole[k] - parts[k] * scale)
    for k in order[: max(0, missing)]:
        whole[k] += 1
    return [w / scale for w in whole]
