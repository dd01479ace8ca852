"""Pictures fit for paper: colours written out, in the font of the paper, and a long map cut between its bands."""

from __future__ import annotations

import re
from functools import lru_cache

from linewright.report.chart import Spec
from linewright.report.drawing import can_draw
from linewright.report.papers.press import FONT, font_folder


def for_paper(svg: str) -> str:
    """An SVG picture of ours with the light colours written out and its texts in the font of the paper."""
    svg = re.sub(r"var\(--lw-[\w-]+,\s*(#[0-9a-fA-F]{3,8})\)", r"\1", svg)
    svg = re.sub(r"font-family:[^;}\"]+", f"font-family:'{FONT}'", svg)
    return re.sub(r'font-family="[^"]*"', f'font-family="{FONT}"', svg).replace("font-weight:650", "font-weight:600")


def chart_for_paper(spec: Spec) -> str | None:
    """A chart as SVG text in the font of the paper; None where the extra ``charts`` is missing."""
    if not can_draw():
        return None
    import vl_convert

    _register()
    config = {**spec.get("config", {}), "font": FONT}
    return for_paper(str(vl_convert.vegalite_to_svg({**spec, "config": config})))


@lru_cache(maxsize=1)
def _register() -> None:
    """Let the drawer measure texts in the font of the paper."""
    import vl_convert

    vl_convert.register_font_directory(str(font_folder()))
