"""Options in the plan file: read, and refused by name where a variant cannot be told."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from linewright.base.problems import Level, Problem, Problems
from linewright.plan import Plan
from linewright.plan.read import read_document

TEXT = """\
[plan]
name = "Shoes"
money = "EUR"

[[demand]]
item = "pair"
rate = "60 pair/day"

[options.size]
values = ["39", "40", "41"]
shares = { "39" = "50 %", "40" = "30 %" }

[options.side]
values = ["left", "right"]

[shifts.day]
hours = "07:00-15:00"

[crews.maker]
people = 4
shift = "day"

[items.sole]
unit = "each"
options = ["size", "side"]
buy = { by = "size", table = { "39" = "3 EUR", "40" = "3.1 EUR" }, else = "3.2 EUR" }

[items.shoe]
unit = "each"
options = ["size", "side"]

[items.pair]
unit = "pair"
options = "size"

[routes.shoe]
gives = "shoe"

[[routes.shoe.operations]]
id = "stitch"
crew = "maker"
time = { by = "size", table = { "39" = "3 min", "40" = "3.1 min", "41" = "3.2 min" } }
faults = { "thread loose" = { by = "side", table = { left = "2 %", right = "1 %" } } }
takes = { sole = { same = ["size", "side"] } }

[routes.pair]
gives = "pair"

[[routes.pair.operations]]
id = "match"
crew = "maker"
time = "1 min"
takes = { shoe = { made_of = { side = { left = 1, right = 1 } }, same = ["size"] } }

