"""The columns of windows: as the plan has them, and one that is running for a piece."""

from __future__ import annotations

from typing import Final

# --- window, as the plan has it ---------------------------------------------------------------------------------------
X_AFTER: Final = 0
X_OP: Final = 1
X_LEAST: Final = 2
X_MOST: Final = 3
"""0: never closes."""
X_CHECK: Final = 4
"""A check that counts reworks and whose reaction to a false alarm is what happens."""
X_CLOSED: Final = 5
WINDOW_WIDTH: Final = 6

# --- running window of a piece ----------------------------------------------------------------------------------------
J_WINDOW: Final = 4
J_PIECE: Final = 5
"""0: it has ended and only waits for its event."""
J_NEXT: Final = 6
J_OPENS: Final = 7
J_CLOSES: Final = 8
J_CLOSED: Final = 9
"""1: it has closed while the piece was at work."""
