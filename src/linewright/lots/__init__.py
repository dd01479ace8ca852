"""How many to make at once: the lot that costs least, for even and for uneven demand."""

from linewright.lots.even import LotCost, economic_lot, lot_cost
from linewright.lots.uneven import LotPlan, least_cost_lots

__all__ = ["LotCost", "LotPlan", "economic_lot", "least_cost_lots", "lot_cost"]
