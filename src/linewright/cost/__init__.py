"""What one costs, and of what that is made up."""

from linewright.cost.measure import cost_of_one
from linewright.cost.model import Cost

__all__ = ["Cost", "cost_of_one"]
