"""The columns of what is there from the start: stations, crews, items, routes, stores, tools, calendars, demand."""

from __future__ import annotations

from typing import Final

# --- station --------------------------------------------------------------------------------------------------------
S_PLACES: Final = 4
S_COUNT: Final = 5
S_EMPTY: Final = 6
S_VISITS: Final = 7
S_OPEN: Final = 8
S_ATTENDED: Final = 9
S_BENCH: Final = 10
STATION_WIDTH: Final = 16

# --- the search for rings: columns that stations and stores have in common ----------------------------------------
N_MARK: Final = 12
N_PIECE: Final = 13
"""The piece that leads here from ..."""
N_FROM: Final = 14
"""... this station or store."""
N_NEXT: Final = 15

# --- crew -----------------------------------------------------------------------------------------------------------
C_LEVEL: Final = 6
C_USED: Final = 7
C_SINCE: Final = 8
C_HOLDS: Final = 9
C_LAST_HOLD: Final = 10
C_GATHERS: Final = 11
C_CALENDAR: Final = 12
CREW_WIDTH: Final = 18
C_TIME: Final = 0
PERSON: Final = 27720
"""One person, in the units that crews are counted in: divides by every number up to 12."""

# --- item -----------------------------------------------------------------------------------------------------------
I_MADE: Final = 6
I_ROUTES: Final = 7
I_STORE: Final = 8
I_ENDLESS: Final = 9
I_MODE: Final = 10
I_SINCE: Final = 11
I_RELEASED: Final = 12
I_LEADERS: Final = 13
"""Items whose waiting works look at this one too: they may choose."""
I_FIRST_LOT: Final = 15
I_LAST_LOT: Final = 16
I_OPENERS: Final = 17
"""Stations where new pieces wait outside until units of this item are on hand."""
I_RUN: Final = 18
"""The route whose lot is being let in; 0: none."""
I_FAMILY: Final = 19
"""The family of a demanded variant, over a season of any variant that is made: how many, their items and shares, x the
open pieces kept; 0: it has none."""
I_MATES: Final = 20
"""The set that this item is taken in with others; 0: none."""
I_KEEPS: Final = 22
"""ns that units stay good on hand; 0: for ever."""
I_OLDEST: Final = 23
I_NEWEST: Final = 24
"""The ages of what is on hand."""
ITEM_WIDTH: Final = 28
I_POOL: Final = 0
I_POSITION: Final = 1
I_TARGET: Final = 2
I_DUE: Final = 3
I_FINISHED: Final = 4
I_MADE_UNITS: Final = 5
I_USED: Final = 6
I_TIME: Final = 7
I_RATE: Final = 8
I_OPEN: Final = 9
I_TO_RUN: Final = 10
"""x: units of that lot still to be let in."""
I_TRACED: Final = 14
"""1: units on hand remember the faults that they carry."""
BY_STOCK: Final = 0
BY_TAKT: Final = 1
BY_OPEN: Final = 2
BY_PULL: Final = 3

# --- set: variants of an item that are taken together, as a left and a right are ------------------------------------
M_SINCE: Final = 1
M_ITEMS: Final = 2
"""First of its items; x has how many of each make one."""
M_TIME: Final = 0
"""x: units without a mate, over time."""
M_ORPHANS: Final = 1

# --- route ----------------------------------------------------------------------------------------------------------
U_FIRST: Final = 4
U_ITEM: Final = 5
U_STARTED: Final = 6
U_COUNTED: Final = 7
U_INDEX: Final = 8
U_OPEN: Final = 9
U_SINCE: Final = 10
U_AREA: Final = 11
U_DIED: Final = 12
"""Sum of residence of the pieces that have gone, modulo 2**64."""
ROUTE_WIDTH: Final = 16
U_LOT: Final = 0
U_SHARE: Final = 1
U_RELEASED: Final = 2
U_FINISHED: Final = 3
U_SCRAPPED: Final = 4
U_SECONDS: Final = 5
U_WIP: Final = 6
U_RUN: Final = 7
"""x: units that are let in one after another; 0: one by one."""

# --- store ----------------------------------------------------------------------------------------------------------
W_SINCE: Final = 6
STORE_WIDTH: Final = 16
W_LEVEL: Final = 0
W_ROOM: Final = 1
W_TIME: Final = 2
W_MOST: Final = 3

# --- tool -----------------------------------------------------------------------------------------------------------
G_FREE: Final = 6
G_COUNT: Final = 7
G_SINCE: Final = 8
TOOL_WIDTH: Final = 10
G_TIME: Final = 0

# --- calendar -------------------------------------------------------------------------------------------------------
K_STEPS: Final = 4
"""Number of steps; their rows (time in the week, level) follow the calendar's."""
K_STEP: Final = 5
K_WEEK: Final = 6
"""Start of the present week."""
K_USERS: Final = 7
K_LONGEST: Final = 8
CALENDAR_WIDTH: Final = 10
STEP_WIDTH: Final = 4
K_AT: Final = 0
K_LEVEL: Final = 1
K_SHIFT: Final = 2
"""How many shifts have begun in the week up to here."""

# --- stoppage (after the columns of work) ---------------------------------------------------------------------------
Z_PLACE: Final = 15
Z_BETWEEN: Final = 16
Z_REPAIR: Final = 17
Z_TO_GO: Final = 18
Z_CALENDAR: Final = 19
Z_KEY: Final = 20
Z_KEY_HIGH: Final = 21
Z_ORDINAL: Final = 22
Z_BROKEN: Final = 23
STOPPAGE_WIDTH: Final = 24

# --- release -------------------------------------------------------------------------------------------------------
E_ITEM: Final = 4
E_CALENDAR: Final = 5
E_ORDINAL: Final = 6
E_WEEK_OPEN: Final = 7
E_DELAY: Final = 8
"""Weeks before the first demand, in which parts are made ahead."""
E_FAMILY: Final = 9
"""The family whose next variant is demanded; 0: the one item."""
RELEASE_WIDTH: Final = 10
E_TAKT: Final = 0
E_UNITS: Final = 1
