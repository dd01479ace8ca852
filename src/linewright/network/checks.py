"""Inspections as indices: what each check finds, and what becomes of a piece it rejects."""

from __future__ import annotations

from linewright.base.problems import did_you_mean
from linewright.network.carry import Step
from linewright.network.context import Context
from linewright.network.model import NOWHERE, Fate, Inspection, Reject
from linewright.plan.model import Check, Reaction, Route

_SCRAP = Reject(Fate.SCRAP)


def compile_checks(context: Context, steps: dict[str, list[Step]]) -> tuple[Inspection, ...]:
    """All checks of all routes, in the order of the operations."""
    found = []
    for route in context.plan.routes.values():
        positions = {operation.id: p for p, operation in enumerate(route.operations)}
        for position, operation in enumerate(route.operations):
            if operation.check is not None:
                path = f"routes.{route.id}.operations[{position}].check"
                found.append(_inspection(operation.check, route, position, positions, steps[route.id], path, context))
    return tuple(found)


def _inspection(
    check: Check,
    route: Route,
    position: int,
    positions: dict[str, int],
    steps: list[Step],
    path: str,
    context: Context,
) -> Inspection:
    for name, share in (*check.finds.items(), ("a false alarm", check.false_alarms)):
        if not 0 <= share <= 1:
            context.problems.error(f"{path}.finds", f"the share for {name} is not from 0 to 100 %", value=share)
    if check.one_in < 1:
        context.problems.error(f"{path}.one_in", "one in n checks at most every piece", value=check.one_in)

    def reject(reaction: Reaction | None, here: str) -> Reject:
        return reject_of(reaction, route, position, positions, steps, here, context)

    for name in check.then:
        if name != "*" and name not in check.finds:
            context.problems.error(
                f"{path}.then.{name}", "the check does not find this fault", hint=did_you_mean(name, check.finds)
            )
    other = reject(check.then.get("*"), f"{path}.then") if "*" in check.then else _SCRAP
    rejects = tuple(
        reject(check.then[fault], f"{path}.then.{fault}") if fault in check.then else other for fault in check.finds
    )
    return Inspection(
        operation=context.operations[route.operations[position].id],
        faults=tuple(context.faults[fault] for fault in check.finds),
        finds=tuple(check.finds.values()),
        rejects=rejects,
        other=other,
        false_alarms=check.false_alarms,
        one_in=max(check.one_in, 1),
        hold_back=check.hold_back,
    )


def reject_of(
    reaction: Reaction | None,
    route: Route,
    position: int,
    positions: dict[str, int],
    steps: list[Step],
    path: str,
    context: Context,
) -> Reject:
    """A reaction with indices; a rework that cannot be walked is a problem and becomes scrap."""
    if reaction is None or reaction.kind == "scrap":
        return _SCRAP
    if reaction.kind == "seconds":
        index = NOWHERE
        if reaction.seconds is None:
            context.problems.error(path, "which item the piece becomes is not written", expected='{ seconds = "item" }')
        else:
            index = context.look_up(context.items, reaction.seconds, f"{path}.seconds", "item")
        return Reject(Fate.SECONDS, item=index) if index >= 0 else _SCRAP
    to = positions.get(reaction.rework or "", NOWHERE)
    if to < 0 or to > position:
        context.problems.error(
            f"{path}.rework",
            "rework goes back to an operation of the same route, at or before the check",
            value=reaction.rework,
            hint=did_you_mean(reaction.rework or "", [o.id for o in route.operations[: position + 1]]),
        )
        return _SCRAP
    if reaction.at_most < 1:
        context.problems.error(f"{path}.at_most", "rework happens at least once", value=reaction.at_most)
        return _SCRAP
    split = next((p for p in range(to, position) if steps[p].pieces_out != 1.0), None)
    if split is not None:
        context.problems.error(
            f"{path}.rework",
            f'"{route.operations[split].id}" makes other pieces on the way, so a piece cannot go back across it',
            value=reaction.rework,
            hint="check before the piece is split, or send back to an operation after it",
        )
        return _SCRAP
    return Reject(
        Fate.REWORK,
        to=context.operations[route.operations[to].id],
        at_most=reaction.at_most,
        takes_again=reaction.takes_again,
        otherwise=reject_of(reaction.otherwise, route, position, positions, steps, f"{path}.else", context),
    )
