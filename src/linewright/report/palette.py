"""The colours of every picture and page: our own, in a light and a dark set, with text contrast of 4.5 to 1 or more.

Pictures use the light value and carry the name as a style variable, so that a page switches both sets at once.
"""

from __future__ import annotations

from collections.abc import Mapping

LIGHT: Mapping[str, str] = {
    "paper": "#fbfaf6",
    "card": "#ffffff",
    "ink": "#1c2b2d",
    "soft": "#55656a",
    "line": "#d9d8cf",
    "faint": "#efeee7",
    "accent": "#24685a",
    "wire": "#6d7f82",
    "operation": "#24685a",
    "operation-fill": "#dff0e8",
    "inspection": "#8a5a00",
    "inspection-fill": "#fbeccb",
    "transport": "#43589b",
    "transport-fill": "#e3e8f8",
    "delay": "#7a4a86",
    "delay-fill": "#f1e4f4",
    "storage": "#5e594c",
    "storage-fill": "#eae7dc",
    "rework": "#b03a1f",
    "recycle": "#2c6da3",
    "limit": "#d1541c",
    "limit-fill": "#fde3d3",
    "good": "#24685a",
    "bad": "#a8321a",
    "working": "#2f7f6d",
    "setting-up": "#d3a02c",
    "cleaning": "#5aa3bf",
    "start-up": "#9c84c2",
    "moving": "#6c7fc0",
    "standing": "#a9c6a5",
    "down": "#b0442b",
    "blocked": "#8a5b45",
    "short": "#d99a83",
    "no-crew": "#8b939c",
    "no-tool": "#b58fa8",
    "free": "#e4e2d8",
}
"""The light set: names of what a colour stands for, and its value."""

DARK: Mapping[str, str] = {
    "paper": "#141c1e",
    "card": "#1b2527",
    "ink": "#e8ece8",
    "soft": "#a3b1b2",
    "line": "#364345",
    "faint": "#222e30",
    "accent": "#7cc7b2",
    "wire": "#8fa1a4",
    "operation": "#7cc7b2",
    "operation-fill": "#1f3d36",
    "inspection": "#e6b85c",
    "inspection-fill": "#40341a",
    "transport": "#a3b4ee",
    "transport-fill": "#283150",
    "delay": "#cf9fdb",
    "delay-fill": "#3a2940",
    "storage": "#bdb6a3",
    "storage-fill": "#35332a",
    "rework": "#f0866a",
    "recycle": "#7db9ea",
    "limit": "#f08a52",
    "limit-fill": "#4a2a18",
    "good": "#7cc7b2",
    "bad": "#f0866a",
    "working": "#4fa891",
    "setting-up": "#d9ae4a",
    "cleaning": "#6db4cf",
    "start-up": "#ad97d1",
    "moving": "#8394d3",
    "standing": "#6f9570",
    "down": "#d0634a",
    "blocked": "#a8765d",
    "short": "#c98a74",
    "no-crew": "#7c858e",
    "no-tool": "#a07f95",
    "free": "#39464a",
}
"""The dark set, with the same names."""

PLAYED: Mapping[str, str] = {
    "working": "working",
    "setting up": "setting-up",
    "cleaning": "cleaning",
    "starting up": "start-up",
    "moving": "moving",
    "standing": "standing",
    "stopped": "down",
    "down": "down",
    "blocked": "blocked",
    "short of parts": "short",
    "no crew": "no-crew",
    "no tool": "no-tool",
    "unmanned": "free",
    "free": "free",
}
"""What a station may be doing, as the reports call it, and the name of its colour."""


def variables() -> str:
    """The style sheet that defines both sets: dark where the reader's system asks for it or the page is told to be."""
    light = "".join(f"--lw-{name}:{value};" for name, value in LIGHT.items())
    dark = "".join(f"--lw-{name}:{value};" for name, value in DARK.items())
    return (
        f":root{{color-scheme:light dark;{light}}}"
        f"@media screen and (prefers-color-scheme:dark){{:root:not([data-theme=light]){{{dark}}}}}"
        f"@media screen{{:root[data-theme=dark]{{color-scheme:dark;{dark}}}}}"
        f":root[data-theme=light]{{color-scheme:light}}"
    )


def paint(name: str) -> str:
    """A colour for a style attribute: the variable, with the light value where no sheet defines it."""
    return f"var(--lw-{name},{LIGHT[name]})"
