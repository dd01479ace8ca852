"""Why a balance has no answer, in the plan's words: which item is taken more than it can ever be made, and by whom."""

from __future__ import annotations

import numpy as np

from linewright.base.problems import Problems
from linewright.flow.columns import Sources, System
from linewright.network.equations import Equations
from linewright.network.loops import loop_of_item
from linewright.network.model import Floats, Network


def without_source(network: Network, where: Sources, problems: Problems) -> None:
    """A problem for every item that is wanted and that nobody makes, buys or gives."""
    none = where.wanted & (where.routes == 0) & ~where.beside & ~where.buyable & ~where.returns
    for item in np.flatnonzero(none).tolist():
        name = network.items.ids[item]
        problems.error(
            f"items.{name}",
            f"{name} is taken, and nothing makes it, gives it or buys it",
            hint=f'write items.{name}.buy = "1 {network.plan.money}", free = true, or a route that gives it',
        )


def nothing_gets_through(network: Network, rows: Equations, problems: Problems) -> None:
    """A problem for every route of which nothing good ever comes out."""
    for route in np.flatnonzero(~(rows.main > 0)).tolist():
        name = network.routes.ids[route]
        problems.error(f"routes.{name}", f"nothing good ever comes out of route {name}: all of it is lost on the way")


def explain_shortage(network: Network, rows: Equations, system: System, problems: Problems) -> None:
    """Ask a linear program for the least that is missing, and name it; at least one problem is added."""
    from scipy.optimize import linprog
    from scipy.sparse import coo_array, hstack

    height, width = system.matrix.shape
    n = system.items.size
    helps = coo_array((np.ones(n), (np.arange(n), np.arange(n))), shape=(height, n))
    matrix = hstack([system.matrix, helps]).tocsc()
    scale = float(np.abs(system.right).max(initial=0.0)) or 1.0
    cost = np.concatenate([np.zeros(width), np.ones(n)])
    found = linprog(cost, A_eq=matrix, b_eq=system.right / scale, method="highs")
    missing = np.asarray(found.x)[width:] * scale if found.status == 0 else np.zeros(n)
    short = np.flatnonzero(missing > 1e-9 * scale)
    for k in short.tolist():
        _say_short(network, rows, int(system.items[k]), float(missing[k]), problems)
    if not short.size:
        problems.error(
            "routes",
            "the balance cannot be met: the declared shares contradict each other or ask for more than can be made",
            hint="leave out one share",
        )


def _say_short(network: Network, rows: Equations, item: int, missing: float, problems: Problems) -> None:
    items = network.items
    name, unit = items.ids[item], items.units[item]
    made, used = rows.made[[item], :].toarray().ravel(), rows.used[[item], :].toarray().ravel()
    makers = [network.routes.ids[r] for r in np.flatnonzero(made > 0)]
    users = [network.routes.ids[r] for r in np.flatnonzero(used > 0)]
    eaten = [
        f"route {network.routes.ids[r]} uses {used[r]:.6g} {unit} for every {made[r]:.6g} {unit} that it gives"
        for r in np.flatnonzero((made > 0) & (used >= made))
    ]
    loop = loop_of_item(network, item)
    if eaten:
        hint = eaten[0]
    elif loop:
        hint = f"it goes round through {', '.join(loop)}: on the way round at least as much is used as comes back"
    else:
        hint = f"made by {', '.join(makers) or 'nobody'}, taken by {', '.join(users) or 'the demand'}"
    problems.error(
        f"items.{name}",
        f"more {name} is taken than can ever be made: {missing:.6g} {unit} are missing every working day",
        hint=hint,
    )


def explain_unbounded(network: Network, problems: Problems) -> None:
    """Going round a loop for ever would pay: a mistake of prices or of amounts."""
    sold = [name for name, sell in zip(network.items.ids, network.items.sell, strict=True) if sell > 0]
    problems.error(
        "items",
        "the cheapest balance has no end: a loop of routes would earn money by going round, whatever is demanded",
        hint=f"look at what is sold as surplus ({', '.join(sold) or 'nothing'}) and at what the loop takes and gives",
    )


def full_stores(network: Network, surplus: Floats, problems: Problems) -> None:
    """A problem for every finite store into which more comes than anybody takes out."""
    scale = float(np.abs(surplus).max(initial=0.0))
    for item in np.flatnonzero((network.item_store >= 0) & (surplus > 1e-9 * scale)).tolist():
        name, unit = network.items.ids[item], network.items.units[item]
        store = network.stores.ids[int(network.item_store[item])]
        problems.error(
            f"items.{name}.store",
            f"{surplus[item]:.6g} {unit} of {name} a working day go into {store}, and nobody takes them out",
            hint=f"give {name} a user, or leave out its store (then it is left over)",
        )
