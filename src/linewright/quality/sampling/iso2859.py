"""Code letters and single sampling plans of ISO 2859-1: normal, tightened and reduced inspection.

The tables are built from their own regular structure: sample sizes and acceptance numbers move along their diagonals,
and what is left out is an arrow to the nearest plan of the column. Double and multiple plans of the standard are not
covered: enter them from your own copy.
"""

from __future__ import annotations

from typing import Literal

from linewright.base.arrays import number
from linewright.base.problems import Problems
from linewright.quality.sampling.operating import SinglePlan

Severity = Literal["normal", "tightened", "reduced"]

LETTERS = "ABCDEFGHJKLMNPQR"
SAMPLE_SIZES = (2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000)
REDUCED_SIZES = (2, 2, *SAMPLE_SIZES[:-2])
LARGEST = SinglePlan(3150, 1)
"""Letter S, which stands in one cell of all: tightened inspection at 0.025, below the letters Q and R."""
AQLS = (
    0.010, 0.015, 0.025, 0.040, 0.065, 0.10, 0.15, 0.25, 0.40, 0.65, 1.0, 1.5, 2.5, 4.0, 6.5, 10.0, 15.0, 25.0, 40.0,
    65.0, 100.0, 150.0, 250.0, 400.0, 650.0, 1000.0,
)  # fmt: skip
_LOTS = (8, 15, 25, 50, 90, 150, 280, 500, 1200, 3200, 10_000, 35_000, 150_000, 500_000)
_BY_LEVEL = {
    "S-1": "AAAABBBBCCCCDDD",
    "S-2": "AAABBBCCCDDDEEE",
    "S-3": "AABBCCDDEEFFGGH",
    "S-4": "AABCCDEEFGGHJJK",
    "I": "AABCCDEFGHJKLMN",
    "II": "ABCDEFGHJKLMNPQ",
    "III": "BCDEFGHJKLMNPQR",
}
# Acceptance number by the sum of the places of letter and AQL; the sums left out are arrows. The letters up to E go
# two steps further.
_DIAGONALS: dict[Severity, dict[int, int]] = {
    "normal": {14: 0, 17: 1, 18: 2, 19: 3, 20: 5, 21: 7, 22: 10, 23: 14, 24: 21, 25: 30, 26: 44},
    "tightened": {15: 0, 18: 1, 19: 2, 20: 3, 21: 5, 22: 8, 23: 12, 24: 18, 25: 27, 26: 41},
    "reduced": {14: 0, 18: 1, 19: 2, 20: 3, 21: 5, 22: 6, 23: 8, 24: 10, 25: 14, 26: 21},
}
_LAST_SUM = 24
# A and B of the reduced table have the sample of C and go a way of their own from AQL 25 on, by the place of the AQL.
_REDUCED_SMALLEST = {17: 1, 18: 2, 19: 3, 20: 5, 21: 7, 22: 10, 23: 14, 24: 21, 25: 30}


def code_letter(lot: int, level: str = "II") -> str:
    """The sample size code letter of a lot.

    Equation: none; table 1 of the standard.
    Takes:
        lot [units]: lot size, at least 2.
        level ["I", "II", "III", "S-1" to "S-4"]: inspection level; II unless agreed otherwise.
    Gives: a letter from A to R (there is no I and no O).
    Range: all lot sizes from 2.
    Source: ISO 2859-1:1999 table 1, the same as MIL-STD-105E table I (public domain), met in several public copies.

    >>> code_letter(1000), code_letter(1000, "I"), code_letter(1000, "III")
    ('J', 'G', 'K')
    """
    problems = Problems()
    number(lot, "lot", problems, low=2, whole=True)
    if level not in _BY_LEVEL:
        problems.error("level", "unknown inspection level", value=level, expected="one of " + ", ".join(_BY_LEVEL))
    problems.raise_errors()
    return _BY_LEVEL[level][sum(lot > most for most in _LOTS)]


