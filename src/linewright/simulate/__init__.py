"""What really happens on the floor: the plan played event by event, with honest intervals. See docs/simulate.md."""

from linewright.simulate.compare import Comparison, compare
from linewright.simulate.letting_in import Quotas, few_open
from linewright.simulate.model import STATES, Escaped, Estimates, Simulation
from linewright.simulate.simulate import make_ready, simulate
from linewright.simulate.stuck import StuckError

__all__ = [
    "STATES",
    "Comparison",
    "Escaped",
    "Estimates",
    "Quotas",
    "Simulation",
    "StuckError",
    "compare",
    "few_open",
    "make_ready",
    "simulate",
]
