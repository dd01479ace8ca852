"""Windows: they begin at an earlier operation of the route, and send nothing back into themselves."""

from __future__ import annotations

from linewright.plan.model import Plan
from linewright.plan.reading import Reading
from linewright.plan.whole import Placed, reactions_of


def check_waits(plan: Plan, placed: list[Placed], reading: Reading) -> None:
    """Note the problems of windows."""
    for one in placed:
        wait = one.operation.wait
        if wait is None:
            continue
        order = {o.id: k for k, o in enumerate(plan.routes[one.route].operations)}
        here, begins = order.get(one.operation.id, 0), order.get(wait.after)
        path = f"{one.path}.wait"
        if begins is None:
            what = f'{one.title} waits after "{wait.after}", which is in another route'
            reading.error(f"{path}.after", what, wait.after, "an earlier operation of the same route")
            continue
        if begins >= here:
            what = f'{one.title} waits after "{wait.after}", which does not come before it'
            reading.error(f"{path}.after", what, wait.after, "an earlier operation of the same route")
            continue
        for place, reaction in reactions_of(one):
            back = order.get(reaction.rework or "")
            if ".wait." in place and back is not None and back > begins:
                what = f'"{reaction.rework}" comes after "{wait.after}": sent back there the window would stay closed'
                expected = f'"{wait.after}" or an operation before it'
                reading.error(f"{place}.rework", what, reaction.rework, expected)
