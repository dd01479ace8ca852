"""The columns of what comes and goes: work at places, pieces, people at work, lots of parts, rotors."""

from __future__ import annotations

from typing import Final

# --- work: what a place does, or a repair (rows PLACE and STOPPAGE share these) ---------------------------------
CREW_LIST: Final = 4
LEFT: Final = 5
SINCE: Final = 6
STATUS: Final = 7
ASKED: Final = 8
"""The order of asking; 0: has not asked."""
WAITS_AT: Final = 9
NEXT: Final = 10
BEFORE: Final = 11
HELD: Final = 12
"""First of the holds: people this work has."""
STOP: Final = 13
CYCLE: Final = 14
"""Of a place: which cycle of its operation this is, the key of its luck."""

IDLE: Final = 0
WAITING: Final = 1
RUNNING: Final = 2
FROZEN: Final = 3
"""Stopped by a stoppage, with its crew."""

ANYWHERE: Final = 0
FINISH: Final = 1
FITS: Final = 2

# --- place ----------------------------------------------------------------------------------------------------------
GATHERED: Final = 4
"""The last piece that was counted into the load that is being filled; 0: all are to be counted anew."""
AT: Final = 16
"""The station."""
VISIT: Final = 17
HEAD: Final = 18
TAIL: Final = 19
COUNT: Final = 20
OPEN: Final = 21
"""More pieces may still join."""
STAGE: Final = 22
"""The operation at hand."""
PHASE: Final = 23
DOWN: Final = 24
STATE: Final = 25
STATE_SINCE: Final = 26
ACCOUNT: Final = 27
LAST_OP: Final = 28
DIRTY: Final = 29
"""The operation whose cleaning is due; 0: clean."""
WAIT_FROM: Final = 30
STOPS: Final = 31
N_STOPS: Final = 32
INDEX: Final = 33
MACHINE: Final = 34
HANDS_END: Final = 35
TOOLS_HELD: Final = 36
RESTART: Final = 37
"""A stoppage happened since the last start."""
BEGUN: Final = 38
"""0: nothing drawn yet; 1: the time is drawn; 2: the work has begun and only waits to go on."""
TIMER: Final = 39
WIDTH: Final = 40
"""Columns of every row that is made while the engine runs."""
AMOUNT: Final = 0
"""x: how much is in the place, of a piece how much it is."""
DUE_SCRAP: Final = 1
"""x: pieces that the start-up still spoils."""
GROUP: Final = 2
"""x: pieces in the cycle at hand."""
FRESH: Final = 3
"""x: those of them that take parts."""
GATHERED_FOR: Final = 5
"""x: the operation for which pieces are gathered."""

# phases
NOTHING: Final = 0
HANDS: Final = 1
ALONE: Final = 2
UNLOADING: Final = 3
STANDING: Final = 4
SETTING: Final = 5
CLEANING: Final = 6
STARTING: Final = 7

# states of a place, in the order of the accounts
WORKING: Final = 0
STANDS: Final = 1
SETTING_UP: Final = 2
BLOCKED: Final = 3
SHORT: Final = 4
NO_CREW: Final = 5
IS_DOWN: Final = 6
UNMANNED: Final = 7
NO_TOOL: Final = 8
N_STATES: Final = 9

# --- piece ----------------------------------------------------------------------------------------------------------
ROUTE: Final = 4
OPERATION: Final = 5
FAULTS: Final = 6
BORN: Final = 7
ENTERED: Final = 8
IN_PLACE: Final = 9
IN_STORE: Final = 10
P_NEXT: Final = 11
P_BEFORE: Final = 12
Q_NEXT: Final = 13
Q_BEFORE: Final = 14
WHERE: Final = 15
TURN: Final = 16
REACH: Final = 17
"""Position in the route up to which the piece repeats operations; -1: it repeats none."""
SERIAL: Final = 18
ORDERED: Final = 19
"""Made for demand, not for another route."""
REWORKED: Final = 20
LOW: Final = 21
HIGH: Final = 22
"""While it repeats operations it takes parts from position LOW to HIGH only."""
COUNTS: Final = 24
"""Eight columns of seven counters: reworks done, for each check of the route."""
LUCK: Final = 32
LUCK_INDEX: Final = 33
"""While it waits with its by-products: the keys of its luck."""
SENT_BACK: Final = 36
"""1: it has been reworked, so every check looks at it."""
BEGINS: Final = 35
"""1: nothing has been done to it yet, so it is nothing but the parts that it will take."""
RIDES: Final = 37
"""First of its rides on carriers."""
WINDOWS: Final = 38
"""First of its running windows."""
WANTS: Final = 34
"""The store in which it waits for room."""

TO_DO: Final = 0
IN_WORK: Final = 1
LEAVES: Final = 2
"""Done here, waits in its place for room further on."""
QUEUES: Final = 3
EXITS: Final = 4
"""Done altogether, waits in its place for room in the store of its item."""
GIVES: Final = 5
"""Worked on, waits in its place for room for its by-products."""
RESTS: Final = 6
"""In its place, may not be worked on before its window opens."""
HELD_BACK: Final = 7
"""Out of its place, waits for the next sample of the check that it has passed unseen."""

# --- hold: people of one crew at one work -------------------------------------------------------------------------
H_WORK: Final = 4
H_CREW: Final = 5
H_UNITS: Final = 6
H_NEXT: Final = 7
H_BEFORE: Final = 8
H_CHAIN: Final = 9

# --- lot: units of an item on hand that carry the same faults, or ride (x[AMOUNT] of them) ------------------------
T_FAULTS: Final = 4
T_NEXT: Final = 5
T_RIDES: Final = 6

# --- age: units of an item that goes off, on hand since the same time (x[AMOUNT] of them) ---------------------------
A_BORN: Final = 4
A_NEXT: Final = 5

# --- rotor: in still mode, the turn of one branch in one state (x[0]) -------------------------------------------
R_STATE: Final = 4
R_FAULTS: Final = 5
R_PURPOSE: Final = 6
R_BRANCH: Final = 7
R_NEXT: Final = 8
