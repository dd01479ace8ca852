"""The columns of carriers: a kind of them, one in use or on its way back, and who is on it."""

from __future__ import annotations

from typing import Final

# --- carrier: a kind of them ----------------------------------------------------------------------------------------
Y_FREE: Final = 6
Y_COUNT: Final = 7
Y_SINCE: Final = 8
Y_HOLDS: Final = 9
Y_OPEN: Final = 10
"""The one in use on which there is room left; 0: none."""
Y_WAY: Final = 11
Y_KEY: Final = 12
Y_KEY_HIGH: Final = 13
Y_ORDINAL: Final = 14
Y_BETWEEN: Final = 15
"""The row of the time in use between losses; 0: none is ever lost."""
Y_REPAIR: Final = 16
Y_TO_GO: Final = 17
Y_DRAWN: Final = 18
Y_STATIONS: Final = 19
"""A list: stations where a visit begins with getting on."""
Y_WANTED: Final = 20
"""1: somebody wants more than are free."""
Y_USES: Final = 21
Y_BACK: Final = 22
Y_LOST: Final = 23
"""On the way back; away to be mended."""
Y_LOSSES: Final = 24
CARRIER_WIDTH: Final = 26
Y_TIME: Final = 0
Y_BACK_TIME: Final = 1
Y_LOST_TIME: Final = 2
Y_WANTED_TIME: Final = 3

# --- carried: one carrier in use, or on its way back ----------------------------------------------------------------
B_KIND: Final = 4
B_ON: Final = 5
"""How many are on it."""
B_ROOM: Final = 6
B_SINCE: Final = 7
B_PHASE: Final = 8
"""0: in use; 1: on its way back; 2: to be mended first."""

# --- ride: who is on a carrier; a chain ---------------------------------------------------------------------------
D_CARRIED: Final = 4
D_NEXT: Final = 5
D_FROM: Final = 6
"""The operation that put it on."""
