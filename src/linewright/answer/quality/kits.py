"""Kits counted by weight: what the scale of a check sees of a missing part, and what the plan says that it sees."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from linewright.answer.quality.model import Claim, KitCount
from linewright.base.problems import Level, Problem, Problems, ProblemsError, did_you_mean
from linewright.network import compile_network
from linewright.network.model import Network
from linewright.network.variants import without_values
from linewright.plan.model import CheckScale, Operation, Plan
from linewright.plan.paths import join

if TYPE_CHECKING:
    from linewright.quality.counting import KitCheck, KitPart

GRAMS = 1000.0
FALSE_REJECTS = 0.001
"""Good kits refused where the check writes no false alarms."""
APART = 0.02
"""A claim further above what the masses allow than this is a warning; who claims less is on the safe side."""


@dataclass(frozen=True, slots=True)
class CountWish:
    """What is asked of ``count_plan``; empty or None leaves it to the plan. ``apart`` items are not in the weighing."""

    operation: str = ""
    scale: CheckScale | None = None
    false_rejects: float | None = None
    apart: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Kit:
    """What a route has put together at an operation: parts in g, and those whose spread is not written."""

    parts: tuple[KitPart, ...]
    missing_spread: tuple[str, ...]


def kits(network: Network) -> tuple[tuple[KitCount, ...], tuple[Problem, ...]]:
    """Every check that has a scale, and warnings: kits that cannot be counted, and claims that the masses deny.

    ``network`` has a row for each variant where the plan has options: each variant that is put together otherwise is a
    kit of its own.
    """
    found: list[KitCount] = []
    problems: dict[Problem, None] = {}
    for route in network.written.routes.values():
        for position, operation in enumerate(route.operations):
            scale = operation.check.scale if operation.check is not None else None
            if scale is None:
                continue
            path = f"routes.{route.id}.operations[{position}].check"
            for variant, kit in kits_at(network, operation.id):
                if isinstance(kit, str):
                    problems[Problem(f"{path}.scale", without_values(kit), level=Level.WARNING)] = None
                    continue
                try:
                    count = count_kit(network, operation, kit, scale)
                except ProblemsError as wrong:
                    problems |= dict.fromkeys(_not_counted(path, problem) for problem in wrong.problems)
                    continue
                found.append(replace(count, variant=variant))
                problems |= dict.fromkeys(_denied(path, claim, variant) for claim in count.claims if _differs(claim))
    return tuple(found), tuple(problems)


def count_plan(plan: Plan, ask: CountWish) -> tuple[KitCount, ...]:
    """The kits of a plan on its scales, or one operation's on the scale asked for.

    Raises ProblemsError where the plan weighs nothing, an operation is unknown, or a mass is missing.
    """
    network = compile_network(plan)
    problems = Problems()
    scale = ask.scale
    found = []
    for route in plan.routes.values():
        for position, operation in enumerate(route.operations):
            here = scale or (operation.check.scale if operation.check is not None else None)
            named = ask.operation == operation.id
            if here is None or (ask.operation and not named) or (not named and not _has_scale(operation)):
                continue
            for variant, kit in kits_at(network, operation.id, ask.apart):
                if isinstance(kit, str):
                    problems.error(f"routes.{route.id}.operations[{position}]", kit, hint="write `mass = { mean, sd }`")
                    continue
                count = count_kit(network, operation, kit, here, ask.false_rejects)
                found.append(replace(count, variant=variant))
    if not found and not problems.errors:
        _nothing_weighed(plan, ask, problems)
    problems.raise_errors()
    return tuple(found)


def _has_scale(operation: Operation) -> bool:
    return operation.check is not None and operation.check.scale is not None


def _nothing_weighed(plan: Plan, ask: CountWish, problems: Problems) -> None:
    ids = [o.id for route in plan.routes.values() for o in route.operations]
    if ask.operation and ask.operation not in ids:
        hint = did_you_mean(ask.operation, ids)
        problems.error("operation", "the plan has no such operation", value=ask.operation, hint=hint)
        return
    what = "no check of the plan has a scale" if not ask.operation else "the operation has no scale"
    hint = 'write scale = { step = "0.1 g", repeatability = "0.3 g" } in its check, or say --step and --repeatability'
    problems.error("operation", what, value=ask.operation or None, hint=hint)


def kits_at(network: Network, operation: str, apart: tuple[str, ...] = ()) -> tuple[tuple[str, Kit | str], ...]:
    """The kits at an operation as written: the values of the first variant that is put together so, and the kit.

    The values are empty where there is one kit for all.
    """
    found: dict[object, tuple[str, Kit | str]] = {}
    for id in network.operations.ids:
        if id != operation and (network.origin is None or without_values(id) != operation):
            continue
        kit = kit_at(network, id, apart)
        alike = kit if isinstance(kit, str) else tuple((p.count, p.mean, p.sd) for p in kit.parts)
        found.setdefault(alike, (id.removeprefix(operation).strip(), kit))
    return tuple(found.values()) if len(found) > 1 else tuple(("", kit) for _, kit in found.values())


def kit_at(network: Network, operation: str, apart: tuple[str, ...] = ()) -> Kit | str:
    """What the route has taken by the end of an operation, but for ``apart``; a text says why it cannot be told."""
    from linewright.quality.counting import KitPart

    operations, items = network.operations, network.items
    o = operations.ids.index(operation)
    first = int(network.routes.first[operations.route[o]])
    changed = [operations.ids[k] for k in range(first, o) if operations.pieces_out[k] != 1]
    if changed:
        return f"the kit is not counted: {changed[0]} makes several pieces of one"
    units: dict[int, float] = {}
    for k in range(first, o + 1):
        for item, amount in zip(*(row.tolist() for row in operations.takes.row(k)), strict=True):
            if items.ids[item] not in apart:
                units[item] = units.get(item, 0.0) + amount
    unknown = [items.ids[i] for i in units if not np.isfinite(items.mass[i])]
    if unknown or not units:
        return f"the kit is not counted: no mass is written for {', '.join(unknown) or 'anything in it'}"
    parts, bare = [], []
    for i, amount in units.items():
        counted = bool(items.counted[i]) and float(amount).is_integer()
        count = round(amount) if counted else 1
        mean = GRAMS * float(items.mass[i]) * (1.0 if counted else amount)
        spread = float(items.mass_sd[i])
        if not np.isfinite(spread):
            bare.append(items.ids[i])
            spread = 0.0
        parts.append(KitPart(items.ids[i], count, mean, GRAMS * spread))
    return Kit(tuple(parts), tuple(bare))


def count_kit(
    network: Network, operation: Operation, kit: Kit, scale: CheckScale, false_rejects: float | None = None
) -> KitCount:
    """One kit on its scale, at the share of good kits refused that is asked for or that the check writes."""
    from linewright.quality.counting import Scale, weigh_apart, weigh_kit

    check = operation.check
    on = Scale(GRAMS * scale.step.value, GRAMS * scale.repeatability.value)
    written = check.false_alarms if check is not None else 0.0
    refused = false_rejects or (written if 0 < written < 1 else FALSE_REJECTS)
    weighed = weigh_kit(kit.parts, on, false_rejects=refused)
    apart = weigh_apart(kit.parts, on, false_rejects=refused) if weighed.hidden and len(kit.parts) > 1 else None
    parts = tuple((p.name, p.count, p.mean, p.sd) for p in kit.parts)
    claims = _claims(network, check.finds if check is not None else {}, weighed)
    return KitCount(operation.id, weighed, apart, claims, parts, kit.missing_spread)


def _claims(network: Network, finds: Mapping[str, float], kit: KitCheck) -> tuple[Claim, ...]:
    """Faults of the check named after a part, "screw missing" or "screw extra", beside what the masses allow."""
    passes = {(f.part, f.fault): f.passes for f in kit.faults}
    found = []
    for part in dict.fromkeys(f.part for f in kit.faults):
        item = network.plan.items[part]
        id = without_values(part)
        for name in dict.fromkeys((id.replace("_", " "), id, item.name)):
            for kind, fault in (("one missing", f"{name} missing"), ("one extra", f"{name} extra")):
                if name and fault in finds:
                    found.append(Claim(fault, part, finds[fault], 1 - passes[(part, kind)]))
    return tuple(dict.fromkeys(found))


def _differs(claim: Claim) -> bool:
    return claim.written - claim.computed > APART


def _not_counted(path: str, problem: Problem) -> Problem:
    what = f"the kit is not counted: {problem.path} is {problem.what}"
    return replace(problem, path=f"{path}.scale", what=what, level=Level.WARNING)


def _denied(path: str, claim: Claim, variant: str) -> Problem:
    kit = f" in the kit {variant}" if variant else ""
    what = (
        f'the plan says that the scale finds "{claim.fault}"{kit} {claim.written:.0%} of the time; by the masses it is '
    )
    return Problem(
        join(f"{path}.finds", claim.fault), f"{what}{claim.computed:.0%}", f"{claim.written:.0%}", level=Level.WARNING
    )
