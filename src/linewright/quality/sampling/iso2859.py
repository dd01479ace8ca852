"""Code letters and single sampling plans of ISO 2859-1, as far as they can be borne out here.

Covered: all code letters; single plans for normal inspection, and for tightened inspection in the AQL columns 0.65 to
15. The table is built from its own regular structure: sample sizes and acceptance numbers move along its diagonals.
Reduced inspection, double and multiple plans are not covered: enter them from your own copy of the standard.
"""

from __future__ import annotations

from typing import Literal

from linewright.base.arrays import number
from linewright.base.problems import Problems
from linewright.quality.sampling.operating import SinglePlan

Severity = Literal["normal", "tightened"]

LETTERS = "ABCDEFGHJKLMNPQR"
SAMPLE_SIZES = (2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000)
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
# Acceptance number by the sum of the places of letter and AQL; the sums left out are arrows.
_NORMAL = {14: 0, 17: 1, 18: 2, 19: 3, 20: 5, 21: 7, 22: 10, 23: 14, 24: 21}
_NORMAL_SMALL = {**_NORMAL, 25: 30, 26: 44}  # letters A to E only
_TIGHTENED = {15: 0, 18: 1, 19: 2, 20: 3, 21: 5, 22: 8, 23: 12, 24: 18}


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
        tightened 15: 0, 18: 1, 19: 2, 20: 3, 21: 5, 22: 8, 23: 12, 24: 18. Other sums are arrows to the nearest plan
        of the column: up just above 0 in the normal table and at its lower right, else down.
    Takes:
        letter [A to R]: code letter.
        aql [%, or faults in 100 units]: a column of the table, 0.010 to 1000; above 10 for faults only.
        severity ["normal" or "tightened"]: which table.
    Gives: a SinglePlan; its sample may be that of another letter, where an arrow leads there.
    Range: normal: all cells but (R, 0.015) and (A, 10), arrows that no copy at hand bears out. Tightened: AQL 0.65 to
        15 but (A, 10). Cells outside are refused by name. A lot no larger than the sample is inspected whole.
    Source: ISO 2859-1:1999 tables 2-A and 2-B, MIL-STD-105E tables II-A and II-B; cells checked against public copies.

    >>> attribute_plan("J", 1.0), attribute_plan("F", 1.0), attribute_plan("J", 1.0, "tightened")
    (SinglePlan(n=80, c=2), SinglePlan(n=13, c=0), SinglePlan(n=80, c=1))
    """
    problems = Problems()
    if severity not in ("normal", "tightened"):
        hint = "enter a reduced plan from your copy of the standard"
        problems.error(
            "severity", "this table is not covered", value=severity, expected="normal or tightened", hint=hint
        )
    if len(letter) != 1 or letter not in LETTERS:
        problems.error("letter", "no such code letter", value=letter, expected=f"one of {LETTERS}")
    if aql not in AQLS:
        problems.error("aql", "no such column", value=aql, expected="one of " + ", ".join(f"{a:g}" for a in AQLS))
    problems.raise_errors()
    i, j = LETTERS.index(letter), AQLS.index(aql)
    if not _covered(letter, aql, severity):
        problems.error("aql", f"the cell ({letter}, {aql:g}) of the {severity} table is not covered here")
        problems.raise_errors()
    return _follow(i, j, severity)


def _covered(letter: str, aql: float, severity: str) -> bool:
    if severity == "normal":
        return (letter, aql) not in (("R", 0.015), ("A", 10.0))
    return 0.65 <= aql <= 15.0 and (letter, aql) != ("A", 10.0)


def _cell(i: int, j: int, severity: str) -> int | None:
    """The acceptance number printed in a cell; None for an arrow."""
    if severity == "tightened":
        return _TIGHTENED.get(i + j)
    return (_NORMAL_SMALL if i <= LETTERS.index("E") else _NORMAL).get(i + j)


def _follow(i: int, j: int, severity: str) -> SinglePlan:
    column = [_cell(row, j, severity) for row in range(len(LETTERS))]
    cell = column[i]
    if cell is not None:
        return SinglePlan(SAMPLE_SIZES[i], cell)
    above = [row for row in range(i) if column[row] is not None]
    below = [row for row in range(i + 1, len(LETTERS)) if column[row] is not None]
    next_to_zero = bool(above) and column[above[-1]] == 0 and above[-1] == i - 1
    # The normal table sends the cell just under a plan with 0 back up to it; the tightened one sends it down
    up = not below or (severity == "normal" and next_to_zero)
    row = above[-1] if up else below[0]
    found = column[row]
    assert found is not None
    return SinglePlan(SAMPLE_SIZES[row], found)
