"""The columns of how the product is made: visits, operations, random times, checks."""

from __future__ import annotations

from typing import Final

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
O_JOINS: Final = 58
"""Kinds of carriers that pieces get on when this starts; 0: none."""
O_LEAVES: Final = 59
O_RIDES: Final = 60
"""Rides of the pieces gathered so far."""
O_MIXES: Final = 61
"""The operation that stands for all whose pieces may share a load with this one's; 0: only its own."""
O_OPENS: Final = 63
"""Windows that start when this ends; 0: none."""
O_WIDTH: Final = 65
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
C_HOLDS_BACK: Final = 5
"""1: pieces that are not looked at wait until the next sample is good; a bad one has them all looked at."""
C_HELD_FIRST: Final = 6
C_HELD_LAST: Final = 7
CHECK_WIDTH: Final = 8
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
