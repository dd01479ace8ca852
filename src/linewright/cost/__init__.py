"""What one costs, and of what that is made up."""

from linewright.cost.measure import cost_of_one
from linewright.cost.model import Cost, ProductCost

__all__ = ["Cost", "ProductCost", "cost_of_one"]
