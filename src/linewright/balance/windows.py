"""Where could each task stand at all? The first and last station of each task by the bounds of the plain line.

They hold for a line with rules too, as long as a station has one person and one copy.
"""

from __future__ import annotations

import numpy as np

from linewright.balance.line import Line
from linewright.balance.prepare import Plain, prepare


def windows_of(line: Line, stations: int, room: int) -> list[tuple[int, int]] | None:
    """First and last station (from 0) of each task; None where nothing is known, or ``stations`` are proved too few.

    >>> from linewright.balance.line import make_line
    >>> windows_of(make_line({"cut": 4, "bend": 3, "weld": 5}, {"bend": ["cut"], "weld": ["bend"]}), 3, 5)
    [(0, 0), (1, 1), (2, 2)]
    """
    if line.rules.people > 1 or line.rules.parallel > 1 or room < int(line.times.max(initial=0)):
        return None
    plain = Plain.of(line)
    ready = None if len(plain.times) == 0 else prepare(plain, room, stations)
    if ready is None:
        return None
    first, last = np.zeros(line.n, np.int64), np.full(line.n, stations - 1, np.int64)
    first[plain.kept] = stations - 1 - ready.back.latest
    last[plain.kept] = np.minimum(ready.front.latest, stations - 1)
    return [(int(a), int(b)) for a, b in zip(np.maximum(first, 0), last, strict=True)]
