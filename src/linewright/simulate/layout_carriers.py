"""Carriers as rows: their times and keys, the operations that put pieces on and take them off, who must look again."""

from __future__ import annotations

from linewright.network.carriers import carriers_of
from linewright.network.reactions import sent_back
from linewright.simulate.kernel import rows as r
from linewright.simulate.layout_base import Layout, key_of, table_of, time_row


def lay_out_carriers(layout: Layout) -> None:
    """The rows of all kinds of carriers; operations and visits are laid out already."""
    network, b = layout.network, layout.builder
    carriers = network.carriers
    layout.carriers = table_of(layout, r.CARRIERS, len(carriers.ids), r.CARRIER_WIDTH, r.CARRIER)
    for k, row in enumerate(layout.carriers):
        b.m[row + r.Y_FREE] = b.m[row + r.Y_COUNT] = int(carriers.count[k])
        b.m[row + r.Y_HOLDS] = int(carriers.holds[k])
        b.m[row + r.Y_WAY] = time_row(layout, carriers.way_back, k)
        b.m[row + r.Y_KEY], b.m[row + r.Y_KEY_HIGH] = key_of(f"carriers/{carriers.ids[k]}")
        if carriers.between.mean[k] > 0:
            b.m[row + r.Y_BETWEEN] = time_row(layout, carriers.between, k)
            b.m[row + r.Y_REPAIR] = time_row(layout, carriers.repair, k)
        b.m[row + r.Y_STATIONS] = b.list_of(_openers(layout, k)) or b.row(1)
        for item in carriers.items.row(k)[0].tolist():
            b.m[layout.items[item] + r.I_TRACED] = 1
    joins = carriers_of(carriers.joins, len(layout.operations))
    leaves = carriers_of(carriers.leaves, len(layout.operations))
    for o, row in enumerate(layout.operations):
        b.m[row + r.O_JOINS] = b.list_of(layout.carriers[k] for k in joins[o])
        b.m[row + r.O_LEAVES] = b.list_of(layout.carriers[k] for k in leaves[o])


def _openers(layout: Layout, carrier: int) -> list[int]:
    """Stations where a visit begins with an operation that puts pieces on this carrier, with a rework or anew."""
    network, b = layout.network, layout.builder
    back_to = {to for _, to in sent_back(network)}
    found: list[int] = []
    for o in network.carriers.joins.row(carrier)[0].tolist():
        visit = int(network.operations.visit[o])
        if int(network.visits.first[visit]) == o or o in back_to:
            at = b.m[layout.visits[visit] + r.V_STATIONS]
            found += [b.m[at + 1 + k] for k in range(b.m[at])]
    return list(dict.fromkeys(found))
