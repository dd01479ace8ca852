"""May the run begin, and how far back must we hold? First-piece approval after a setup, and hold-back after an alarm.

The first pieces after a setup catch a wrong setup only if the fault shows in them; and a check that failed says that
pieces since the last good check are in doubt, or further back where checks can miss.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from linewright.base.arrays import number, share
from linewright.base.problems import Problems
from linewright.base.results import Shown, Table


@dataclass(frozen=True)
class FirstPiece(Shown):
    """First-piece approval. Shares of 1 of setups, faulty pieces a setup.

    ``released_wrong``: wrong setups released, of all setups; ``held_right``: right setups held, of all setups;
    ``wrong_among_released``: of the released; ``faulty``: faulty pieces made in a released run, on average over setups.
    """

    pieces: int
    released: float
    released_wrong: float
    held_right: float
    wrong_among_released: float
    faulty: float

    def to_table(self) -> Table:
        """One row."""
        columns = ("first pieces", "released", "wrong but released", "right but held", "faulty pieces a setup")
        row = (self.pieces, self.released, self.released_wrong, self.held_right, self.faulty)
        return Table("First-piece approval", columns, (row,))


@dataclass(frozen=True)
class HoldBack(Shown):
    """How far to hold back after an alarm: checks and pieces, the chance that it reached further, pieces made wrong."""

    checks: int
    pieces: int
    further: float
    made_wrong: float
    faulty: float

    def to_table(self) -> Table:
        """One row."""
        columns = ("checks back", "pieces held", "chance that it began earlier", "pieces made wrong", "faulty pieces")
        return Table("Hold-back", columns, ((self.checks, self.pieces, self.further, self.made_wrong, self.faulty),))


def first_piece(
    pieces: int,
    *,
    setup_wrong: float,
    faulty_when_wrong: float,
    faulty_when_right: float = 0.0,
    finds: float = 1.0,
    false_alarms: float = 0.0,
    run: int = 0,
) -> FirstPiece:
    """What checking the first pieces after a setup does: a run begins only if all of them pass.

    Equation: a piece passes with (1 - p finds)(1 - a), a the false alarms; released where all m pass; Bayes' rule.
    Takes:
        pieces [1]: m, first pieces checked, 0 or more.
        setup_wrong [share]: setups that are wrong, 0 to 1.
        faulty_when_wrong [share]: pieces faulty after a wrong setup, 0 to 1.
        faulty_when_right [share]: pieces faulty after a right one, 0 to 1.
        finds [1]: chance that the check finds a faulty piece, 0 to 1.
        false_alarms [1]: chance that it fails a piece in which nothing was found, 0 to 1.
        run [pieces]: length of the run that follows, 0 or more.
    Gives: a FirstPiece.
    Range: pieces independent given the setup.
    Source: Bayes' rule.

    >>> found = first_piece(3, setup_wrong=0.1, faulty_when_wrong=0.5, finds=1.0, run=100)
    >>> round(found.released_wrong, 4), round(found.faulty, 3)
    (0.0125, 0.625)
    """
    problems = Problems()
    number(pieces, "pieces", problems, low=0, whole=True)
    number(run, "run", problems, low=0, whole=True)
    for name, value in (
        ("setup_wrong", setup_wrong),
        ("faulty_when_wrong", faulty_when_wrong),
        ("faulty_when_right", faulty_when_right),
        ("finds", finds),
        ("false_alarms", false_alarms),
    ):
        share(value, name, problems, ends=True)
    if faulty_when_right > faulty_when_wrong:
        text = f"right {faulty_when_right:g}, wrong {faulty_when_wrong:g}"
        problems.error("faulty_when_right", "a right setup makes more faults than a wrong one", value=text)
    problems.raise_errors()
    wrong, right = (((1 - p * finds) * (1 - false_alarms)) ** pieces for p in (faulty_when_wrong, faulty_when_right))
    released_wrong, released_right = setup_wrong * wrong, (1 - setup_wrong) * right
    released = released_wrong + released_right
    return FirstPiece(
        int(pieces),
        released,
        released_wrong,
        (1 - setup_wrong) * (1 - right),
        released_wrong / released if released > 0 else 0.0,
        run * (released_wrong * faulty_when_wrong + released_right * faulty_when_right),
    )


def hold_back(
    every: int, *, finds: float, faulty_when_wrong: float = 1.0, wrong_after: float = math.inf, risk: float = 0.01
) -> HoldBack:
    """How many pieces to hold when a check raises the alarm.

    Equation: the alarm comes at the j-th check after it went wrong with chance finds (1 - finds)^(j-1); hold the least
        k intervals with (1 - finds)^k <= risk. Made wrong on average: n (1 - finds)/finds + those of the first
        interval, n + 1 - mean place where it began, a geometric law cut at n.
    Takes:
        every [pieces]: n between checks, at least 1.
        finds [1]: chance that one check sees that the process is wrong, above 0 to 1.
        faulty_when_wrong [share]: pieces faulty once it is wrong, 0 to 1.
        wrong_after [pieces]: mean pieces until it goes wrong, at least 1; infinite where it is rare.
        risk [1]: chance allowed that it began before what is held, between 0 and 1.
    Gives: a HoldBack. With a check that always finds it, one interval: back to the last good check.
    Range: the process stays wrong once it is; checks err independently and raise no false alarm.
    Source: Bayes' rule.

    >>> hold_back(50, finds=1.0).pieces, hold_back(50, finds=0.8).pieces
    (50, 150)
    """
    problems = Problems()
    number(every, "every", problems, low=1, whole=True)
    number(finds, "finds", problems, above=0.0, high=1.0)
    share(faulty_when_wrong, "faulty_when_wrong", problems, ends=True)
    share(risk, "risk", problems)
    if math.isnan(wrong_after) or wrong_after < 1:
        problems.error("wrong_after", "too small", value=wrong_after, expected="at least 1")
    problems.raise_errors()
    x = 1 - finds
    checks = 1 if x == 0 else max(1, math.ceil(math.log(risk) / math.log(x) - 1e-9))
    wrong = every * x / finds + every + 1 - _mean_start(int(every), 1 / wrong_after)
    return HoldBack(checks, checks * int(every), x**checks, wrong, wrong * faulty_when_wrong)


def _mean_start(n: int, q: float) -> float:
    """Mean place, 1 to n, of the first piece made wrong, given that it is among the n; chance q before each piece."""
    if n * q < 1e-6:
        return (n + 1) / 2  # the limit; the form below would cancel
    if q == 1:
        return 1.0
    none = math.exp(n * math.log1p(-q))
    return 1 / q - n * none / (1 - none)
