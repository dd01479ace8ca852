"""Plurals of the names in the plans of the works, and irregular ones."""

from __future__ import annotations

import pytest

from linewright.base.nouns import plural, so_many

# English by the rules of any grammar (Quirk et al., A Comprehensive Grammar, 5.80 to 5.87; from memory).
PLURALS = {
    "trailer": "trailers", "hive kit": "hive kits", "box": "boxes", "latch": "latches", "assembly": "assemblies",
    "tray": "trays", "pair of boots": "pairs of boots", "case of six": "cases of six", "press hand": "press hands",
    "shelf": "shelves", "foot": "feet", "person": "people", "chassis": "chassis", "brass bush": "brass bushes",
    "rear door with hinges": "rear doors with hinges", "fermenter, 5,000 L": "fermenters, 5,000 L",
    "screw 4 x 40": "screws 4 x 40", "Welt stitcher": "Welt stitchers", "body bolts": "body bolts", "press": "presses",
    "shallow panel as sawn": "shallow panels as sawn", "bus": "buses", "M8": "M8", "Man": "Men",
}  # fmt: skip


@pytest.mark.parametrize(("one", "many"), PLURALS.items())
def test_plurals(one: str, many: str) -> None:
    assert plural(one) == many


@pytest.mark.parametrize("many", [m for m in PLURALS.values() if m not in ("people", "Men", "feet")])
def test_a_plural_is_left_alone(many: str) -> None:
    assert plural(many) == many


@pytest.mark.parametrize("name", ["", " ", "5", "#", "ÄÖ", "(x)", "x" * 200])
def test_any_text_gives_a_text(name: str) -> None:
    assert plural(name).startswith(name[:1].strip())


def test_counts_and_measures() -> None:
    assert so_many(0.5, "0.5", "each", "trailer", counted=True) == "0.5 trailers"
    assert so_many(2000, "2,000", "case", "case of six", counted=True) == "2,000 cases of six"
    assert so_many(3, "3", "roll", "tape", counted=True) == "3 rolls of tape"
    assert so_many(16, "16", "t", "pellets", counted=False) == "16 t of pellets"
