"""The failure modes of a plan, ranked: what is not written follows from the faults made and what the checks find."""

from __future__ import annotations

from collections.abc import Mapping

from linewright.base.problems import Level, Problem
from linewright.plan.model import FailureMode as Written
from linewright.plan.model import Operation, Plan
from linewright.quality.failure_modes import (
    FailureMode,
    FailureTable,
    detection_rank,
    occurrence_rank,
    rank_failures,
)

Derived = tuple[str, str, str]
"""(operation, failure mode, the rank that was worked out)."""


def failures(
    plan: Plan, escape: Mapping[str, float]
) -> tuple[FailureTable | None, tuple[Derived, ...], tuple[Problem, ...]]:
    """The table, the ranks that were worked out, and a warning for every mode left out as a rank cannot be had.

    ``escape`` is the share of each fault made that reaches the customer.
    """
    modes: list[FailureMode] = []
    derived: list[Derived] = []
    problems: list[Problem] = []
    for route in plan.routes.values():
        for position, operation in enumerate(route.operations):
            for number, mode in enumerate(operation.failure_modes):
                path = f"routes.{route.id}.operations[{position}].failure_modes[{number}]"
                made = operation.faults.get(mode.mode)
                missing = [k for k in ("occurrence", "detection") if getattr(mode, k) is None]
                if missing and made is None:
                    problems.append(_unranked(path, mode, missing, operation))
                    continue
                derived += [(operation.id, mode.mode, rank) for rank in missing]
                modes.append(_mode(operation, mode, made or 0.0, escape.get(mode.mode, 0.0)))
    return (rank_failures(modes) if modes else None), tuple(derived), tuple(problems)


def _mode(operation: Operation, mode: Written, made: float, escapes: float) -> FailureMode:
    return FailureMode(
        operation.id,
        mode.mode,
        mode.effect,
        mode.cause,
        mode.severity,
        mode.occurrence if mode.occurrence is not None else occurrence_rank(made),
        mode.detection if mode.detection is not None else detection_rank(escapes),
        mode.action,
    )


def _unranked(path: str, mode: Written, missing: list[str], operation: Operation) -> Problem:
    what = f'failure mode "{mode.mode}" of "{operation.id}" is left out of the table: {" and ".join(missing)} not known'
    hint = "write the rank, or name the mode as one of the operation's faults"
    return Problem(path, what, level=Level.WARNING, hint=hint)


def costs_of(plan: Plan) -> dict[str, float]:
    """Money for one that reaches the customer, by fault; the greatest where several modes say it."""
    found: dict[str, float] = {}
    for route in plan.routes.values():
        for operation in route.operations:
            for mode in operation.failure_modes:
                if mode.costs is not None:
                    found[mode.mode] = max(found.get(mode.mode, 0.0), mode.costs.value)
    return found
