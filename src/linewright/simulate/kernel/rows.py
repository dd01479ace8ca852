"""Where every number of the engine's memory lives: the columns of each kind of row.

The memory is two flat arrays of one length, ``m`` of whole numbers and ``x`` of real ones. Everything that exists (an
operation, a place, a piece) is a *row*: a stretch of both arrays that starts at a base, and the base is its name. So
``m[piece + OPERATION]`` is the operation a piece is at. Base 0 means "nothing"; the header lives there.
"""

from __future__ import annotations

from typing import Final

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
STAMP: Final = 21
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
HEADER: Final = 48

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

# priorities of events at the same time
FINISHES: Final = 0
CHANGES: Final = 1
BREAKS: Final = 2
RELEASES: Final = 3

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

# --- hold: people of one crew at one work -------------------------------------------------------------------------
H_WORK: Final = 4
H_CREW: Final = 5
H_UNITS: Final = 6
H_NEXT: Final = 7
H_BEFORE: Final = 8
H_CHAIN: Final = 9

# --- lot: units of an item on hand that carry the same faults (x[AMOUNT] of them) -----------------------------------
T_FAULTS: Final = 4
T_NEXT: Final = 5

# --- rotor: in still mode, the turn of one branch in one state (x[0]) -------------------------------------------
R_STATE: Final = 4
R_FAULTS: Final = 5
R_PURPOSE: Final = 6
R_BRANCH: Final = 7
R_NEXT: Final = 8

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

# --- visit ----------------------------------------------------------------------------------------------------------
V_FIRST: Final = 4
V_LAST: Final = 5
V_AHEAD_FIRST: Final = 6
V_AHEAD_LAST: Final = 7
V_FILLING: Final = 8
"""The place that is being filled; 0: none."""
V_STATIONS: Final = 9
V_WAITING: Final = 10
VISIT_WIDTH: Final = 12

# --- operation ------------------------------------------------------------------------------------------------------
O_ROUTE: Final = 4
O_POSITION: Final = 5
O_VISIT: Final = 6
O_NEXT: Final = 7
O_ENDS: Final = 8
"""1: the visit ends here."""
O_TIME: Final = 9
O_STAND: Final = 10
O_SETUP: Final = 11
O_CLEAN: Final = 12
O_START: Final = 13
"""Rows of the random times."""
O_EACH: Final = 14
O_HANDS_ALL: Final = 15
O_HANDS_START: Final = 16
O_HANDS_END: Final = 17
O_CREWS: Final = 18
O_TOOLS: Final = 19
O_TAKES: Final = 20
O_TAKES_LOAD: Final = 21
O_GIVES: Final = 22
O_CHOICES: Final = 23
O_FAULTS: Final = 24
O_PER_LOAD: Final = 25
O_CHECK: Final = 26
O_STOP: Final = 27
O_THEN: Final = 28
"""A store's row, 0 for an unlimited shelf, -1 for direct hand-over."""
O_WAITS: Final = 29
O_SETUP_WHEN: Final = 30
O_SETUP_CREWS: Final = 31
O_SETUP_TAKES: Final = 32
O_SETUP_PLACES: Final = 33
O_CLEAN_WHEN: Final = 34
O_CLEAN_CREWS: Final = 35
O_CLEAN_TAKES: Final = 36
O_CLEAN_PLACES: Final = 37
O_START_WHEN: Final = 38
O_SHIFTS: Final = 39
"""The calendar that tells shifts."""
O_KEY: Final = 40
O_KEY_HIGH: Final = 41
O_STARTS: Final = 42
O_DONE: Final = 43
O_ANY: Final = 44
"""1: takes whatever amount a piece has, time in proportion."""
O_SPLITS: Final = 45
"""1: pieces_out is not one and pieces are counted."""
O_COUNTED: Final = 46
O_GATHERED: Final = 47
"""Faults of the pieces gathered so far."""
O_SCRAPPED: Final = 48
O_REWORKS: Final = 49
O_INDEX: Final = 50
O_CHECKED: Final = 51
O_CLOSES: Final = 52
"""1: when this begins nobody may join any more."""
O_LOADS: Final = 53
O_START_PLACES: Final = 54
"""For setup, cleaning and start: one number for each place of the plant."""
O_ITEM: Final = 55
O_CHANGEOVERS: Final = 56
"""A list of (operation before, time)."""
O_ROTORS: Final = 57
O_WIDTH: Final = 58
O_LEAST: Final = 0
O_MOST: Final = 1
O_OUT: Final = 2
O_SURVIVES: Final = 3
O_TO_GO: Final = 4
"""Units of the route's item that one piece entering here becomes."""
O_ROOM: Final = 5
"""Pieces that a place takes when a visit begins here; 0: one piece, of any amount."""
O_GATHER: Final = 6
O_SETUP_EVERY: Final = 7
O_CLEAN_EVERY: Final = 8
O_SPOILS: Final = 9
O_RUNS: Final = 10
O_LOST: Final = 11

# when (setup, clean, start), as in the network
EVERY: Final = 1
ITEM_CHANGES: Final = 2
CLEAN_LOAD: Final = 1
CLEAN_SHIFT: Final = 2
CLEAN_DAY: Final = 3
CLEAN_EVERY: Final = 4
START_STOP: Final = 1
START_SHIFT: Final = 2

# --- random time ----------------------------------------------------------------------------------------------------
T_SHAPE: Final = 0
T_FIXED: Final = 1
TIME_WIDTH: Final = 4

# --- check ----------------------------------------------------------------------------------------------------------
C_FAULTS: Final = 0
"""Number of faults looked for; their rows follow the check's."""
C_OTHER: Final = 1
C_ONE_IN: Final = 2
C_COUNT: Final = 3
C_COUNTER: Final = 4
C_FALSE: Final = 0
CHECK_WIDTH: Final = 6
F_BIT: Final = 0
F_REJECT: Final = 1
F_FINDS: Final = 0
FAULT_WIDTH: Final = 2
R_FATE: Final = 0
R_TO: Final = 1
R_MOST: Final = 2
R_ITEM: Final = 3
R_AGAIN: Final = 4
R_ELSE: Final = 5
R_CLEARS: Final = 6
R_GRAVITY: Final = 7
REJECT_WIDTH: Final = 8
SCRAP: Final = 0
REWORK: Final = 1
SECONDS: Final = 2

# --- crew -----------------------------------------------------------------------------------------------------------
C_LEVEL: Final = 6
C_USED: Final = 7
C_SINCE: Final = 8
C_HOLDS: Final = 9
C_LAST_HOLD: Final = 10
C_GATHERS: Final = 11
C_CALENDAR: Final = 12
CREW_WIDTH: Final = 14
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
ITEM_WIDTH: Final = 20
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
I_TRACED: Final = 14
"""1: units on hand remember the faults that they carry."""
BY_STOCK: Final = 0
BY_TAKT: Final = 1
BY_OPEN: Final = 2
BY_PULL: Final = 3

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
RELEASE_WIDTH: Final = 10
E_TAKT: Final = 0
E_UNITS: Final = 1

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
