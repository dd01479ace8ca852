"""Cautions: every hazard of the design brings one, each defers, and none says that something is safe."""

from __future__ import annotations

import re

import pytest

from linewright.base.cautions import DEFER, caution, cautions, hazard_named, hazards, unknown_hazard

DESIGN = [
    "combustible dust", "carbon dioxide", "solvent vapour", "hot press", "pinch points", "robot cell",
    "isocyanate resin", "formaldehyde resin", "lifting", "noise",
]  # fmt: skip


@pytest.mark.parametrize("name", DESIGN)
def test_hazards_of_the_design_are_known(name: str) -> None:
    assert hazard_named(name) == name


@pytest.mark.parametrize("name", hazards())
def test_every_caution_defers_and_promises_nothing(name: str) -> None:
    text = caution(name).text
    assert text.endswith(DEFER)
    assert not re.search(r"\b(safe|safely|harmless|no risk)\b", text)
    assert 80 < len(text.removesuffix(DEFER)) < 420, "short, but says something"


@pytest.mark.parametrize(
    ("name", "meant"), [("Hot_Press", "hot press"), (" robot-cell ", "robot cell"), ("CO2", "carbon dioxide")]
)
def test_spelling_does_not_matter(name: str, meant: str) -> None:
    assert hazard_named(name) == meant


def test_unknown_hazard_still_brings_a_caution_and_a_problem() -> None:
    told = caution("dragons")
    assert told.text.endswith(DEFER)
    assert "dragons" in told.text
    problem = unknown_hazard("nose", "stations.mill.hazards[0]")
    assert problem is not None
    assert problem.hint == 'did you mean "noise"?'
    assert unknown_hazard("noise", "x") is None


def test_one_caution_for_each_hazard_with_everything_that_names_it() -> None:
    found = cautions([("noise", "mill"), ("lifting", "pack"), ("NOISE", "saw"), ("noise", "mill")])
    assert [(c.hazard, c.where) for c in found] == [("noise", ("mill", "saw")), ("lifting", ("pack",))]
