"""Draws charts in a process of its own: the drawing engine takes as much memory as a simulation, and gives it back.

Run as a file. It reads one JSON object a line from its input, ``{"spec": specification}`` or ``{"bundle": lines}``,
and answers each with one line, a JSON text: the picture as SVG, or the charting library. It needs nothing but the
drawing engine, which it starts before it is asked anything.
"""

from __future__ import annotations

import json
import sys

SMALL = {"mark": "point", "data": {"values": [{}]}}


def main() -> None:
    """Draw what is asked for until the input ends."""
    import vl_convert

    vl_convert.vegalite_to_svg(SMALL)
    for line in sys.stdin:
        asked = json.loads(line)
        if "spec" in asked:
            made = vl_convert.vegalite_to_svg(asked["spec"])
        else:
            made = vl_convert.javascript_bundle(asked["bundle"])
        print(json.dumps(made), flush=True)


if __name__ == "__main__":
    main()
