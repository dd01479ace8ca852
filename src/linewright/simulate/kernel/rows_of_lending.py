"""The columns of people who stand in for others: who lends whom to whom, and the team that a work would take."""

from __future__ import annotations

from typing import Final

# --- header ---------------------------------------------------------------------------------------------------------
LENDS: Final = 52
"""First row and number of rows of the table of lends; none: everybody does the work of his own crew alone."""
TEAM: Final = 54
"""The row in which the team of the work at hand is put together."""

# --- crew (after its own columns) -----------------------------------------------------------------------------------
C_LENDERS: Final = 14
"""A list: the lends that help this crew, in the order in which they are asked; 0: none."""
C_BORROWERS: Final = 15
"""A list: the crews that this one helps; 0: none."""
C_FREED: Final = 16
"""1: people have come free who are to look for work of their own before they are lent."""

# --- lend: people of one crew at another's work ---------------------------------------------------------------------
LEND_FROM: Final = 4
LEND_MOST: Final = 5
LEND_USED: Final = 6
LEND_SINCE: Final = 7
LEND_WIDTH: Final = 8
LEND_SLOWER: Final = 0
"""x: how many times as long they take."""
LEND_TIME: Final = 1
"""x: person-nanoseconds lent."""

# --- team: how many members, then of each its crew, units, lend (0: own people) and the crew whose work it is ------
MEMBER_WIDTH: Final = 4
MEMBER_CREW: Final = 1
MEMBER_UNITS: Final = 2
MEMBER_LEND: Final = 3
MEMBER_FOR: Final = 4

# --- place (after its own columns) -----------------------------------------------------------------------------------
WHO: Final = 6
"""x: the crews whose people did the last work by hand, as bits; only where a trace is written."""
MOST_TOLD: Final = 52
"""Crews whose bits a real number holds exactly; with more the trace names the crew whose work it is."""

# --- hold (after its own columns) -----------------------------------------------------------------------------------
H_LEND: Final = 10
H_FOR: Final = 11
"""The crew whose work it is, where another one's people do it; 0: their own."""
H_SLOWER: Final = 0
"""x: how many times as long the team at the work takes; 0: no longer than written."""
