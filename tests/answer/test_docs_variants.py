"""The page about variants: its plan is read and answered, and its numbers are what the tool says."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from linewright.answer.ask import answer
from linewright.base.problems import Problems
from linewright.plan import Plan
from linewright.plan.read import read_document
from linewright.simulate.sequence import smoothed

PAGE = (Path(__file__).parents[2] / "docs" / "variants.md").read_text("utf-8")


def plan() -> Plan:
    text = re.search(r"```toml\n(.*?)```", PAGE, re.DOTALL)
    assert text is not None
    problems = Problems()
    found = read_document(tomllib.loads(text[1]), Path(), problems)
    assert found is not None
    assert not problems
    return found


def test_the_table_is_what_the_tool_says() -> None:
    found = answer(plan())
    assert found.problems == ()
    assert found.variants is not None
    rows = [
        f"| {values} | {wanted:.0f} | {minutes:.2f} | {material:.2f} | {cost:.2f} |"
        for _, values, wanted, minutes, material, cost, _ in found.variants.to_table().rows
    ]
    table = re.search(r"<!-- table -->\n(.*?)<!-- end -->", PAGE, re.DOTALL)
    assert table is not None
    assert table[1].strip().splitlines()[2:] == rows


def test_the_counts_that_the_page_names() -> None:
    found = answer(plan())
    assert len(found.network.operations.ids) == 3
    assert found.variants is not None
    assert len(found.variants.network.operations.ids) == 6 + 3 + 1
    assert sum(id.startswith("shoe [") for id in found.variants.network.items.ids) == 6


def test_the_sequence_that_the_page_names() -> None:
    told = re.search(r"<!-- sequence -->(.*?)<!-- end -->", PAGE)
    assert told is not None
    assert [int(word) - 1 for word in told[1].split()] == smoothed([3, 2, 1])
