"""A small plan of the works to break in every way, and a reader that gives its problems."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from linewright.base.problems import Problem
from linewright.plan import Plan, check_plan

TEXT = """\
[plan]
name = "Cart"
money = "EUR"
makes = "cart"
demand = "36 each/day"

[shifts.day]
hours = "06:00-14:30"
breaks = ["09:00-09:15", "11:30-12:00"]
days = "Mon-Fri"

[shifts.late]
hours = "14:30-22:00"

[crews.fitter]
people = 3
shift = "day"
wage = "27 EUR/h"

[crews.cleaner]
people = { late = 2 }

[items.cart]
unit = "each"

[items.tub]
unit = "each"
buy = "96 EUR"
store = "rack"
mass = "11.2 kg"

[items.adhesive]
unit = "kg"
buy = "9 EUR/kg"

[stations.bond_frame]
places = 2
between_stops = "22 h"
repair = "35 min"

[stores.rack]
room = 20

[tools.robot]
count = 1

[routes.cart]
gives = "cart"

[[routes.cart.operations]]
id = "glue"
station = "bond_frame"
crew = { fitter = 1 }
time = { mean = "5.5 min", cv = 0.15 }
takes = { tub = 1, adhesive = "0.42 kg" }
faults = { "seam gap" = "2 %" }

[[routes.cart.operations]]
id = "cure"
station = "bond_frame"
stand = "15 min"

[[routes.cart.operations]]
id = "leak"
crew = { fitter = 1 }
time = "3 min"
check = { finds = { "seam gap" = "97 %" }, then = { rework = "glue", at_most = 1 } }
"""
"""Valid, without a warning."""

Check = Callable[..., tuple[Plan | None, list[Problem]]]


@pytest.fixture
def text() -> str:
    return TEXT


@pytest.fixture
def check(tmp_path: Path) -> Check:
    """Check the plan with (old, new) pieces of its text replaced, or a text of its own."""

    def checked(*changes: tuple[str, str], text: str = TEXT) -> tuple[Plan | None, list[Problem]]:
        for old, new in changes:
            assert text.count(old) == 1, f"{old!r} is there {text.count(old)} times"
            text = text.replace(old, new)
        file = tmp_path / "cart.toml"
        file.write_text(text, encoding="utf-8")
        plan, problems = check_plan(file)
        return plan, list(problems)

    return checked
