"""Which product bears what? The cost of a route follows its item to those who use it, down to what is demanded.

The rule, told with every result of several products: an item's cost goes to its users in proportion to the units they
use, and to demand in proportion to the units delivered. A by-product carries no cost of the route that gives it.
"""

from __future__ import annotations

import numpy as np

from linewright.cost.daily import spread
from linewright.flow.model import Flow
from linewright.network.model import Floats, Network

RULE = (
    "Costs follow the items: each goes to its users by the units they use and to the demand by the units delivered; a "
    "by-product carries none of the cost of its route. What nobody uses, idle hours of crews that work for no product, "
    "and overhead by the day are shared by direct cost; other idle hours by the hours a crew works for each product."
)


def shares_of_products(network: Network, flow: Flow, products: list[int]) -> Floats:
    """[n_products, n_operations] the part of each operation that is done for each product; columns add to 1 or to 0.

    Solves W = D + U W on the items: D what is delivered, U what routes use of an item, over all that leaves it.
    """
    from scipy.sparse import coo_array, eye_array
    from scipy.sparse.linalg import splu

    n_items = len(network.items.ids)
    route = network.operations.route
    if len(products) == 1:
        return np.ones((1, len(route)))
    item, operation, units = spread(flow.item_use)
    leaves = flow.delivered + np.bincount(item, units, minlength=n_items)
    share = np.divide(units, leaves[item], out=np.zeros(len(units)), where=leaves[item] > 0)
    target = network.routes.item[route[operation]]
    uses = coo_array((share, (item, target)), shape=(n_items, n_items)).tocsc()
    solver = splu((eye_array(n_items, format="csc") * (1 + 1e-12) - uses).tocsc())
    rows = []
    for product in products:
        own = np.zeros(n_items)
        own[product] = flow.delivered[product] / leaves[product] if leaves[product] > 0 else 0.0
        rows.append(np.clip(solver.solve(own), 0.0, 1.0))
    weights = np.array(rows)[:, network.routes.item[route]]
    total = weights.sum(axis=0)
    found: Floats = np.divide(weights, total, out=np.zeros_like(weights), where=total > 1e-9)
    return found
