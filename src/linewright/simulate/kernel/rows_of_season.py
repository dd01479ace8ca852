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
"""1: the amounts are what may be made of the item; 2: what had come of it by the delivery that is too old now."""
I_SPOILED: Final = 10
"""x, of an item: units that have spoiled; they count among those used."""
INTAKE_WIDTH: Final = 8

# --- vessels of several sizes ---------------------------------------------------------------------------------------
SIZE: Final = 4
"""x, of a place: how much it holds, in its base unit; 0: it has no size."""
O_PER_SIZE: Final = 12
"""x, of an operation: pieces in one base unit of size; 0: its places have no sizes."""
S_SIZED: Final = 11
"""Of a station: 1: its places have sizes."""
