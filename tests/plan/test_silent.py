"""What a plan leaves out and would count as nothing: its author is asked, by a warning."""

from __future__ import annotations

import tomllib
from pathlib import Path

from linewright.plan import check_plan

DESK = (Path(__file__).parents[1] / "examples" / "blank_desk.toml").read_text(encoding="utf-8")
BOOTS = (Path(__file__).parents[1] / "examples" / "blank_boots.toml").read_text(encoding="utf-8")


def warned(tmp_path: Path, text: str, old: str, new: str) -> dict[str, str]:
    """The problems of a plan with one piece of its text changed, by path."""
    assert old in text
    file = tmp_path / "changed.toml"
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    tomllib.loads(file.read_text(encoding="utf-8"))
    _, problems = check_plan(file)
    assert all(problem.line is not None for problem in problems)
    return {problem.path: problem.what for problem in problems}


def test_a_pair_missing_in_a_table_of_changeovers(tmp_path: Path) -> None:
    old, path = ', white = "30 min" } } }', "routes.panel.operations[edge].setup.table"
    found = warned(tmp_path, DESK, old, "} } }")
    assert "graphite to white" in found[path]
    assert path not in warned(tmp_path, DESK, old, '} }, time = "20 min" }')
    assert path not in warned(tmp_path, DESK, old, old)


def test_power_of_a_room_in_which_pieces_only_stand(tmp_path: Path) -> None:
    old = 'power = { running = "0.05 kW", holding = "0.05 kW" }'
    assert "only stand" in warned(tmp_path, DESK, old, 'power = "0.05 kW"')["stations.curing_room.power"]
    assert not warned(tmp_path, DESK, old, old)


def test_a_side_that_nobody_takes(tmp_path: Path) -> None:
    found = warned(tmp_path, BOOTS, "left = 1, right = 1", "left = 1")
    assert "side right" in found["routes.pair.operations[match].takes.boot.made_of.side"]
    assert not warned(tmp_path, BOOTS, "left = 1, right = 1", "left = 1, right = 1")


def test_a_word_for_when_is_guessed_from_the_options(tmp_path: Path) -> None:
    file = tmp_path / "changed.toml"
    file.write_text(DESK.replace('when = "colour changes"', 'when = "color changes"'), encoding="utf-8")
    _, problems = check_plan(file)
    assert [p.hint for p in problems if p.path.endswith("setup.when")] == ['did you mean "colour changes"?']


def test_a_store_that_nothing_uses(tmp_path: Path) -> None:
    """A silo is declared, and the item that belongs into it does not say so: its room would limit nothing."""
    found = warned(tmp_path, DESK, "[items.", "[stores.rack]\nroom = 20\n\n[items.")
    assert {path for path, what in found.items() if "nothing waits in" in what} == {"stores.rack"}
