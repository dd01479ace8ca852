"""Who does what: the work of a line shared over stations, with a proof or an honest gap.

``make_line`` or ``read_graph`` gives a ``Line``; ``balance`` answers; ``verify`` checks any answer. Needs no plan.
"""

from linewright.balance.engines import support
from linewright.balance.graphs import Graph, read_graph
from linewright.balance.line import Line, make_line
from linewright.balance.result import Balance, Curve, Station
from linewright.balance.rules import Crew, Rules
from linewright.balance.solve import balance, curve
from linewright.balance.verify import verify

__all__ = [
    "Balance",
    "Crew",
    "Curve",
    "Graph",
    "Line",
    "Rules",
    "Station",
    "balance",
    "curve",
    "make_line",
    "read_graph",
    "support",
    "verify",
]
