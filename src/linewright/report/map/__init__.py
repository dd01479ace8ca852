"""The process map: a plan drawn as a process chart with branches, merges and loops."""

from linewright.report.map.draw import process_map

__all__ = ["process_map"]
