"""The material balance: what goes in and out, and how often every operation runs."""

from linewright.flow.model import Escape, Flow, Scrap
from linewright.flow.solve import solve_flow

__all__ = ["Escape", "Flow", "Scrap", "solve_flow"]
