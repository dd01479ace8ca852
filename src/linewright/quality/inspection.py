"""What a check really lets through: it finds 97 % and cries wolf 1 %, alone, again, and one after another.

Finding and crying wolf pull against each other: a second look at what failed saves good pieces and lets more faults
through; a second look at what passed does the opposite.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from linewright.base.arrays import number, share
from linewright.base.problems import Problems
from linewright.base.results import Shown, Table

Again = Literal["failed", "passed"]


@dataclass(frozen=True)
class Look:
    """A check: the chance that it finds a fault that is there, and that it fails a piece in which nothing was found."""

    finds: float
    false_alarms: float = 0.0
    name: str = ""


@dataclass(frozen=True)
class LookResult:
    """After one check: shares of all pieces made, and the share faulty among those that passed.

    ``sure_of_fail``: the chance that a piece it failed is really faulty (None where it fails nothing).
    """

    name: str
    passed_good: float
    passed_faulty: float
    failed_good: float
    failed_faulty: float
    faulty_among_passed: float
    sure_of_fail: float | None


@dataclass(frozen=True)
class Looks(Shown):
    """A row of checks, each result in order; ``escape`` is the share of faulty pieces that passes them all."""

    results: tuple[LookResult, ...]
    escape: float

    def to_table(self) -> Table:
        """One row a check, in parts per million of what was made."""
        rows = tuple(
            (
                r.name,
                r.passed_faulty * 1e6,
                r.faulty_among_passed * 1e6,
                r.failed_faulty * 1e6,
                r.failed_good * 1e6,
                r.sure_of_fail,
            )
            for r in self.results
        )
        columns = (
            "check",
            "faulty passed [ppm of made]",
            "faulty among passed [ppm]",
            "faulty failed [ppm of made]",
            "good failed [ppm of made]",
            "chance that a failed piece is faulty",
        )
        return Table("What the checks let through", columns, rows)


def through_looks(faulty: float, looks: Sequence[Look], *, hidden: float = 0.0) -> Looks:
    """Pieces through checks one after another; what fails any is taken out.

    Equation: a check passes a good piece with 1 - a, a faulty one with (1 - finds)(1 - a), one with a hidden fault with
        1 - a; a is the share of false alarms, which may hit any piece in which nothing was found.
    Takes:
        faulty [share]: share of pieces faulty before the first check, 0 to 1.
        looks [Looks]: checks in order, at least one; shares from 0 to 1.
        hidden [share]: share of faults that no look can find (a seam behind a panel), 0 to 1.
    Gives: a Looks.
    Range: looks err independently, save for the hidden part. Two looks by one person in one way are not independent,
        and then less is gained than computed.
    Source: Bayes' rule.

    >>> found = through_looks(0.02, [Look(0.97, 0.01)])
    >>> round(found.results[0].faulty_among_passed * 1e6), round(found.results[0].sure_of_fail, 3)
    (612, 0.664)
    """
    problems = Problems()
    share(faulty, "faulty", problems, ends=True)
    share(hidden, "hidden", problems, ends=True)
    if not looks:
        problems.error("looks", "no check is given")
    for i, look in enumerate(looks):
        share(look.finds, f"looks[{i}].finds", problems, ends=True)
        share(look.false_alarms, f"looks[{i}].false_alarms", problems, ends=True)
    problems.raise_errors()
    good, plain, unseen = 1 - faulty, faulty * (1 - hidden), faulty * hidden
    results = []
    for i, look in enumerate(looks):
        alarm = look.false_alarms
        wolf = good * alarm
        caught = plain * (look.finds + (1 - look.finds) * alarm) + unseen * alarm
        good, plain, unseen = good - wolf, plain * (1 - look.finds) * (1 - alarm), unseen * (1 - alarm)
        passed, failed = plain + unseen, caught + wolf
        results.append(
            LookResult(
                look.name or f"check {i + 1}",
                good,
                passed,
                wolf,
                caught,
                passed / (good + passed) if good + passed > 0 else 0.0,
                caught / failed if failed > 0 else None,
            )
        )
    passes = math.prod(1 - look.false_alarms for look in looks)
    left = math.prod(1 - look.finds for look in looks)
    return Looks(tuple(results), passes * (hidden + (1 - hidden) * left))


def looked_again(look: Look, again: Again, times: int = 2) -> Look:
    """One check made of several looks, at what failed or at what passed.

    Equation: with F = finds + (1 - finds) a the chance that a faulty piece fails a look and a that a good one does:
        again at what failed (good if any look passes it): F^k and a^k. Again at what passed (bad if any look fails
        it): 1 - (1 - F)^k and 1 - (1 - a)^k. ``finds`` follows from F and a.
    Takes:
        look [a Look]: of one look.
        again ["failed" or "passed"]: which pieces are looked at again.
        times [1]: k, looks in all, 1 to 20.
    Gives: a Look.
    Range: independent looks.
    Source: definition.

    >>> both = looked_again(Look(0.97, 0.01), "failed")
    >>> round(both.finds, 4), round(both.false_alarms, 4)
    (0.9415, 0.0001)
    """
    problems = Problems()
    share(look.finds, "look.finds", problems, ends=True)
    share(look.false_alarms, "look.false_alarms", problems, ends=True)
    number(times, "times", problems, low=1, high=20, whole=True)
    if again not in ("failed", "passed"):
        problems.error("again", "unknown", value=again, expected='"failed" or "passed"')
    problems.raise_errors()
    name = f"{look.name} {times} times".strip()
    if again == "failed":
        alarm = look.false_alarms**times
        fails = (look.finds + (1 - look.finds) * look.false_alarms) ** times
        return Look(1 - (1 - fails) / (1 - alarm) if alarm < 1 else 1.0, alarm, name)
    return Look(1 - (1 - look.finds) ** times, 1 - (1 - look.false_alarms) ** times, name)


def looks_for_escape(finds: float, escape: float) -> int:
    """How many independent looks bring the escape down to a wanted share.

    Equation: least k with (1 - finds)^k <= escape.
    Takes:
        finds [1]: chance that one look finds the fault, from 1e-6, below 1.
        escape [1]: share of faulty pieces that may pass, between 0 and 1.
    Gives: k, looks.
    Range: independent looks; more than three by eye are seldom independent (common practice, no source).
    Source: definition.

    >>> looks_for_escape(0.8, 0.01)
    3
    """
    problems = Problems()
    number(finds, "finds", problems, low=1e-6)
    share(finds, "finds", problems)
    share(escape, "escape", problems)
    problems.raise_errors()
    return max(1, math.ceil(math.log(escape) / math.log1p(-finds) - 1e-9))
