"""Says where "once a shift" is not what an author may expect: shifts that follow each other without a gap are one."""

from __future__ import annotations

import numpy as np

from linewright.base.problems import Problems
from linewright.network.clock import shift_turns
from linewright.network.model import Cleans, Network, Starts


def warn_of_joined_shifts(network: Network, problems: Problems) -> None:
    """A warning for each cleaning that comes less often than shifts are written, and each start-up that never comes.

    That a machine does not start up where one shift takes over from another is as it should be.
    """
    operations = network.operations
    for o in np.flatnonzero(operations.clean_when == Cleans.SHIFT).tolist():
        begun, written = _begun(network, o), _written(network, o)
        if begun < written:
            joined = f"{operations.ids[o]} has {written} shifts a week, and some follow each other without a gap"
            problems.warn(
                f"{operations.paths[o]}.clean",
                f"{joined}: it is cleaned {begun} times" if begun else f"{joined} all week: it is never cleaned",
                expected="a gap of more than two hours between shifts", hint='after = "day", or every = a count',
            )  # fmt: skip
    for o in np.flatnonzero(operations.start_when == Starts.SHIFT).tolist():
        if _begun(network, o) == 0 < _written(network, o):
            problems.warn(
                f"{operations.paths[o]}.start", f"{operations.ids[o]} is never left, so it never starts up",
                expected="a gap of more than two hours between shifts", hint='after = "stop"',
            )  # fmt: skip


def _begun(network: Network, o: int) -> int:
    """Shifts a week that begin after a gap."""
    return round(shift_turns(network, o).a_day * network.days_week)


def _written(network: Network, o: int) -> int:
    """Shifts a week of an operation's first crew as the plan names them; 0 without a crew."""
    crews = network.operations.crews.row(o)[0]
    if not crews.size:
        return 0
    plan = network.plan
    people = plan.crews[network.crews.ids[int(crews[0])]].people
    return sum(len(plan.shifts[name].days) for name, many in people.items() if many > 0 and name in plan.shifts)
