"""What can go wrong, how badly, how often, and would we notice? A failure-mode table with an open rule for what to do.

Severity comes first: a product of three ranks can bury what hurts someone under what happens often. The rule is
written out below, rises in every rank, and is our own; no standard's table is copied.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from linewright.base.arrays import number, share
from linewright.base.problems import Problems
from linewright.base.results import Shown, Table

Priority = Literal["high", "medium", "low"]

# A mode has the first priority of which it meets one line: least severity, occurrence and detection ranks.
RULE: dict[Priority, tuple[tuple[int, int, int], ...]] = {
    "high": ((9, 4, 1), (9, 2, 7), (7, 6, 1), (7, 4, 7), (4, 8, 5)),
    "medium": ((9, 1, 1), (7, 4, 1), (7, 2, 7), (4, 6, 1), (4, 4, 7), (2, 8, 5)),
    "low": ((1, 1, 1),),
}
_OCCURRENCE = ((1e-1, 10), (5e-2, 9), (2e-2, 8), (1e-2, 7), (2e-3, 6), (5e-4, 5), (1e-4, 4), (1e-5, 3), (1e-6, 2))
_DETECTION = ((0.9, 10), (0.7, 9), (0.5, 8), (0.2, 7), (0.1, 6), (0.05, 5), (0.02, 4), (0.005, 3), (0.001, 2))


@dataclass(frozen=True)
class FailureMode:
    """One way to fail: where, what happens, why, and the ranks 1 (best) to 10 (worst)."""

    operation: str
    mode: str
    effect: str = ""
    cause: str = ""
    severity: int = 1
    occurrence: int = 1
    detection: int = 1
    action: str = ""


@dataclass(frozen=True)
class RankedMode:
    """A failure mode with its priority, the line of the rule it met, and the product of ranks (for old tables)."""

    failure: FailureMode
    priority: Priority
    because: tuple[int, int, int]
    product: int


@dataclass(frozen=True)
class FailureTable(Shown):
    """All failure modes, the most urgent first."""

    modes: tuple[RankedMode, ...]

    def to_table(self) -> Table:
        """One row a mode."""
        rows = tuple(
            (m.failure.operation, m.failure.mode, m.failure.effect, m.failure.cause, m.failure.severity,
             m.failure.occurrence, m.failure.detection, m.priority, m.product, m.failure.action)
            for m in self.modes
        )  # fmt: skip
        columns = (
            "operation", "failure", "effect", "cause", "severity", "occurrence", "detection", "priority", "S x O x D",
            "action",
        )  # fmt: skip
        note = (
            "severity 9 or 10 means that someone may be hurt or the law broken: follow local codes, and have a "
            "competent person decide, whatever the priority says"
        )
        return Table("What can go wrong", columns, rows, note)


def action_priority(severity: int, occurrence: int, detection: int) -> tuple[Priority, tuple[int, int, int]]:
    """Priority of a failure mode, and the line of the rule that gives it.

    Equation: the first line met, all three ranks at least: high (9,4,1) (9,2,7) (7,6,1) (7,4,7) (4,8,5); medium (9,1,1)
        (7,4,1) (7,2,7) (4,6,1) (4,4,7) (2,8,5); else low.
    Takes:
        severity [rank]: S, 1 to 10; 9 and 10 where someone may be hurt or the law broken.
        occurrence [rank]: O, 1 to 10.
        detection [rank]: D, 1 (surely noticed) to 10 (never).
    Gives: "high", "medium" or "low", and the least ranks of the line met.
    Range: severity 9 or 10 is never low. A rank raised never lowers the priority.
    Source: our own rule, in the order severity, occurrence, detection that AIAG and VDA (2019) put first (from memory).

    >>> action_priority(9, 4, 2)[0], action_priority(8, 3, 2)[0]
    ('high', 'low')
    """
    problems = Problems()
    for name, value in (("severity", severity), ("occurrence", occurrence), ("detection", detection)):
        number(value, name, problems, low=1, high=10, whole=True)
    problems.raise_errors()
    ranks = (severity, occurrence, detection)
    for priority, lines in RULE.items():
        for line in lines:
            if all(rank >= least for rank, least in zip(ranks, line, strict=True)):
                return priority, line
    raise AssertionError("the last line is always met")


def occurrence_rank(share_of_pieces: float) -> int:
    """Occurrence rank of a fault made in a share of pieces.

    Equation: 10 from 10 %, 9 from 5 %, 8 from 2 %, 7 from 1 %, 6 from 0.2 %, 5 from 500 ppm, 4 from 100, 3 from 10, 2
        from 1 ppm, else 1.
    Takes:
        share_of_pieces [share]: 0 to 1.
    Gives: a rank, 1 to 10.
    Range: any.
    Source: AIAG, Potential Failure Mode and Effects Analysis, 4th ed., occurrence table (from memory).

    >>> occurrence_rank(0.02), occurrence_rank(0.0)
    (8, 1)
    """
    problems = Problems()
    share(share_of_pieces, "share_of_pieces", problems, ends=True)
    problems.raise_errors()
    return next((rank for least, rank in _OCCURRENCE if share_of_pieces >= least * (1 - 1e-12)), 1)


def detection_rank(escape: float) -> int:
    """Detection rank of a fault of which a share escapes all checks.

    Equation: 10 from 90 %, 9 from 70, 8 from 50, 7 from 20, 6 from 10, 5 from 5, 4 from 2, 3 from 0.5, 2 from 0.1 %,
        else 1.
    Takes:
        escape [share]: of the faulty pieces, 0 to 1; ``inspection.through_looks`` and ``chain.follow`` compute it.
    Gives: a rank, 1 to 10.
    Range: any.
    Source: our own scale, so that the rank follows from measured checks and not from opinion.

    >>> detection_rank(1.0), detection_rank(0.03)
    (10, 4)
    """
    problems = Problems()
    share(escape, "escape", problems, ends=True)
    problems.raise_errors()
    return next((rank for least, rank in _DETECTION if escape >= least * (1 - 1e-12)), 1)


def rank_failures(modes: Sequence[FailureMode]) -> FailureTable:
    """A failure-mode table in order of urgency.

    Equation: by priority, then severity, then occurrence, then detection, as action_priority.
    Takes:
        modes [ranks 1 to 10]: at least one.
    Gives: a FailureTable.
    Range: as action_priority.
    Source: as action_priority.

    >>> modes = [FailureMode("glue", "seam gap", severity=7, occurrence=6, detection=3), FailureMode("paint", "run")]
    >>> [m.priority for m in rank_failures(modes).modes]
    ['high', 'low']
    """
    problems = Problems()
    if not modes:
        problems.error("modes", "the table is empty")
    for i, m in enumerate(modes):
        for name in ("severity", "occurrence", "detection"):
            number(getattr(m, name), f"modes[{i}].{name}", problems, low=1, high=10, whole=True)
        if not m.operation or not m.mode:
            problems.error(f"modes[{i}]", "the operation and the failure need a name")
    problems.raise_errors()
    ranked = [
        RankedMode(m, *action_priority(m.severity, m.occurrence, m.detection), m.severity * m.occurrence * m.detection)
        for m in modes
    ]
    order = list(RULE)
    ranked.sort(
        key=lambda r: (order.index(r.priority), -r.failure.severity, -r.failure.occurrence, -r.failure.detection)
    )
    return FailureTable(tuple(ranked))
