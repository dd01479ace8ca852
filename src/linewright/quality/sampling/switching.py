"""Normal, tightened, reduced, stopped: the switching rules of ISO 2859-1 as a state machine over lots.

A sampling scheme without its switching rules is not the scheme: the promise to the customer rests on them. The state
is a value; each lot gives the next, so a history can be played again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from linewright.base.problems import Problems

Severity = Literal["normal", "tightened", "reduced", "stopped"]


@dataclass(frozen=True)
class Lot:
    """One lot inspected for the first time: was it accepted, at which acceptance number, and would it have been
    accepted with the AQL one step tighter (asked only where the acceptance number is 2 or more)?
    """

    accepted: bool
    acceptance_number: int
    accepted_one_step_tighter: bool = False


@dataclass(frozen=True)
class State:
    """Where the inspection stands. ``recent`` are the last lots (up to five) under the present severity, ``score`` the
    switching score, ``refused_tightened`` lots refused since tightened inspection began. ``why`` says what moved it.
    """

    severity: Severity = "normal"
    recent: tuple[bool, ...] = ()
    score: int = 0
    refused_tightened: int = 0
    why: str = "begins with normal inspection"


def after_lot(state: State, lot: Lot, *, steady: bool = True, reduced_allowed: bool = True) -> State:
    """The state after one more lot.

    Equation: normal to tightened: 2 refused among 5 or fewer in a row. Tightened to normal: 5 accepted in a row.
        Tightened to stopped: 5 refused in all. Normal to reduced: score of 30, production steady, and reduced
        inspection allowed. Reduced to normal: a lot refused, or production not steady. Score: acceptance number 2 or
        more: +3 if accepted one step tighter, else 0 again; 0 or 1: +2 if accepted, else 0 again.
    Takes:
        state [a State]: before the lot.
        lot [a Lot]: its outcome.
        steady [yes or no]: whether production runs steadily.
        reduced_allowed [yes or no]: whether those responsible allow reduced inspection.
    Gives: a State.
    Range: single plans.
    Source: ISO 2859-1:1999, clause 9.3 (from memory; the outline is confirmed by public summaries).

    >>> state = State()
    >>> for accepted in (True, False, True, False):
    ...     state = after_lot(state, Lot(accepted, 1))
    >>> state.severity
    'tightened'
    """
    problems = Problems()
    if lot.acceptance_number < 0:
        problems.error("lot.acceptance_number", "too small", value=lot.acceptance_number, expected="at least 0")
    if lot.accepted_one_step_tighter and not lot.accepted:
        problems.error("lot", "refused, yet accepted one step tighter: that cannot be")
    if state.severity == "stopped":
        problems.error("state", "inspection under this scheme is stopped", hint="act on the causes, then resume")
    problems.raise_errors()
    recent = (*state.recent, lot.accepted)[-5:]
    if state.severity == "tightened":
        return _tightened(state, recent, lot)
    if state.severity == "reduced":
        if not lot.accepted:
            return State(why="a lot was refused under reduced inspection")
        if not steady or not reduced_allowed:
            return State(why="production is not steady" if not steady else "reduced inspection is no longer allowed")
        return replace(state, recent=recent)
    score = _score(state.score, lot)
    if recent.count(False) >= 2:
        return State("tightened", why="2 of 5 or fewer lots in a row were refused")
    if score >= 30 and steady and reduced_allowed:
        return State("reduced", why=f"the switching score reached {score}")
    return replace(state, recent=recent, score=score)


def resume(state: State) -> State:
    """Take up inspection again after it was stopped and the causes were removed: under tightened inspection.

    Equation: none.
    Takes:
        state [a State]: stopped.
    Gives: a State under tightened inspection.
    Range: only from stopped.
    Source: ISO 2859-1:1999, clause 9.4 (from memory).

    >>> resume(State("stopped")).severity
    'tightened'
    """
    problems = Problems()
    if state.severity != "stopped":
        problems.error("state", "inspection is not stopped", value=state.severity)
    problems.raise_errors()
    return State("tightened", why="resumed after the causes were removed")


def _tightened(state: State, recent: tuple[bool, ...], lot: Lot) -> State:
    refused = state.refused_tightened + (not lot.accepted)
    if refused >= 5:
        return State("stopped", why="5 lots were refused under tightened inspection")
    if len(recent) == 5 and all(recent):
        return State(why="5 lots in a row were accepted under tightened inspection")
    return replace(state, recent=recent, refused_tightened=refused)


def _score(score: int, lot: Lot) -> int:
    if lot.acceptance_number >= 2:
        return score + 3 if lot.accepted_one_step_tighter else 0
    return score + 2 if lot.accepted else 0
