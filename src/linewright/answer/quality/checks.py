"""What every check does in a working day: how many pieces it looks at, rejects, scraps and sends back."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from linewright.answer.quality.model import CheckLoad
from linewright.flow.model import Flow
from linewright.network.journeys import Journeys, journeys
from linewright.network.model import Floats, Inspection, Network
from linewright.plan.model import Check, Operation
from linewright.quality.release import FirstPiece, HoldBack, first_piece, hold_back


def journeys_of(network: Network, flow: Flow, keeps: Floats) -> Journeys:
    """The journeys that a balance settled on; ``keeps`` [n_operations] what start-up losses leave.

    They are not followed anew where neither a mix nor a loss at starting up is in them.
    """
    plain = not network.choices and len(set(network.routes.item.tolist())) == len(network.routes.ids)
    if plain and (keeps == 1).all():
        return journeys(network)
    return journeys(network, flow.mix, flow.choice_mix, keeps)


def check_loads(network: Network, flow: Flow, journey: Journeys) -> tuple[CheckLoad, ...]:
    """Every check in plan order, with the pieces of a working day at the demand, those of all variants together."""
    origin = network.origin
    plan = network.plan if origin is None else origin.plan
    operations = [o for route in plan.routes.values() for o in route.operations]
    numbers = np.arange(len(network.operations.ids)) if origin is None else origin.operation
    found: dict[int, CheckLoad] = {}
    for check in network.inspections:
        number = int(numbers[check.operation])
        load = _load(network, flow, journey, check, operations[number])
        found[number] = load if number not in found else _together(found[number], load)
    return tuple(found[number] for number in sorted(found))


def _together(a: CheckLoad, b: CheckLoad) -> CheckLoad:
    """The check of two variants."""
    sums = {name: getattr(a, name) + getattr(b, name) for name in _COUNTS}
    return replace(a, **sums)


_COUNTS = ("comes", "looked_at", "sent_back", "scrapped", "seconds", "good_rejected")


def _load(network: Network, flow: Flow, journey: Journeys, check: Inspection, operation: Operation) -> CheckLoad:
    o = check.operation
    started = float(flow.started[network.operations.route[o]])
    comes = float(flow.runs[o]) * float(network.operations.survives[o])
    again = float(flow.runs[o] - flow.first_runs[o]) * float(network.operations.survives[o])
    back = started * sum(n for (at, _), n in journey.reworks.items() if at == o)
    others = {"yield", "start-up"}
    scrapped = started * sum(n for (at, why), n in journey.scrap.items() if at == o and why not in others)
    seconds = started * sum(n for (at, _), n in journey.seconds.items() if at == o)
    looked = (comes - again) / check.one_in + again
    rejected = back + scrapped + seconds
    # A false alarm strikes where nothing was found: looked at, less what was found, times the share
    alarms = (looked - rejected) * check.false_alarms / (1 - check.false_alarms) if check.false_alarms < 1 else rejected
    written = operation.check
    assert written is not None
    return CheckLoad(
        operation.id, comes, looked, back, scrapped, seconds, alarms, _first(operation, written), _held(check, written)
    )


def _first(operation: Operation, check: Check) -> FirstPiece | None:
    """What first pieces let through; None where the plan does not say how often a setup is wrong."""
    first = check.first_pieces
    if first is None or first.setup_wrong is None:
        return None
    every = operation.setup.every if operation.setup is not None else None
    return first_piece(
        first.pieces,
        setup_wrong=first.setup_wrong,
        faulty_when_wrong=first.faulty_when_wrong,
        finds=min(check.finds.values(), default=1.0),
        false_alarms=check.false_alarms,
        run=round(every.value) if every is not None else 0,
    )


def _held(check: Inspection, written: Check) -> HoldBack | None:
    """How far back a failed sample holds: to the last good one, and further where a check may miss."""
    finds = [share for share in check.finds if share > 0]
    if not written.hold_back or not finds:
        return None
    return hold_back(check.one_in, finds=min(finds))
