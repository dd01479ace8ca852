"""What all charts share: a name, a sentence, one Vega-Lite specification as plain data, and our own light look."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from linewright.report.palette import LIGHT

SCHEMA = "https://vega.github.io/schema/vega-lite/v5.json"
WIDTH = 620
ROW = 24

Spec = dict[str, Any]

LOOK: Spec = {
    "background": None,
    "padding": 4,
    "font": "Arial, Helvetica, 'Liberation Sans', sans-serif",
    "view": {"stroke": None},
    "axis": {
        "labelColor": LIGHT["soft"], "titleColor": LIGHT["soft"], "gridColor": LIGHT["line"],
        "domain": False, "ticks": False, "labelFontSize": 12, "titleFontSize": 12, "titleFontWeight": "normal",
        "labelLimit": 230, "tickCount": 6, "labelPadding": 6,
    },
    "axisY": {"grid": False, "labelColor": LIGHT["ink"]},
    "axisQuantitative": {"format": ",~f"},
    "legend": {
        "labelColor": LIGHT["ink"], "orient": "top", "direction": "horizontal", "labelFontSize": 12,
        "symbolType": "square", "symbolStrokeWidth": 0, "title": None, "columns": 8, "offset": 8,
    },
    "bar": {"height": {"band": 0.66}},
    "text": {"fontSize": 12, "color": LIGHT["ink"]},
    "rule": {"color": LIGHT["limit"], "strokeWidth": 1.5},
}  # fmt: skip
"""What all charts share."""


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart: its name in the page, the sentence that says what it shows, and its specification."""

    name: str
    caption: str
    spec: Spec

    def _repr_mimebundle_(self, include: Any = None, exclude: Any = None) -> dict[str, Any]:  # noqa: ARG002
        """What a notebook shows: the specification for those that draw it, the picture, and the sentence."""
        from linewright.report.drawing import can_draw, to_svg

        drawn = {"image/svg+xml": to_svg(self.spec)} if can_draw() else {}
        return {"application/vnd.vegalite.v5+json": self.spec, **drawn, "text/plain": self.caption}


def specification(title: str, rows: int, **parts: Any) -> Spec:
    """A specification of so many rows with the shared look; ``title`` is read aloud."""
    return {
        "$schema": SCHEMA,
        "description": title,
        "width": WIDTH,
        "height": max(1, rows) * ROW,
        "config": LOOK,
        **parts,
    }
