"""The five symbols of the process chart, after ASME Standard 101 (1947): circle, square, arrow, D and triangle."""

from __future__ import annotations

from linewright.report.map.graph import Kind
from linewright.report.map.place import SYMBOL

NAMES: tuple[tuple[Kind, str], ...] = (
    ("operation", "operation"),
    ("inspection", "inspection"),
    ("transport", "transport"),
    ("delay", "delay"),
    ("storage", "storage"),
    ("route", "route"),
)
"""The symbols as the key of the map lists them."""


def shape(kind: Kind, x: float, y: float, r: float = SYMBOL) -> str:
    """The outline of a symbol around (x, y) as an SVG element, without its class."""
    if kind == "operation":
        return f'<circle cx="{x:g}" cy="{y:g}" r="{r:g}"/>'
    if kind == "inspection":
        s = r * 0.92
        return f'<rect x="{x - s:g}" y="{y - s:g}" width="{2 * s:g}" height="{2 * s:g}" rx="1.5"/>'
    if kind == "transport":
        return (
            f'<path d="M{x - r:g} {y - r * 0.5:g}H{x + r * 0.15:g}V{y - r:g}L{x + r:g} {y:g}'
            f'L{x + r * 0.15:g} {y + r:g}V{y + r * 0.5:g}H{x - r:g}Z"/>'
        )
    if kind == "delay":
        s = r * 0.88
        return f'<path d="M{x - r:g} {y - s:g}H{x + r - s:g}A{s:g} {s:g} 0 0 1 {x + r - s:g} {y + s:g}H{x - r:g}Z"/>'
    if kind == "route":
        return f'<rect x="{x - r:g}" y="{y - r * 0.8:g}" width="{2 * r:g}" height="{1.6 * r:g}" rx="{r * 0.8:g}"/>'
    return f'<path d="M{x - r:g} {y - r * 0.85:g}H{x + r:g}L{x:g} {y + r * 0.95:g}Z"/>'


def colour(kind: Kind) -> str:
    """The name of the colour of a symbol."""
    return {"product": "storage", "route": "operation"}.get(kind, kind)
