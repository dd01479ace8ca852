"""Charts as pictures: Vega-Lite specifications drawn to SVG, and made to answer the pointer in a page without network.

Drawing needs the extra ``charts``. Without it a report stands without charts and says so.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from linewright.report.chart import Chart, Spec
from linewright.report.palette import LIGHT
from linewright.report.pen import Pen

HINT = 'Charts need the extra "charts": pip install "linewright[charts]".'


def can_draw() -> bool:
    """Whether the extra ``charts`` is installed."""
    from importlib.util import find_spec

    return find_spec("vl_convert") is not None


def to_svg(spec: Spec) -> str:
    """The chart as SVG text; its colours follow the page. Raises ImportError where the extra is missing."""
    import vl_convert

    return recoloured(str(vl_convert.vegalite_to_svg(spec)))


def drawn(charts: Mapping[str, Chart], lines: str | None = None, pen: Pen | None = None) -> dict[str, str]:
    """All charts of a page as SVG text by name, drawn in a process of their own where one can be begun.

    With ``lines`` the library of a live page is made and kept on the way, where it is not there yet. ``pen`` is one
    that has begun already.
    """
    if not charts or not can_draw():
        return {}
    if pen is None:
        with Pen() as own:
            return drawn(charts, lines, own)
    pen.draw(chart.spec for chart in charts.values())
    if lines is not None and _kept_library(lines) is None:
        _keep_library(lines, pen.library(lines))
    return {name: recoloured(pen.picture(chart.spec)) for name, chart in charts.items()}


def to_png(spec: Spec, scale: float = 2.0) -> bytes:
    """The chart as a PNG picture on a white ground."""
    import vl_convert

    config = {**spec.get("config", {}), "background": "white"}
    return bytes(vl_convert.vegalite_to_png({**spec, "config": config}, scale=scale))


def recoloured(svg: str) -> str:
    """The picture with every colour of the palette named as a style variable, so that it follows light and dark."""
    names = {value.lower(): name for name, value in reversed(list(LIGHT.items()))}

    def named(match: re.Match[str]) -> str:
        name = names.get(match[2].lower())
        return match[0] if name is None else f'{match[1]}="var(--lw-{name},{match[2]})"'

    return re.sub(r'\b(fill|stroke)="(#[0-9a-fA-F]{6})"', named, svg)


def script_text(data: Any) -> str:
    """Data as JSON that may stand inside a script element: nothing in it can end the element or begin a comment."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return (
        text.replace("<", "\\u003c").replace(">", "\\u003e").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
    )


@lru_cache(maxsize=2)
def library(lines: str) -> str:
    """The charting library with a few lines of ours, as one text; as it takes a second to make, it is kept on disk."""
    kept = _kept_library(lines)
    if kept is not None:
        return kept
    import vl_convert

    return _keep_library(lines, str(vl_convert.javascript_bundle(lines)))


def _kept_library(lines: str) -> str | None:
    place = _kept(_mark(lines))
    return _read(place) if place is not None else None


def _keep_library(lines: str, made: str) -> str:
    """The library as it may stand inside a script element, kept for the next time."""
    text = made.replace("</script", "<\\/script").replace("<!--", "<\\!--")
    place = _kept(_mark(lines))
    if place is not None:
        _keep(place, text)
    return text


def _mark(lines: str) -> str:
    from importlib.metadata import version

    return hashlib.sha256(f"{version('vl-convert-python')}\n{lines}".encode()).hexdigest()


def _kept(mark: str) -> Path | None:
    """Where the library is kept on this machine; None where there is no such place."""
    try:
        from platformdirs import user_cache_path

        return user_cache_path("linewright") / f"charts-{mark[:24]}.js"
    except (ImportError, OSError):
        return None


def _read(kept: Path) -> str | None:
    """What was kept; None where it is not there or not whole: its first line is the digest of the rest."""
    try:
        digest, _, text = kept.read_text(encoding="utf-8").partition("\n")
    except (OSError, UnicodeDecodeError):
        return None
    return text if digest == hashlib.sha256(text.encode()).hexdigest() else None


def _keep(kept: Path, text: str) -> None:
    """Keep it for the next time, whole or not at all; a machine without room for it only is slower."""
    try:
        kept.parent.mkdir(parents=True, exist_ok=True)
        part = kept.with_suffix(f".{os.getpid()}")
        part.write_text(f"{hashlib.sha256(text.encode()).hexdigest()}\n{text}", encoding="utf-8", newline="\n")
        part.replace(kept)
    except OSError:
        return


def drawn_for_page(charts: Mapping[str, Chart], *, live: bool, pen: Pen | None = None) -> dict[str, str]:
    """As ``drawn``; for a ``live`` page with the library that it will carry."""
    return drawn(charts, _LIVE if live else None, pen)


def live_script(charts: Mapping[str, Chart]) -> str:
    """Script elements that make the charts of a page answer the pointer: the whole library, inline.

    The pictures stay as they are until a reader points at one or moves to it with the keyboard.
    """
    # Without the schema's address: the bundled library may be newer and would only remark on it.
    specs = {name: {k: v for k, v in c.spec.items() if k != "$schema"} for name, c in charts.items()}
    return (
        f'<script type="application/json" id="lw-specs">{script_text({"specs": specs, "palette": LIGHT})}</script>'
        f"<script>{library(_LIVE)}</script>"
    )


_LIVE = """
const held = JSON.parse(document.getElementById("lw-specs").textContent);
function themed(value) {
  if (typeof value === "string") {
    for (const [name, colour] of Object.entries(held.palette)) {
      if (colour === value) return "var(--lw-" + name + "," + colour + ")";
    }
    return value;
  }
  if (Array.isArray(value)) return value.map(themed);
  if (value && typeof value === "object") {
    const parts = Object.entries(value).map(([key, part]) => [key, key === "values" ? part : themed(part)]);
    return Object.fromEntries(parts);
  }
  return value;
}
const refused = () => Promise.reject(new Error("this page loads nothing"));
const loader = { load: refused, sanitize: refused };
for (const place of document.querySelectorAll("[data-chart]")) {
  const spec = held.specs[place.dataset.chart];
  if (!spec) continue;
  const wake = () => {
    if (place.dataset.live) return;
    place.dataset.live = "waking";
    const still = place.innerHTML;
    const tooltip = { theme: "custom" };
    const options = { mode: "vega-lite", actions: false, renderer: "svg", loader: loader, tooltip: tooltip };
    vegaEmbed(place, themed(spec), options).then(() => { place.dataset.live = "yes"; })
      .catch((wrong) => { place.innerHTML = still; place.dataset.live = "no"; console.error(wrong); });
  };
  place.addEventListener("pointerenter", wake, { once: true });
  place.addEventListener("focusin", wake, { once: true });
}
"""
