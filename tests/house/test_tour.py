"""docs/tour.md: its numbers are what the tool says; bounds and costs exactly, what is simulated within rounding."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from linewright.answer import answer
from linewright.answer.compared import simulated_differences
from linewright.answer.model import Answer
from linewright.plan.load import check_text
from linewright.report.compared import difference
from linewright.report.tables import resource_name

ROOT = Path(__file__).resolve().parents[2]
TOUR = (ROOT / "docs" / "tour.md").read_text(encoding="utf-8")
SAID = " ".join(TOUR.split())
PLAN = ROOT / "examples" / "trailer.toml"
TEXT = PLAN.read_text(encoding="utf-8")


def changed(old: str, new: str) -> Answer:
    assert TEXT.count(old) == 1
    plan, problems = check_text(TEXT.replace(old, new), PLAN)
    assert plan is not None, problems
    return answer(plan)


@pytest.fixture(scope="module")
def as_it_is() -> Answer:
    return changed('money = "EUR"', 'money = "EUR"')


@pytest.fixture(scope="module")
def third_place() -> Answer:
    header = '[stations.bond_frame]\nname = "Bond frame"\nplaces = '
    return changed(header + "2", header + "3")


@pytest.fixture(scope="module")
def shorter_cure() -> Answer:
    return changed('stand = "14 min"', 'stand = "9 min"')


def limit(of: Answer) -> str:
    found = of.capacity.bottleneck
    assert found is not None
    return resource_name(of, found).lower()


def rate(of: Answer) -> str:
    return f"at most {of.capacity.wanted[0].rate:.2f} a day"


def test_first_reading(as_it_is: Answer) -> None:
    found = as_it_is.capacity.bottleneck
    assert found is not None
    assert f"does it make {as_it_is.question}?" in SAID
    assert rate(as_it_is) in SAID
    assert f"the bottleneck is the {limit(as_it_is)}, {100 * found.use:.0f} % used" in SAID
    assert f"one trailer costs {as_it_is.cost.products[0].total:.2f} EUR" in SAID
    ringed = [o.id for r in as_it_is.plan.routes.values() for o in r.operations if "bond_frame" in o.station]
    assert len(ringed) == 5
    assert "The five operations at the bond frame" in SAID


def test_two_changes(third_place: Answer, shorter_cure: Answer) -> None:
    assert f"{rate(third_place)[:1].upper()}{rate(third_place)[1:]}, and now the {limit(third_place)} limits" in SAID
    assert f"Also {rate(shorter_cure)}" in SAID
    assert f"one trailer costs {shorter_cure.cost.products[0].total:.2f} EUR" in SAID


def test_what_the_changes_bring(as_it_is: Answer, third_place: Answer, shorter_cure: Answer) -> None:
    told = re.search(r"third place brings ([\d.]+ ± [\d.]+) .* shorter cure: ([\d.]+ ± [\d.]+)\.", SAID)
    assert told is not None
    for other, said in ((third_place, told[1]), (shorter_cure, told[2])):
        found = simulated_differences(as_it_is, other, budget_seconds=60.0)
        row = next(r for r in found.rows if r.what == "rate, flat out")
        assert said == difference(row).removeprefix("+")


def test_its_pictures_are_those_that_the_command_makes() -> None:
    script = (ROOT / "scripts" / "page_pictures.py").read_text(encoding="utf-8")
    shown = re.findall(r"\(pictures/page_(\w+)\.png\)", TOUR)
    assert len(shown) == 7
    assert all(f'take("{name}")' in script or f"page_{name}.png" in script for name in shown)
