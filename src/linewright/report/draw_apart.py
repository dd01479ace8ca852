"""Draws charts in a process of its own: the drawing engine takes as much memory as a simulation, and gives it back.

Run as a file. It reads one JSON object from its input, ``{"specs": {name: specification}, "bundle": lines or null}``,
and writes ``{"pictures": {name: SVG}, "bundle": text or null}``. It needs nothing but the drawing engine.
"""

from __future__ import annotations

import json
import sys


def main() -> None:
    """Draw what is asked for."""
    import vl_convert

    asked = json.load(sys.stdin)
    pictures = {name: vl_convert.vegalite_to_svg(spec) for name, spec in asked["specs"].items()}
    lines = asked["bundle"]
    bundle = vl_convert.javascript_bundle(lines) if lines is not None else None
    json.dump({"pictures": pictures, "bundle": bundle}, sys.stdout)


if __name__ == "__main__":
    main()
