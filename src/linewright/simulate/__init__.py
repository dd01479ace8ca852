"""What really happens on the floor: the plan played event by event, with honest intervals. See docs/simulate.md."""

from linewright.simulate.compare import Comparison, compare
from linewright.simulate.letting_in import Quotas
from linewright.simulate.model import STATES, Estimates, Simulation
from linewright.simulate.simulate import simulate

__all__ = ["STATES", "Comparison", "Estimates", "Quotas", "Simulation", "compare", "simulate"]
