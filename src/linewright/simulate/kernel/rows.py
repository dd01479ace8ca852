"""Where every number of the engine's memory lives: the columns of each kind of row.

The memory is two flat arrays of one length, ``m`` of whole numbers and ``x`` of real ones. Everything that exists (an
operation, a place, a piece) is a *row*: a stretch of both arrays that starts at a base, and the base is its name. So
``m[piece + OPERATION]`` is the operation a piece is at. Base 0 means "nothing"; the header lives there. Here are the
header, what all rows have in common and the log; the kinds of row are in the ``rows_of_`` modules, and all in one here.
"""

from __future__ import annotations

from typing import Final

from linewright.simulate.kernel.rows_of_carriers import *
from linewright.simulate.kernel.rows_of_lending import *
from linewright.simulate.kernel.rows_of_operations import *
from linewright.simulate.kernel.rows_of_plant import *
from linewright.simulate.kernel.rows_of_season import *
from linewright.simulate.kernel.rows_of_windows import *
from linewright.simulate.kernel.rows_of_work import *

# --- header: the state of the whole run, m[NOW] and so on -------------------------------------------------------
NOW: Final = 1
COUNTER: Final = 2
"""Counts scheduled events: the last tie-break."""
ORDER: Final = 3
"""Counts arrivals and askings: first come, first served."""
FREE_ROW: Final = 4
NEXT_ROW: Final = 5
END: Final = 6
HEAP_SIZE: Final = 7
OPEN_TOP: Final = 8
"""1: the earliest event has been taken and nothing put in its place on the heap yet."""
AGENDA_FIRST: Final = 9
AGENDA_LAST: Final = 10
LOG_SIZE: Final = 11
LOG_ROOM: Final = 12
TRACING: Final = 13
SEED: Final = 14
REPLICATION: Final = 15
EVENTS: Final = 16
PIECES: Final = 17
"""Pieces open in the plant."""
SERIAL_COUNT: Final = 18
"""Counts pieces: their serial numbers."""
STILL: Final = 19
"""1: no luck, every branch is a rotor and every time its mean."""
SAME_TIME: Final = 20
"""Work done without the clock moving."""
MARGIN: Final = 22
"""Rows that one step may need."""
COMPLETIONS: Final = 23
RING_SEARCH: Final = 24
"""Counts searches for rings: the mark of the present one."""
RINGS: Final = 25
"""0: no ring of finite places and stores; 1: there may be; 2: a piece has begun to wait in its place, look for one."""
ROUTES: Final = 26
OPERATIONS: Final = 28
STATIONS: Final = 30
CREWS: Final = 32
ITEMS: Final = 34
STORES: Final = 36
TOOLS: Final = 38
"""First row and number of rows of a table, for each of the eight."""
ROWS_LEFT: Final = 40
LOG_SAFE: Final = 44
"""Records in the log up to which any step has room."""
VISITS: Final = 42
EVENT_ROWS: Final = 41
"""A list: the rows that have events from the start, which are stoppages, calendars and demands."""
FLOWS: Final = 45
"""The row of all flows; 0: nothing flows."""
CARRIERS: Final = 48
"""First row and number of rows of the table of carriers."""
RIDES_TAKEN: Final = 50
"""The rides of the units just taken from those on hand."""
WINDOWED: Final = 51
"""1: the plan has windows."""
HEADER: Final = 56

# --- what enter() answers -----------------------------------------------------------------------------------------
DONE: Final = 0
MORE: Final = 1
"""The budget of events is used up: call again."""
FULL_ROWS: Final = 2
FULL_LOG: Final = 3
NO_TIME: Final = 4
"""Endless work at one instant."""

# --- every row ----------------------------------------------------------------------------------------------------
KIND: Final = 0
AGENDA: Final = 1
QUEUED: Final = 2
HEAP: Final = 3
"""Position in the heap plus one; 0: no event."""
FIRST: Final = 4
LAST: Final = 5
"""The list of those who wait for this (crews, items, tools, stores)."""

# kinds
PLACE: Final = 1
STOPPAGE: Final = 2
STATION: Final = 3
CREW: Final = 4
ITEM: Final = 5
TOOL: Final = 6
STORE: Final = 7
CALENDAR: Final = 8
RELEASE: Final = 9
PIECE: Final = 10
HOLD: Final = 11
LOT: Final = 12
ROTOR: Final = 13
CARRIER: Final = 15
CARRIED: Final = 16
RIDE: Final = 17
WINDOW: Final = 18
AGE: Final = 19

# priorities of events at the same time
FINISHES: Final = 0
CHANGES: Final = 1
BREAKS: Final = 2
RELEASES: Final = 3

# --- log: one record is eight whole numbers -----------------------------------------------------------------------
L_TIME: Final = 0
L_EVENT: Final = 1
L_SERIAL: Final = 2
L_OPERATION: Final = 3
L_PLACE: Final = 4
L_A: Final = 5
L_B: Final = 6
L_C: Final = 7
LOG_WIDTH: Final = 8

# purposes of random numbers
FOR_TIME: Final = 0
FOR_STAND: Final = 1
FOR_SETUP: Final = 2
FOR_CLEAN: Final = 3
FOR_START: Final = 4
FOR_SURVIVAL: Final = 5
FOR_FAULT: Final = 6
FOR_FINDING: Final = 7
FOR_FALSE: Final = 8
FOR_BETWEEN: Final = 9
FOR_REPAIR: Final = 10
FOR_SAMPLING: Final = 11
