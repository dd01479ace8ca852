"""A changed plan is a new one, checked again; a saved change keeps what the author wrote around it."""

from __future__ import annotations

import dataclasses
import pickle
from pathlib import Path
from typing import Any

import pytest

from linewright.base.problems import Problem, ProblemsError
from linewright.plan import Plan, new_plan, read_plan, save_value
from linewright.plan.save import append, set_value


@pytest.fixture
def file(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "cart.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture
def plan(file: Path) -> Plan:
    return read_plan(file)


def test_change_of_a_number(plan: Plan) -> None:
    more = plan.change("stations.bond_frame.places", 3)
    assert more.stations["bond_frame"].places == 3
    assert plan.stations["bond_frame"].places == 2
    assert dataclasses.replace(more, stations=plan.stations) == plan
    assert more.fingerprint != plan.fingerprint
    assert more.change("stations.bond_frame.places", 2).fingerprint == plan.fingerprint


@pytest.mark.parametrize("name", ["leak", "2"])
def test_change_of_an_operation_by_id_or_number(plan: Plan, name: str) -> None:
    changed = plan.change(f"routes.cart.operations[{name}].time", "5 min")
    time = changed.routes["cart"].operations[2].time
    assert time is not None
    assert time.fixed is not None
    assert time.fixed.value == 300


def test_change_below_a_quoted_name(plan: Plan) -> None:
    changed = plan.change('routes.cart.operations[glue].faults."seam gap"', "5 %")
    assert changed.routes["cart"].operations[0].faults == {"seam gap": 0.05}


def test_change_that_adds_and_takes_out(plan: Plan) -> None:
    added = plan.change("items.tub.sell", "20 EUR")
    assert added.items["tub"].sell is not None
    assert added.change("items.tub.sell", None) == plan
    shorter = plan.change("routes.cart.operations[cure]", None)
    assert [o.id for o in shorter.routes["cart"].operations] == ["glue", "leak"]


def test_change_to_something_wrong(plan: Plan) -> None:
    with pytest.raises(ProblemsError, match="is a mass, where a time is wanted"):
        plan.change("routes.cart.operations[leak].time", "5 kg")
    with pytest.raises(ProblemsError, match="has no field `tiem`"):
        plan.change("routes.cart.operations[leak].tiem", "5 kg")
    with pytest.raises(KeyError):
        plan.change("routes.cart.operations[none].time", "5 min")
    with pytest.raises(ValueError, match="is not a path"):
        plan.change("routes..x", 1)


def test_plan_is_frozen_and_can_be_sent_to_another_process(plan: Plan) -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        plan.name = "other"  # type: ignore[misc]
    assert pickle.loads(pickle.dumps(plan)) == plan


def test_later_problem_is_placed(plan: Plan, text: str) -> None:
    placed = plan.placed(Problem("routes.cart.operations[2].time", "takes more than can ever be made"))
    assert placed.line == text.split("\n").index('time = "3 min"') + 1
    assert placed.path == "routes.cart.operations[leak].time"
    assert plan.placed(Problem("routes.cart.operations[leak].time", "x")).line == placed.line


def test_fingerprint_covers_study_files(file: Path) -> None:
    study = file.parent / "glue.csv"
    study.write_text("1\n2\n")
    file.write_text(file.read_text().replace('time = "3 min"', 'time = { study = "glue.csv" }'))
    first = read_plan(file).fingerprint
    study.write_text("1\n3\n")
    assert read_plan(file).fingerprint != first


def test_fingerprint_ignores_comments_and_order_of_keys(file: Path, plan: Plan) -> None:
    text = file.read_text()
    text = text.replace('name = "Cart"\nmoney = "EUR"', 'money = "EUR"   # euro\nname = "Cart"')
    file.write_text(f"# a note\n{text}")
    assert read_plan(file).fingerprint == plan.fingerprint


# ------------------------------------------------------------------------------------------------------------- save


def test_save_keeps_comments_and_order(tmp_path: Path) -> None:
    file = tmp_path / "stool.toml"
    before = new_plan("Stool")
    file.write_text(before, encoding="utf-8")
    plan = save_value(file, "routes.stool.operations[set].stand", "3 h")
    after = file.read_text("utf-8")
    changed = [(a, b) for a, b in zip(before.splitlines(), after.splitlines(), strict=True) if a != b]
    assert changed == [
        (
            'stand = "2 h"                # the clock runs, nobody stands by',
            'stand = "3 h"                # the clock runs, nobody stands by',
        )
    ]
    assert plan == read_plan(file)
    assert (tmp_path / "stool.toml.bak").read_text("utf-8") == before
    assert sorted(p.name for p in tmp_path.iterdir()) == ["stool.toml", "stool.toml.bak"]


def test_save_adds_and_takes_out(file: Path) -> None:
    save_value(file, "items.tub.sell", "20 EUR")
    assert 'mass = "11.2 kg"\nsell = "20 EUR"\n' in file.read_text()
    save_value(file, "items.tub.sell", None)
    assert "sell" not in file.read_text()
    save_value(file, "stations.spare.places", 2)
    assert read_plan(file).stations["spare"].places == 2


def test_save_inside_an_inline_table(file: Path) -> None:
    save_value(file, "routes.cart.operations[leak].check.then.at_most", 2)
    assert 'then = { rework = "glue", at_most = 2 } }' in file.read_text()


def test_save_of_something_wrong_leaves_the_file(file: Path, text: str) -> None:
    with pytest.raises(ProblemsError, match="is a mass"):
        save_value(file, "routes.cart.operations[leak].time", "3 kg")
    with pytest.raises(ProblemsError, match="there is no none"):
        save_value(file, "routes.cart.operations[none].time", "3 min")
    with pytest.raises(ProblemsError, match="nothing to take out"):
        save_value(file, "items.tub.sell", None)
    with pytest.raises(ProblemsError, match="nothing lies below"):
        save_value(file, "plan.name.first", "x")
    assert file.read_text() == text
    assert [p.name for p in file.parent.iterdir()] == ["cart.toml"]


def test_save_keeps_the_line_ends_of_other_systems(file: Path, text: str) -> None:
    file.write_bytes(text.replace("\n", "\r\n").encode())
    save_value(file, "stations.bond_frame.places", 3)
    data = file.read_bytes()
    assert data.count(b"\r\n") == data.count(b"\n") == text.count("\n")


def test_problem_lines_with_the_line_ends_of_other_systems(file: Path, check: Any, text: str) -> None:
    plan, problems = check(text=text.replace('time = "3 min"', 'time = "3 kg"').replace("\n", "\r\n"))
    assert plan is None
    assert problems[0].line == text.split("\n").index('time = "3 min"') + 1


def test_append_an_operation(file: Path, text: str) -> None:
    longer = append(text, "routes.cart.operations", {"id": "pack", "time": "2 min"})
    assert longer.startswith(text.rstrip("\n"))
    file.write_text(longer)
    assert read_plan(file).routes["cart"].operations[-1].id == "pack"


def test_set_value_twice_in_a_row(text: str) -> None:
    once = set_value(text, "crews.fitter.people", 4)
    assert set_value(once, "crews.fitter.people", 3) == text


def test_later_problem_with_an_unquoted_id_is_placed(file: Path, text: str) -> None:
    file.write_text(text.replace("[items.tub]", '[items."left tub"]').replace("takes = { tub", 'takes = { "left tub"'))
    plan = read_plan(file)
    placed = plan.placed(Problem("items.left tub.mass", "unknown"))
    assert placed.path == 'items."left tub".mass'
    assert placed.line == text.split("\n").index('mass = "11.2 kg"') + 1


def test_plan_carries_its_warnings(file: Path, text: str) -> None:
    file.write_text(text.replace("[items.tub]", '[items.lid]\nunit = "each"\n[items.tub]'))
    plan = read_plan(file)
    assert [w.path for w in plan.warnings] == ["items.lid"]
    assert plan.warnings[0].line is not None
    assert [w.line for w in plan.change("crews.fitter.people", 4).warnings] == [plan.warnings[0].line]


def test_save_into_a_table_beside_the_plan(tmp_path: Path, text: str) -> None:
    """What stands in a table is not changed in the plan: the problem says where it stands."""
    (tmp_path / "cart.csv").write_text("id,time\nglue,5 min\n")
    file = tmp_path / "cart.toml"
    head = text.partition("[[routes.cart.operations]]")[0]
    file.write_text(head.replace('gives = "cart"', 'gives = "cart"\noperations = { table = "cart.csv" }'))
    assert read_plan(file).change("routes.cart.operations[glue].time", "6 min")
    with pytest.raises(ProblemsError, match=r"stands in cart\.csv; change it there"):
        save_value(file, "routes.cart.operations[glue].time", "6 min")