[[routes.pair.operations]]
id = "wax"
only_if = { size = ["41"] }
crew = "maker"
time = "1 min"
"""


def read(*changes: tuple[str, str]) -> tuple[Plan | None, list[Problem]]:
    text = TEXT
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    problems = Problems()
    return read_document(tomllib.loads(text), Path(), problems), list(problems)


def test_options_are_read() -> None:
    plan, problems = read()
    assert plan is not None
    assert not problems
    assert plan.items["pair"].options == ("size",)
    assert plan.options["size"].shares == {"39": 0.5, "40": 0.3}
    stitch = plan.routes["shoe"].operations[0]
    assert stitch.by_option["time"].of({"size": "41"}).fixed.value == 192.0
    assert stitch.by_option["faults.thread loose"].of({"side": "right"}) == 0.01
    assert stitch.time is not None
    assert stitch.time.fixed is not None
    assert stitch.time.fixed.value == 180.0
    assert plan.items["sole"].by_option["buy"].of({"size": "41"}).value == 3.2
    taken = plan.routes["pair"].operations[0].takes[0]
    assert taken.made_of == {"side": {"left": 1, "right": 1}}
    assert taken.quantity is not None
    assert taken.quantity.value == 2
    assert plan.routes["pair"].operations[1].only_if == {"size": ("41",)}


CASES: list[tuple[str, tuple[str, str], str, str]] = [
    ("a value missing in a table", (', "41" = "3.2 min"', ""), "routes.shoe.operations[0].time.table", '"41" is'),
    ("an unknown value", ('{ size = ["41"] }', '{ size = ["47"] }'), "routes.pair.operations[1].only_if.size", '"47"'),
    ("an unknown option", ('by = "side"', 'by = "sid"'), 'routes.shoe.operations[0].faults."thread loose".by', "sid"),
    (
        "same of an option that the piece has not",
        ('same = ["size"] } }', 'same = ["size", "side"] } }'),
        "routes.pair.operations[0].takes.shoe.same",
        "the piece has no such option",
    ),
    (
        "same of an option that the other item has not",
        ('values = ["left", "right"]', 'values = ["left", "right"]\n[options.hue]\nvalues = ["red"]'),
        "options.hue",
        "no item has option",
    ),
    ("an option told twice", ('left = 1, right = 1 } }, same = ["size"]', 'left = 1, right = 1 } }, same = ["size"], '
      'options = { size = "39" }'), "routes.pair.operations[0].takes.shoe", "told twice"),
    ("an option that nothing tells", ('{ same = ["size", "side"] }', '{ same = ["size"] }'),
     "routes.shoe.operations[0].takes.sole", "nothing tells the side"),
    ("an amount that does not add up", ("made_of = {", "amount = 3, made_of = {"),
     "routes.pair.operations[0].takes.shoe.made_of", "adds up to 2"),
    ("shares over 100 %", ('"39" = "50 %"', '"39" = "90 %"'), "options.size.shares", "add up to 120 %"),
    ("a mix of an option that is not there",
     ('rate = "60 pair/day"', 'rate = "60 pair/day"\noptions = { side = "left" }'),
     "demand[0].options.side", "has no option"),
    ("a time by an option that the piece has not", ('time = "1 min"\ntakes', 'time = { by = "side", table = { left = '
      '"1 min", right = "2 min" } }\ntakes'), "routes.pair.operations[0].time.by", "has no such option"),
    ("a time by two options", ('time = "1 min"\ntakes', 'time = { by = ["size", "side"], table = { "39" = "1 min" } '
      '}\ntakes'), "routes.pair.operations[0].time.table.39", "this is a text"),
    ("a time by three options", ('time = "1 min"\ntakes',
      'time = { by = ["size", "side", "hue"], table = { "39" = '
      '"1 min" } }\ntakes'), "routes.pair.operations[0].time.by", "3 options"),
    ("a time twice by one option", ('time = "1 min"\ntakes', 'time = { by = ["size", "size"], table = { "39" = '
      '"1 min" } }\ntakes'), "routes.pair.operations[0].time.by", '"size" is named twice'),
    ("a time by two options, one of them not known", ('time = "1 min"\ntakes', 'time = { by = ["size", "hue"], table = '
      '{ "39" = { red = "1 min" } } }\ntakes'), "routes.pair.operations[0].time.by", 'no option is called "hue"'),
    ("a time by two options, one of them not the piece's", ('time = "1 min"\ntakes', 'time = { by = ["size", "side"], '
      'table = { "39" = { left = "1 min" } }, else = "2 min" }\ntakes'), "routes.pair.operations[0].time.by",
     "told by side, but"),
    ("an unknown value of the second option", ('time = "1 min"\ntakes', 'time = { by = ["size", "side"], table = { '
      '"39" = { lefty = "1 min" } }, else = "2 min" }\ntakes'), "routes.pair.operations[0].time.table.39.lefty",
     '"lefty"'),
    ("a missing value of the second option", ('time = "1 min"\ntakes', 'time = { by = ["size", "side"], table = { '
      '"39" = { left = "1 min" } } }\ntakes'), "routes.pair.operations[0].time.table.39", 'side "right" is missing'),
    ("a price by an option of another item", ('by = "size", table = { "39" = "3 EUR", "40" = "3.1 EUR" }, else',
      'by = "side", table = { left = "3 EUR" }, else'), "", ""),
    ("one value twice", ('["left", "right"]', '["left", "left"]'), "options.side.values[1]", "named twice"),
    ("wanted twice", ('[options.size]', '[[demand]]\nitem = "pair"\nrate = "2 pair/day"\n[options.size]'),
     "demand[1].item", "wanted twice"),
    ("a step for what the route does not make", ('gives = "pair"', 'gives = "pair"\nonly_if = { size = ["39"] }'),
     "routes.pair.operations[1].only_if.size", "which this route does not make"),
    ("no one orders it", ('rate = "60 pair/day"', 'rate = "60 pair/day"\noptions = { size = "39" }'),
     "options.size.values", 'no one orders size "40", "41"'),
]  # fmt: skip


@pytest.mark.parametrize(("change", "path", "what"), [c[1:] for c in CASES], ids=[c[0] for c in CASES])
def test_problems_name_what_is_wrong(change: tuple[str, str], path: str, what: str) -> None:
    plan, problems = read(change)
    if not path:
        assert plan is not None
        assert not problems
        return
    assert any(p.path == path and what in p.what for p in problems), problems
    only_warned = all(p.level is Level.WARNING for p in problems)
    assert (plan is not None) == only_warned


def test_two_demands_may_be_for_two_variants() -> None:
    more = '[[demand]]\nitem = "pair"\nrate = "{}"\noptions = {{ size = "{}" }}\n'
    plan, problems = read(
        ('rate = "60 pair/day"', 'rate = "60 pair/day"\noptions = { size = "39" }'),
        ("[options.size]", more.format("2 pair/day", "40") + more.format("1 pair/day", "41") + "[options.size]"),
    )
    assert plan is not None
    assert not problems


def test_an_amount_may_differ_and_the_item_be_told_by_option() -> None:
    """Leather of the colour of the piece, more of it for a larger size: both said of one item."""
    by_size = 'amount = { by = "size", table = { "39" = 1, "40" = 2 }, else = 3 } }'
    plan, problems = read(
        ('takes = { sole = { same = ["size", "side"] }', 'takes = { sole = { same = ["size", "side"], ' + by_size)
    )
    assert plan is not None
    assert not problems
    (sole,) = plan.routes["shoe"].operations[0].takes
    assert sole.varies is not None
    amounts = [sole.varies.of({"size": size}) for size in ("39", "40", "41")]
    assert [one.quantity.value for one in amounts] == [1, 2, 3]
    assert all(one.same == ("size", "side") for one in amounts)
    _, wrong = read(
        (
            'takes = { sole = { same = ["size", "side"] }',
            'takes = { sole = { same = ["size", "side"], ' + by_size.replace("= 2", '= "2 kg"'),
        )
    )
    assert [p.path for p in wrong] == ["routes.shoe.operations[0].takes.sole.amount.table.40"]


def test_python_builds_the_same_plan() -> None:
    document: dict[str, Any] = tomllib.loads(TEXT)
    from linewright.plan import PlanBuilder

    builder = PlanBuilder("Shoes", money="EUR")
    builder.document.update(document)
    assert builder.build() == read()[0]


def test_too_many_variants_are_refused_by_name() -> None:
    options = "".join(f"[options.o{k}]\nvalues = {[str(v) for v in range(10)]}\n" for k in range(6))
    names = ", ".join(f'"o{k}"' for k in range(6))
    plan, problems = read(
        ("[options.size]", options + "[options.size]"), ('options = "size"', f'options = ["size", {names}]')
    )
    assert plan is None
    assert any(p.path == "items.pair.options" and "3,000,000 variants" in p.what for p in problems)


def test_a_table_by_two_options_has_a_row_for_each_value_of_the_first() -> None:
    before = 'time = { by = "size", table = { "39" = "3 min", "40" = "3.1 min", "41" = "3.2 min" } }'
    after = 'time = { by = ["size", "side"], table = { "39" = { left = "1 min", right = "2 min" } }, else = "3 min" }'
    plan, problems = read((before, after))
    assert plan is not None
    assert not problems
    time = plan.routes["shoe"].operations[0].by_option["time"]
    every = [{"size": size, "side": side} for size in ("39", "41") for side in ("left", "right")]
    assert [time.of(own).fixed.value for own in every] == [60, 120, 180, 180]
