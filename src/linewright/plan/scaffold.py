"""A plan to begin with: small, valid, and explained in comments."""

from __future__ import annotations

import json

_TEXT = """\
# A plan says how a product is made. Change it, then: linewright check FILE, linewright answer FILE.
# Every quantity carries its unit as text; every field is explained in docs/plan.md.

[plan]
name = NAME
money = "EUR"
makes = "stool"              # the item that is wanted
demand = "60 each/day"       # per working day

[shifts.day]
hours = "06:00-14:30"
breaks = ["09:00-09:15", "11:30-12:00"]
days = "Mon-Fri"

[crews.joiner]               # people of one trade
people = 2
shift = "day"
wage = "24 EUR/h"
allowance = "9 %"            # rest and small delays, added to normal time

[items.stool]
unit = "each"
sell = "39 EUR"

[items.seat]                 # bought in
unit = "each"
buy = "6.20 EUR"

[items.leg]
unit = "each"
buy = "1.10 EUR"

[items.glue]
unit = "kg"
buy = "7.50 EUR"

[stations.bench]
places = 2                   # two of them, side by side

[stations.rack]
places = 40

[routes.stool]               # a route makes one item; its operations follow in order
gives = "stool"

[[routes.stool.operations]]
id = "glue"
name = "Glue the legs into the seat"
station = "bench"
crew = { joiner = 1 }
time = { mean = "4 min", cv = 0.2 }
takes = { seat = 1, leg = 3, glue = "15 g" }
faults = { "loose leg" = "2 %" }

[[routes.stool.operations]]
id = "set"
name = "Let the glue set"
station = "rack"
stand = "2 h"                # the clock runs, nobody stands by

[[routes.stool.operations]]
id = "look"
name = "Look over and wipe down"
crew = { joiner = 1 }
time = "90 s"
check = { finds = { "loose leg" = "95 %" }, then = { rework = "glue", at_most = 1, else = "scrap" } }
"""


def new_plan(name: str) -> str:
    """The text of a small valid plan called ``name``, with comments.

    >>> new_plan("Stool").splitlines()[4]
    'name = "Stool"'
    """
    plain = name.replace("\x7f", "").strip()  # the one sign that JSON lets pass and TOML does not
    return _TEXT.replace("NAME", json.dumps(plain or "New plan", ensure_ascii=False), 1)