def attribute_plan(letter: str, aql: float, severity: Severity = "normal") -> SinglePlan:
    """The single plan of a code letter and an AQL, arrows followed.

    Equation: with i the place of the letter (A = 0) and j that of the AQL (0.010 = 0), the acceptance number is fixed
        by i + j: normal 14: 0, 17: 1, 18: 2, 19: 3, 20: 5, 21: 7, 22: 10, 23: 14, 24: 21 (25: 30, 26: 44 for A to E);
        tightened 15: 0, 18: 1, 19: 2, 20: 3, 21: 5, 22: 8, 23: 12, 24: 18 (25: 27, 26: 41); reduced 14: 0, 18: 1,
        19: 2, 20: 3, 21: 5, 22: 6, 23: 8, 24: 10 (25: 14, 26: 21). Other sums are arrows to the nearest plan of the
        column: up just below 0 in the normal and the reduced table, and at the lower right of each; else down.
    Takes:
        letter [A to R]: code letter.
        aql [%, or faults in 100 units]: a column of the table, 0.010 to 1000; above 10 for faults only.
        severity ["normal", "tightened" or "reduced"]: which table.
    Gives: a SinglePlan; its sample may be that of another letter, where an arrow leads there.
    Range: all cells. A lot no larger than the sample is inspected whole.
    Source: ISO 2859-1:1999 tables 2-A, 2-B and 2-C; every cell compared with a public copy of the identical
        GB/T 2828.1-2012, normal and tightened also with MIL-STD-105E. The reduced table of MIL-STD-105E is another: it
        leaves a gap between acceptance and refusal.

    >>> attribute_plan("J", 1.0), attribute_plan("F", 1.0), attribute_plan("J", 1.0, "tightened")
    (SinglePlan(n=80, c=2), SinglePlan(n=13, c=0), SinglePlan(n=80, c=1))
    >>> attribute_plan("J", 1.0, "reduced")
    SinglePlan(n=32, c=1)
    """
    problems = Problems()
    if severity not in _DIAGONALS:
        problems.error("severity", "no such table", value=severity, expected="one of " + ", ".join(_DIAGONALS))
    if len(letter) != 1 or letter not in LETTERS:
        problems.error("letter", "no such code letter", value=letter, expected=f"one of {LETTERS}")
    if aql not in AQLS:
        problems.error("aql", "no such column", value=aql, expected="one of " + ", ".join(f"{a:g}" for a in AQLS))
    problems.raise_errors()
    return _follow(LETTERS.index(letter), AQLS.index(aql), severity)


def _cell(i: int, j: int, severity: Severity) -> int | None:
    """The acceptance number printed in a cell; None for an arrow."""
    if severity == "reduced" and i < LETTERS.index("C") and j in _REDUCED_SMALLEST:
        return _REDUCED_SMALLEST[j]
    if i + j > _LAST_SUM and i > LETTERS.index("E"):
        return None
    return _DIAGONALS[severity].get(i + j)


def _follow(i: int, j: int, severity: Severity) -> SinglePlan:
    column = [_cell(row, j, severity) for row in range(len(LETTERS))]
    row = i if column[i] is not None else _arrow(column, i, severity)
    if row == len(LETTERS):
        return LARGEST
    found = column[row]
    assert found is not None
    return SinglePlan((REDUCED_SIZES if severity == "reduced" else SAMPLE_SIZES)[row], found)


def _arrow(column: list[int | None], i: int, severity: Severity) -> int:
    """The row that the arrow in row ``i`` of a column leads to; one past the last for letter S."""
    above = [row for row in range(i) if column[row] is not None]
    below = [row for row in range(i + 1, len(column)) if column[row] is not None]
    if severity == "tightened" and not below and above[-1:] == [LETTERS.index("P")] and column[above[-1]] == 0:
        return len(column)
    # The normal and the reduced table send the cell just under a plan with 0 back up to it, the tightened one down
    next_to_zero = bool(above) and column[above[-1]] == 0 and above[-1] == i - 1
    return above[-1] if not below or (severity != "tightened" and next_to_zero) else below[0]
