"""Sets of variants that are taken together: a left and a right of one size. What lies without its mate is counted."""

from __future__ import annotations

from linewright.network.model import Network
from linewright.simulate.kernel import rows as r
from linewright.simulate.layout_base import Layout

Mates = tuple[tuple[int, float], ...]
"""Items of the network, and how many of each make one."""


def mates_of(network: Network) -> dict[str, Mates]:
    """Every set that an operation takes, by the item and the values that its variants have in common."""
    origin = network.origin
    if origin is None:
        return {}
    found: dict[str, Mates] = {}
    for o in range(len(network.operations.ids)):
        index, units = network.operations.takes.row(o)
        groups: dict[int, list[tuple[int, float]]] = {}
        for item, need in zip(index.tolist(), units.tolist(), strict=True):
            groups.setdefault(int(origin.item[item]), []).append((item, need))
        for written, members in groups.items():
            if len(members) > 1:
                every = [set(origin.values[item]) for item, _ in members]
                alike = [
                    value for option, value in origin.values[members[0][0]] if all((option, value) in e for e in every)
                ]
                name = origin.items[written]
                found.setdefault(f"{name} [{', '.join(alike)}]" if alike else name, tuple(members))
    return found


def lay_out_mates(layout: Layout) -> None:
    """Rows of the sets; an item that is in several is counted in the first."""
    b = layout.builder
    for name, members in mates_of(layout.network).items():
        if any(b.m[layout.items[item] + r.I_MATES] for item, _ in members):
            continue
        row = b.row(r.M_ITEMS + len(members))
        b.m[row] = len(members)
        for k, (item, need) in enumerate(members):
            b.m[row + r.M_ITEMS + k] = layout.items[item]
            b.x[row + r.M_ITEMS + k] = need
            b.m[layout.items[item] + r.I_MATES] = row
        layout.mates[name] = row
