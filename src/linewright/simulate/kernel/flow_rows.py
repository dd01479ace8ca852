"""Where the numbers of flows live: runners (a place at a rate), bounds (a store empty or full), buffers, watches.

A *runner* is one place of an operation that flows. A *bound* has a slack that may not fall below zero: what is on hand,
the room that is left, what is still wanted. The matrix says how fast every runner changes every slack, per piece.
"""

from __future__ import annotations

from typing import Final

FLOWING: Final = 14
"""The kind of the one row of all flows; its event is the next change of any rate."""

# --- the row of all flows ---------------------------------------------------------------------------------------
F_RUNNERS: Final = 4
F_N: Final = 5
F_BOUNDS: Final = 6
F_N_BOUNDS: Final = 7
F_BUFFERS: Final = 8
F_WATCHES: Final = 9
"""Lists of rows."""
F_ACTS: Final = 12
"""Number of activities: runners first, then the options of their choices."""
F_SINCE: Final = 13
"""Up to when the levels have been carried."""
F_MATRIX: Final = 14
"""x: change of slack [bound, column] per piece: mains, outputs, options."""
F_PRESENT: Final = 15
"""x: the same of the activities as they are now [bound, activity]; m: 1 where the bound limits the activity."""
F_RATES: Final = 16
"""x: pieces a ns of each activity, m: the bound that governs it plus one."""
F_CAPS: Final = 17
"""x: the most of each activity."""
F_ACTIVE: Final = 18
"""m: the bounds that hold, in the order of the unknowns; x: their unknowns."""
F_SYSTEM: Final = 19
"""x: the linear system."""
F_DIRTY: Final = 20
"""1: the rates are to be solved anew; WHEN_IT_COMES: at the next event of the flows."""
F_DRAWS: Final = 21
"""x: pieces a ns of each option, m: 1 where the runner rests on it."""
F_STALE: Final = 22
"""1: the matrix of the present is to be laid out anew."""
F_ENTRIES: Final = 23
"""m: of each bound, how many entries of its row are not zero, and which."""
F_WATCHED: Final = 24
"""A list of cells where what is not a flow can change what flows do, and where their last seen values are."""
F_MOVABLE: Final = 25
F_MOVING: Final = 26
"""Lists of the levels that flows can change, and that move now."""
F_BOOKED: Final = 27
"""Up to when the runners have been booked."""
F_COLUMNS: Final = 29
"""Columns of the matrix."""
F_LOOK: Final = 28
"""1: something has happened that flows must look at."""
FLOWS_WIDTH: Final = 32

# --- a level that flows change: x has how fast ------------------------------------------------------------------
G_CELL: Final = 0
G_SEEN: Final = 1
"""The cell that keeps its last seen value."""
G_AREA: Final = 2
G_SINCE: Final = 3
"""Cells of the area under it and of the time up to which that is booked; 0: none is kept."""
G_MOST: Final = 4
G_BOUND: Final = 5
"""The row whose change it follows; in the list of the movable x has the sign."""
MOVING_WIDTH: Final = 6
WHEN_IT_COMES: Final = 2

# --- runner ---------------------------------------------------------------------------------------------------------
N_PLACE: Final = 4
N_OP: Final = 5
N_ROUTE: Final = 6
N_ITEM: Final = 7
N_IN: Final = 8
N_OUT: Final = 9
"""Buffers before and behind; 0: it begins or ends its route."""
N_FIRST: Final = 10
N_STARTS: Final = 11
N_STARTS_AT: Final = 12
"""How often it was started at one instant, and at which."""
N_MODE: Final = 13
N_SERIAL: Final = 14
"""The lot number of the run at hand, in the trace."""
N_CHOICES: Final = 15
N_OPTION: Final = 16
"""The first of its options among the activities."""
N_SHORT_OF: Final = 17
"""The state it is in for the part of its speed that it cannot use."""
N_SPOILS: Final = 18
N_BELT: Final = 19
"""What dwells in it; 0: nothing does."""
N_LEAVES: Final = 20
"""Where something dwells, the activity of what leaves."""
RUNNER_WIDTH: Final = 24
N_CAP: Final = 0
N_RATE: Final = 1
N_LOST: Final = 2
"""x: ns of its speed that it could not use, not yet booked."""
N_TOLD: Final = 3
"""x: the rate that the trace was told last."""
N_LEAVING: Final = 4
"""x: pieces a ns that leave; the rate is of those that come in."""
N_SPEED: Final = 5
"""x: of the belt, as part of full."""
N_CONTENT: Final = 6
"""x: pieces on it."""
N_FRONT: Final = 7
"""x: how full it ends, as the rates were solved for."""

OFF: Final = 0
ON: Final = 1
READY: Final = 2
"""Modes: cannot run, runs, could run."""

# --- belt: what dwells in a runner; stretches (length in ns, how full) follow, in a ring ----------------------------
E_FIRST: Final = 4
E_COUNT: Final = 5
E_SIZE: Final = 6
E_LENGTH: Final = 0
"""x: ns from one end to the other."""
BELT_WIDTH: Final = 8

# --- bound ----------------------------------------------------------------------------------------------------------
B_KIND: Final = 4
B_OF: Final = 5
B_HOLDS: Final = 6
"""1: the slack is used up."""
BOUND_WIDTH: Final = 8
B_NET: Final = 0
"""x: change of slack a ns."""
B_GROSS: Final = 1
"""x: the most that its slack could change a ns, one way."""
B_BAND: Final = 2
"""x: slack up to which a bound that was left too early keeps holding."""
B_SLACK: Final = 3
B_PART: Final = 4
"""x: while parts are brought down one after the other, its part."""

ON_HAND: Final = 0
IN_BUFFER: Final = 1
ROOM: Final = 2
WANTED: Final = 3
DIRECTLY: Final = 4
OPEN_UNITS: Final = 5
FINISHED_UNITS: Final = 6
"""Kinds: units of an item, pieces between two operations, room in a store, what is still to be let in, no room at all;
and two that bound nobody but move: units of an item that are open, and finished for demand.
"""
ALLOWED: Final = 7
"""And what a season may still make of an item."""

# --- buffer: pieces between two operations of a route, at least one of which flows --------------------------------
U_OP: Final = 4
"""The operation that they are at next."""
U_STORE: Final = 5
U_LOADS: Final = 6
"""1: a load or a lot takes them from here."""
U_QUEUE: Final = 7
"""The visit whose queue is emptied into it; 0: a flow fills it."""
U_SINCE: Final = 8
U_DIRECT: Final = 9
BUFFER_WIDTH: Final = 12
U_LEVEL: Final = 0
U_LOT: Final = 1

# --- watch: somebody who is not a flow waits for a level that flows change ------------------------------------------
W_OF: Final = 4
W_NEEDS: Final = 0
"""x: the level that is waited for; below zero: none."""
W_RATE: Final = 1
"""x: change of the level a ns."""
W_WANTED: Final = 2
"""x: of an item that is let in piece by piece, change of what is wanted a ns."""
W_BOUND: Final = 5
"""The row of its slack among the bounds."""
WATCH_WIDTH: Final = 8
