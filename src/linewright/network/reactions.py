"""What a check does with a piece: which reaction holds where several could, and with what probability."""

from __future__ import annotations

from linewright.network.model import Fate, Inspection, Network, Reject


def bits_looked_for(check: Inspection) -> int:
    """The faults a check looks for, as bits."""
    bits = 0
    for fault in check.faults:
        bits |= 1 << fault
    return bits


def outcomes(
    check: Inspection, mask: int, count: int, names: tuple[str, ...]
) -> tuple[list[tuple[float, Reject, str]], float]:
    """What a check does with a piece of faults ``mask`` that it has sent back ``count`` times.

    (probability, reaction, reason) of being rejected, gravest first, and the probability of passing. Of several
    faults with one reaction the first that the check lists is the reason.
    """
    present = [
        (gravity(effective), fault, share, effective)
        for fault, share, reject in zip(check.faults, check.finds, check.rejects, strict=True)
        if mask >> fault & 1 and share > 0
        for effective in [effective_reject(reject, count)]
    ]
    left = 1.0
    rejected: list[tuple[float, Reject, str]] = []
    for _, fault, share, reject in sorted(present, key=lambda row: row[0]):
        rejected.append((left * share, reject, names[fault]))
        left *= 1 - share
    if check.false_alarms > 0:
        rejected.append((left * check.false_alarms, effective_reject(check.other, count), "false alarm"))
        left *= 1 - check.false_alarms
    return rejected, left


def effective_reject(reject: Reject, count: int) -> Reject:
    """What a reaction comes to for a piece already reworked ``count`` times by this check: rework, or else."""
    limit = 0
    now = reject
    while now.fate is Fate.REWORK:
        limit += now.at_most
        if count < limit:
            return now
        if now.otherwise is None:
            return Reject(Fate.SCRAP)
        now = now.otherwise
    return now


def chain_of(reject: Reject) -> list[Reject]:
    """A reaction and what it comes to when it is used up, one after the other."""
    found = [reject]
    while found[-1].otherwise is not None:
        found.append(found[-1].otherwise)
    return found


def reworks_of(check: Inspection) -> list[Reject]:
    """The reactions of a check that send a piece back, those among them that follow when another is used up."""
    chains = (chain_of(first) for first in (*check.rejects, check.other))
    return [reject for chain in chains for reject in chain if reject.fate is Fate.REWORK]


def sent_back(network: Network) -> set[tuple[int, int]]:
    """Operations (at, to): a check or a closed window at one sends pieces back to the other."""
    found = {(check.operation, reject.to) for check in network.inspections for reject in reworks_of(check)}
    for o, first in zip(network.windows.operation.tolist(), network.windows.rejects, strict=True):
        found |= {(o, reject.to) for reject in chain_of(first) if reject.fate is Fate.REWORK}
    return found


def gravity(reject: Reject) -> tuple[int, int, bool]:
    """Order of reactions, gravest first: scrap, seconds, rework; of reworks the furthest back, then with new parts."""
    return {Fate.SCRAP: 0, Fate.SECONDS: 1, Fate.REWORK: 2}[reject.fate], reject.to, not reject.takes_again
