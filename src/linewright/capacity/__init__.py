"""Takt, loads, people needed, the greatest rate as a bound, and estimates of waiting."""

from linewright.capacity.measure import measure_capacity
from linewright.capacity.model import Capacity

__all__ = ["Capacity", "measure_capacity"]
