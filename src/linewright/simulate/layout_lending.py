"""Who can do whose work, in the kernel's memory."""

from __future__ import annotations

import numpy as np

from linewright.simulate.kernel import rows as r
from linewright.simulate.layout_base import Layout, table_of


def lay_out_lending(layout: Layout) -> None:
    """The lends, the crews' lists of them, and the row for a team; nothing where nobody can do another's work."""
    network, b = layout.network, layout.builder
    lends, p = network.crews.lends, network.operations
    if not len(lends):
        return
    layout.lends = table_of(layout, r.LENDS, len(lends), r.LEND_WIDTH, 0)
    for k, row in enumerate(layout.lends):
        b.m[row + r.LEND_FROM] = layout.crews[int(lends.lender[k])]
        b.m[row + r.LEND_MOST] = int(lends.people[k]) * r.PERSON
        b.x[row + r.LEND_SLOWER] = 1 / float(lends.pace[k])
    for crew, row in enumerate(layout.crews):
        b.m[row + r.C_LENDERS] = b.list_of([layout.lends[k] for k in lends.for_crew(crew)])
        helped = lends.to[lends.lender == crew].tolist()
        b.m[row + r.C_BORROWERS] = b.list_of([layout.crews[c] for c in helped])
    b.m[r.TEAM] = b.row(1 + r.MEMBER_WIDTH * most_members(layout))
    for o in np.flatnonzero(p.continuous).tolist():
        crews = b.m[layout.operations[o] + r.O_CREWS]
        if crews:
            b.x[crews] = 1.0  # a rate is the machine's: it is not slower with other people


def most_members(layout: Layout) -> int:
    """The most members of a team: of every crew asked for its own, and those of every lend."""
    network = layout.network
    p = network.operations
    links = (p.crews, p.setup_crews, p.clean_crews, network.stoppages.crews, network.cares.crews)
    asked = max((int(np.diff(one.starts).max(initial=0)) for one in links), default=0)
    return asked + len(network.crews.lends)
