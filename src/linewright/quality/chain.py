"""Faults from where they are made to the customer: each step makes some, each check finds some, the rest gets through.

A piece carries a set of faults; the chance of every set is followed exactly through all steps. Checks scrap what they
fail, or have it mended and look again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from linewright.base.arrays import number, share
from linewright.base.problems import Problems
from linewright.base.results import Shown, Table

Floats = NDArray[np.float64]
MOST_FAULTS = 12


@dataclass(frozen=True)
class Step:
    """One step of the way. It may make faults and then check for some.

    ``makes``: fault to share of pieces that get it here. ``finds``: fault to the chance that the check finds it (empty:
    no check). ``one_in``: checks one piece in n, at random. ``then``: ``scrap`` what fails, or ``mend`` what was found
    (each found fault is gone with chance ``mends``) and look again, at most so many times, then scrap. ``cost``: money
    spent on every piece that comes here; ``mend_cost``: on every mending.
    """

    name: str
    makes: Mapping[str, float] = field(default_factory=dict)
    finds: Mapping[str, float] = field(default_factory=dict)
    false_alarms: float = 0.0
    one_in: int = 1
    then: Literal["scrap", "mend"] = "scrap"
    mends: float = 1.0
    at_most: int = 1
    cost: float = 0.0
    mend_cost: float = 0.0


@dataclass(frozen=True)
class StepResult:
    """After one step, for each piece begun: pieces that come in, go on, are scrapped, and mendings done here.

    ``good_failed``: pieces without any fault that the check failed at first look. ``carried``: each fault's share
    among the pieces that go on; ``faulty``: share of them with any fault.
    """

    name: str
    comes: float
    goes_on: float
    scrapped: float
    mended: float
    good_failed: float
    carried: Mapping[str, float]
    faulty: float


@dataclass(frozen=True)
class Chain(Shown):
    """The whole way: each step, the share shipped of pieces begun, faults among the shipped, and money a shipped piece.

    ``escapes``: each fault's share among shipped pieces; ``faulty``: share of them with any fault.
    """

    steps: tuple[StepResult, ...]
    shipped: float
    escapes: Mapping[str, float]
    faulty: float
    cost: float

    def to_table(self) -> Table:
        """One row a step; faults in parts per million of the pieces that go on."""
        names = list(self.escapes)
        rows = tuple(
            (s.name, s.comes, s.scrapped, s.mended, s.faulty * 1e6, *(s.carried[f] * 1e6 for f in names))
            for s in self.steps
        )
        columns = ("step", "pieces in", "scrapped", "mended", "any fault [ppm]", *(f"{f} [ppm]" for f in names))
        note = f"{self.faulty * 1e6:.0f} ppm of shipped pieces carry a fault; {self.shipped:.2%} of pieces are shipped"
        return Table("Faults on the way to the customer", columns, rows, note)


@dataclass(frozen=True)
class OneMoreCheck(Shown):
    """Where one more check would pay: for each place its saving a shipped piece and the faults left, best first."""

    cost_now: float
    places: tuple[tuple[str, float, float], ...]

    def to_table(self) -> Table:
        """One row a place."""
        rows = tuple((name, saving, faulty * 1e6) for name, saving, faulty in self.places)
        columns = ("check after", "saving a shipped piece", "shipped faulty [ppm]")
        return Table("Where one more check would pay", columns, rows, f"cost now {self.cost_now:.4g} a shipped piece")


def follow(steps: Sequence[Step], *, escape_cost: float = 0.0) -> Chain:
    """Follow the faults of a piece through all steps.

    Equation: with v the shares of pieces by the set of faults carried: a step makes fault f: v(s + f) += p v(s); a
        check passes s with chance (1 - false alarms) prod over f in s of (1 - finds_f); what fails is scrapped, or
        mended and looked at again. Money a shipped piece = (sum of cost x pieces in + mendings + escape cost x
        faulty)/shipped.
    Takes:
        steps [Steps]: in order, at least one; shares from 0 to 1; up to 12 kinds of fault.
        escape_cost [money]: of one shipped piece with any fault, 0 or more.
    Gives: a Chain.
    Range: faults arise and are found independently, a mending makes no new fault and repeats no step (for rework that
        repeats steps, the plan's journeys are exact). A piece is shipped as it leaves the last step.
    Source: total probability.

    >>> found = follow([Step("glue", makes={"gap": 0.02}), Step("probe", finds={"gap": 0.97}, false_alarms=0.01)])
    >>> round(found.faulty * 1e6), round(found.shipped, 4)
    (612, 0.9708)
    """
    problems = Problems()
    names = _check_steps(steps, problems)
    number(escape_cost, "escape_cost", problems, low=0.0)
    problems.raise_errors()
    v = np.zeros(2 ** len(names))
    v[0] = 1.0
    cost = 0.0
    results = []
    for step in steps:
        comes = float(v.sum())
        for i, name in enumerate(names):
            v = _make(v, i, step.makes.get(name, 0.0))
        v, scrapped, mended, good_failed = (
            _look(v, names, step) if step.finds or step.false_alarms else (v, 0.0, 0.0, 0.0)
        )
        cost += comes * step.cost + mended * step.mend_cost
        on = float(v.sum())
        carried = {name: _share_with(v, i) for i, name in enumerate(names)}
        faulty = 1 - float(v[0]) / on if on > 0 else 0.0
        results.append(StepResult(step.name, comes, on, scrapped, mended, good_failed, carried, faulty))
    last = results[-1]
    if last.goes_on <= 0:
        problems.error("steps", "no piece gets through", hint="is a share of false alarms or of faults 1?")
        problems.raise_errors()
    money = (cost + escape_cost * last.goes_on * last.faulty) / last.goes_on
    return Chain(tuple(results), last.goes_on, dict(last.carried), last.faulty, money)


def one_more_check(
    steps: Sequence[Step], check: Step, *, escape_cost: float, finds: float | None = None
) -> OneMoreCheck:
    """Where one more check would pay, by trying it after every step.

    Equation: saving = cost a shipped piece now - with the check inserted; as follow.
    Takes:
        steps [Steps]: the way as it is; their costs matter.
        check [a Step]: the check to add, with its cost.
        escape_cost [money]: of one shipped piece with any fault, 0 or more.
        finds [1]: if given, the check finds every fault with this chance, 0 to 1; else as ``check.finds``.
    Gives: a OneMoreCheck, the best place first; a negative saving does not pay.
    Range: as follow.
    Source: as follow.

    >>> way = [Step("glue", makes={"gap": 0.02}, cost=30.0), Step("fit", cost=40.0)]
    >>> one_more_check(way, Step("probe", cost=0.5), escape_cost=500.0, finds=0.97).places[0][0]
    'glue'
    """
    problems = Problems()
    names = _check_steps(steps, problems)
    if finds is not None:
        share(finds, "finds", problems, ends=True)
    problems.raise_errors()
    added = check if finds is None else replace(check, finds=dict.fromkeys(names, finds))
    now = follow(steps, escape_cost=escape_cost).cost
    places = []
    for i, step in enumerate(steps):
        found = follow([*steps[: i + 1], added, *steps[i + 1 :]], escape_cost=escape_cost)
        places.append((step.name, now - found.cost, found.faulty))
    return OneMoreCheck(now, tuple(sorted(places, key=lambda p: -p[1])))


def _make(v: Floats, i: int, p: float) -> Floats:
    """Every piece without fault i gets it with chance p."""
    if p == 0:
        return v
    w = v.reshape(-1, 2, 2**i).copy()
    w[:, 1] += p * w[:, 0]
    w[:, 0] *= 1 - p
    return w.reshape(-1)


def _take_away(v: Floats, i: int, p: float) -> Floats:
    """Every piece with fault i loses it with chance p."""
    w = v.reshape(-1, 2, 2**i).copy()
    w[:, 0] += p * w[:, 1]
    w[:, 1] *= 1 - p
    return w.reshape(-1)


def _look(v: Floats, names: Sequence[str], step: Step) -> tuple[Floats, float, float, float]:
    """What passes the check in the end; shares scrapped, mendings done, good pieces failed at first look."""
    passes = np.full(v.size, 1 - step.false_alarms)
    for i, name in enumerate(names):
        passes.reshape(-1, 2, 2**i)[:, 1] *= 1 - step.finds.get(name, 0.0)
    unseen = v * (1 - 1 / step.one_in)
    seen = v - unseen
    done = unseen + seen * passes
    good_failed = float(seen[0] * (1 - passes[0]))
    if step.then == "scrap":
        return done, float(np.sum(seen * (1 - passes))), 0.0, good_failed
    mended = 0.0
    for _ in range(step.at_most):
        after = seen
        for i, name in enumerate(names):
            after = _take_away(after, i, step.finds.get(name, 0.0) * step.mends)
        after = np.clip(after - seen * passes, 0.0, None)  # those that passed were not mended
        mended += float(after.sum())
        done = done + after * passes
        seen = after
    return done, float(np.sum(seen * (1 - passes))), mended, good_failed


def _share_with(v: Floats, i: int) -> float:
    total = float(v.sum())
    return float(v.reshape(-1, 2, 2**i)[:, 1].sum()) / total if total > 0 else 0.0


def _check_steps(steps: Sequence[Step], problems: Problems) -> list[str]:
    if not steps:
        problems.error("steps", "there is no step")
    names = list(dict.fromkeys(f for s in steps for f in (*s.makes, *s.finds)))
    if len(names) > MOST_FAULTS:
        hint = "join those that are found alike"
        problems.error("steps", f"{len(names)} kinds of fault", expected=f"at most {MOST_FAULTS}", hint=hint)
    for s in steps:
        path = f"steps.{s.name}"
        for kind, shares in (("makes", s.makes), ("finds", s.finds)):
            for fault, value in shares.items():
                share(value, f"{path}.{kind}.{fault}", problems, ends=True)
        share(s.false_alarms, f"{path}.false_alarms", problems, ends=True)
        share(s.mends, f"{path}.mends", problems, ends=True)
        number(s.one_in, f"{path}.one_in", problems, low=1, whole=True)
        number(s.at_most, f"{path}.at_most", problems, low=1, high=1000, whole=True)
        number(s.cost, f"{path}.cost", problems, low=0.0)
        number(s.mend_cost, f"{path}.mend_cost", problems, low=0.0)
        if s.then not in ("scrap", "mend"):
            problems.error(f"{path}.then", "unknown", value=s.then, expected='"scrap" or "mend"')
    return names
