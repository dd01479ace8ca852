"""Edits of a text as a table makes them: the one change and no other, every comment where it was."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.plan import edit
from linewright.plan.outline import Row, outline

EXAMPLES = sorted((Path(__file__).resolve().parents[2] / "examples").glob("*.toml"))
TEXTS = {file.stem: file.read_text(encoding="utf-8") for file in EXAMPLES}

PLAN = """# The shed.
[plan]
name = "Stool"  # a name

# ---- people

[crews.joiner]
people = 2  # by day
wage = "20 EUR/h"

# ---- the work

# It is sawn first.
[[routes.stool.operations]]
id = "saw"
time = "4 min"
takes = { board = 1, glue = "2 g" }  # both

# Then it is set up.
[[routes.stool.operations]]
id = "set"
time = "6 min"
[routes.stool.operations.check]
finds = { wobble = "90 %" }
"""


def comments(text: str) -> list[str]:
    return sorted(line.strip() for line in text.split("\n") if line.strip().startswith("#"))


def test_a_cell_is_set_where_it_stands() -> None:
    assert edit.typed(PLAN, "crews.joiner.people", "3") == PLAN.replace("people = 2  #", "people = 3  #")
    assert edit.typed(PLAN, "routes.stool.operations[saw].time", "5 min") == PLAN.replace("4 min", "5 min")
    new = edit.typed(PLAN, "routes.stool.operations[0].takes", '{ board = 2, glue = "2 g" }', toml=True)
    assert tomllib.loads(new)["routes"]["stool"]["operations"][0]["takes"] == {"board": 2, "glue": "2 g"}
    assert "# both" in new


def test_a_new_field_goes_below_the_others_and_before_the_next_comment() -> None:
    new = edit.typed(PLAN, "crews.joiner.shift", "day")
    assert 'wage = "20 EUR/h"\nshift = "day"\n\n# ---- the work' in new
    new = edit.typed(PLAN, "routes.stool.operations[1].crew", "{ joiner = 1 }", toml=True)
    assert 'time = "6 min"\ncrew = { joiner = 1 }\n[routes.stool.operations.check]' in new


def test_a_number_is_written_where_the_field_takes_one() -> None:
    assert "places = 2\n" in edit.typed(PLAN, "stations.bench.places", "2")
    assert 'name = "2"\n' in edit.typed(PLAN, "stations.bench.name", "2")
    assert 'people = "many"' in edit.typed(PLAN, "crews.joiner.people", "many")


def test_a_field_deep_in_a_table_that_is_not_there_yet() -> None:
    new = edit.typed(PLAN, "routes.stool.operations[0].check.finds", '{ split = "80 %" }', toml=True)
    assert 'check = { finds = { split = "80 %" } }\n' in new


def test_nothing_typed_takes_the_field_out() -> None:
    assert edit.typed(PLAN, "crews.joiner.wage", " ") == PLAN.replace('wage = "20 EUR/h"\n', "")


def test_an_operation_is_put_in_moved_and_taken_out_with_its_comment() -> None:
    put = edit.inserted(PLAN, "stool", 1, {"id": "plane", "time": "2 min"})
    assert put.index('id = "saw"') < put.index('id = "plane"') < put.index("# Then it is set up.")
    assert edit.removed(put, "routes.stool.operations[plane]") == PLAN
    moved = edit.moved(PLAN, "routes.stool.operations[set]", -1)
    assert moved.index("# Then it is set up.") < moved.index('id = "set"') < moved.index("# It is sawn first.")
    assert edit.moved(moved, "routes.stool.operations[set]", 1) == PLAN
    gone = edit.removed(PLAN, "routes.stool.operations[set]")
    assert "wobble" not in gone
    assert "Then it is set up" not in gone


def test_a_line_that_cannot_be_read_stays_as_it_is() -> None:
    broken = PLAN.replace('id = "saw"', 'id = "saw"\nstand = 3 min')
    new = edit.typed(broken, "crews.joiner.people", "5")
    assert new == broken.replace("people = 2", "people = 5")
    moved = edit.moved(broken, "routes.stool.operations[0]", 1)
    assert moved.index('id = "saw"') < moved.index("stand = 3 min") < moved.index('time = "4 min"')


@pytest.mark.parametrize(
    ("path", "value", "toml"),
    [
        ("nowhere at all", "1", False), ("routes.stool.operations[9].time", "1 min", False),
        ("routes.none.operations[0].time", "1 min", False), ("plan.name.first", "x", False),
        ("plan.name", "{ a = ", True), ("plan.name", '"a"\nmoney = "EUR"', True), ("", "x", False),
    ],
)  # fmt: skip
def test_what_cannot_be_done_is_refused(path: str, value: str, toml: bool) -> None:
    with pytest.raises(edit.EditError):
        edit.typed(PLAN, path, value, toml=toml)


def test_rows_of_a_table_elsewhere_are_changed_there() -> None:
    with pytest.raises(edit.EditError, match=r"boot_upper\.csv; change it there"):
        edit.typed(TEXTS["boot"], "routes.upper.operations[3].time", "5 s")
    with pytest.raises(edit.EditError, match=r"boot_upper\.csv"):
        edit.inserted(TEXTS["boot"], "upper", 3, {"id": "x"})


@pytest.mark.parametrize("name", sorted(TEXTS))
@given(st.data())
@settings(max_examples=15)
def test_any_row_of_an_example_is_changed_and_nothing_else(name: str, data: st.DataObject) -> None:
    text, folder = TEXTS[name], EXAMPLES[0].parent
    tables = outline(text, folder).tables
    rows = [row for kind in tables for row in tables[kind][1] if not row.file]
    row: Row = data.draw(st.sampled_from(rows))
    word = data.draw(st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1).filter(str.strip))
    new = edit.typed(text, f"{row.path}.note", word)
    assert comments(new) == comments(text)
    assert len(new.split("\n")) - len(text.split("\n")) in (0, 1)
    if any(key == "note" for key in row.cells):
        assert edit.typed(new, f"{row.path}.note", row.cells["note"].text) == text
    else:
        assert edit.removed(new, f"{row.path}.note") == text
