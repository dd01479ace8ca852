"""The columns of what a season adds: deliveries by the calendar, and items that are pushed as their parts come."""

from __future__ import annotations

from typing import Final

# --- kinds ----------------------------------------------------------------------------------------------------------
INTAKE: Final = 20

# --- how an item is let in (beside those of rows_of_plant) ----------------------------------------------------------
BY_PUSH: Final = 8
"""As soon as its parts are there, up to what may be made of it (I_DUE); for demand."""
BY_PUSH_PART: Final = 9
"""The same, for other routes."""

# --- intake: deliveries of one item; their times (m) and amounts (x) follow the row ---------------------------------
N_ITEM: Final = 4
N_DONE: Final = 5
N_COUNT: Final = 6
N_ALLOWS: Final = 7
"""1: the amounts are what may be made of the item, not units of it."""
INTAKE_WIDTH: Final = 8
