"""The columns of what a season adds: deliveries by the calendar, and items that are pushed as their parts come."""

from __future__ import annotations

from typing import Final

# --- kinds ----------------------------------------------------------------------------------------------------------
INTAKE: Final = 20
CAMPAIGN: Final = 21
CARE: Final = 22
HELD_LOT: Final = 23

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
"""1: the amounts are what may be made of the item; 2: what had come of it by the delivery that is too old now; 3: there
are none, it is looked what more can come, and N_ITEM is a list of lists: the items that each route gives."""
I_SPOILED: Final = 11
"""x, of an item: units that have spoiled; they count among those used."""
INTAKE_WIDTH: Final = 8

# --- vessels of several sizes ---------------------------------------------------------------------------------------
SIZE: Final = 4
"""x, of a place: how much it holds, in its base unit; 0: it has no size."""
O_PER_SIZE: Final = 12
"""x, of an operation: pieces in one base unit of size; 0: its places have no sizes."""
S_SIZED: Final = 11
"""Of a station: 1: its places have sizes."""

# --- campaign: a route waits until enough of an item is on hand, and runs until it is used up -----------------------
I_CAMPAIGNS: Final = 21
"""Of an item: a list of the campaigns that wait for it."""
U_CAMPAIGN: Final = 13
Q_ITEM: Final = 4
Q_ROUTE: Final = 5
Q_RUNS: Final = 6
Q_COUNT: Final = 7
Q_WAITS: Final = 8
Q_RIVALS: Final = 10
"""A list of the campaigns that begin at the same station."""
Q_PLACES: Final = 11
"""How many of them can run at once: the places of the station."""
Q_DUE: Final = 12
"""Since when it could begin, but for the others; 0: it is not due."""
Q_SHORT: Final = 9
"""1: no campaign, but a route whose lots begin with less than their load once they have waited for their parts."""
Q_LOT: Final = 13
"""The serial number of the lot that waits so."""
CAMPAIGN_WIDTH: Final = 14
Q_STARTS: Final = 0
Q_NEED: Final = 1
"""x: units of the item that one lot of the route takes."""

# --- care: work that comes again and again while a load stands (after the columns of work) --------------------------
O_CARES: Final = 62
"""Of an operation: for each place of the plant the first of its cares; 0: there are none."""
CARE_PLACE: Final = 15
CARE_EVERY: Final = 16
CARE_TIME: Final = 17
CARE_KEY: Final = 18
CARE_KEY_HIGH: Final = 19
CARE_DUE: Final = 20
CARE_LASTS: Final = 21
CARE_NEXT: Final = 22
CARE_ORDINAL: Final = 23
CARE_DONE: Final = 24
CARE_LATE: Final = 25
CARE_MISSED: Final = 26
CARE_WIDTH: Final = 28
CARE_DELAY: Final = 0
"""x: ns by which they were late, all together."""
FOR_CARE: Final = 12
"""The purpose of its random numbers."""

# --- a place that holds what it made until it is drawn off ----------------------------------------------------------
O_HOLDS: Final = 64
"""Of the last operation of a route: 1: the place holds what it made."""
I_HELD: Final = 25
I_LAST_HELD: Final = 26
"""Of an item: the places that hold it, by lots in the order in which they were made (x[AMOUNT] of each)."""
HOLDS: Final = 15
"""Of a place: the lot that it holds; 0: none."""
X_PLACE: Final = 4
X_NEXT: Final = 5

# --- what a load loses for as long as it stands ---------------------------------------------------------------------
O_ULLAGE: Final = 13
"""x, of an operation: share lost for each ns of standing; 0: none."""
STOOD: Final = 5
"""x, of a place: when what is in it began to stand."""
AIRS: Final = 23
"""Of a piece that has stood and waits in its place: the operation whose ullage goes on; 0: none."""
AIRED: Final = 39
"""Of such a piece: up to when its ullage is counted."""

# --- the end of a season --------------------------------------------------------------------------------------------
I_COMES: Final = 27
"""Of an item: 1: more of it may come, as it was seen last."""
