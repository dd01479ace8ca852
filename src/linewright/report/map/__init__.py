"""The process map: a plan drawn as a process chart with branches, merges and loops."""

from linewright.report.map.draw import map_pages, map_style, process_map

__all__ = ["map_pages", "map_style", "process_map"]
