"""Three more plants written from a blank file with the documentation alone, against numbers worked out by hand.

A perry and cider house (three pickings that keep for days, keeving, a blend to limits, kegs that come back from pubs,
bottles in campaigns), a work-boot shop (half sizes, widths, two ways of making and two soles on one lasting line) and a
packer of flat furniture (eight models out of shared panels, two ways of cutting a board, bags counted by model).
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from linewright.answer import Answer, answer
from linewright.plan import read_plan


@cache
def answered(name: str) -> Answer:
    plan = read_plan(Path(__file__).parent / f"blank_{name}.toml")
    assert plan.warnings == ()
    return answer(plan)


def bound(found: Answer, where: str) -> float:
    """The greatest rate that one limit allows, of the demand."""
    return min(b.multiple for b in found.capacity.bounds if b.where == where)


def test_boards_of_the_packer() -> None:
    """2.86 sides and 3.94 shelves a kit, 160 kits a day; a board gives 8 sides with 4 shelves beside, or 14 shelves."""
    flow = answered("packer").flow
    good = (1 - 0.006 * 0.90) * (1 - 0.004 * 0.80) * (1 - 0.002)
    for_sides = 160 * 2.86 / good / 8
    for_shelves = (160 * 3.94 - 4 * for_sides) / 14
    network = answered("packer").network
    board = network.items.ids.index("board")
    assert flow.bought[board] == pytest.approx(for_sides + for_shelves, rel=1e-6)
    edging = network.items.ids.index("edging")
    assert flow.bought[edging] == pytest.approx(8 * for_sides * 1.8 + 14 * for_shelves * 0.8, rel=1e-6)


def test_packing_by_model() -> None:
    """6 % at 13 min, 8 % at 10, the rest at 6.5, with 10 % allowance, at four places for 15 h 20 min."""
    minutes = (0.06 * 13 + 0.08 * 10 + 0.86 * 6.5) * 1.1
    assert bound(answered("packer"), "pack_line") == pytest.approx(4 * 920 / (160 * minutes), rel=1e-3)


def test_the_one_stitcher_of_the_boot_shop() -> None:
    """Two boots of each of 28 stitched pairs of 70, 4.1 and 3 min each with 10 % allowance; 7 h 45 min a day."""
    found = answered("workboot")
    assert found.bottleneck == "stitcher"
    assert bound(found, "stitcher") == pytest.approx(465 / (0.4 * 140 * 7.1 * 1.1), rel=1e-4)
    assert "yes by every bound" in found.verdict


def test_kegs_that_come_back_from_the_pubs() -> None:
    """320 kegs are away for 35 days each: 64 a week, 12.8 a working day, where 8 are wanted."""
    found = answered("perry")
    assert bound(found, "keg_shell") == pytest.approx(320 / 35 * 7 / 5 / 8, rel=1e-3)
    assert found.season is not None
    assert found.season.most == pytest.approx((1_984, 4_464))
    assert dict(zip(found.season.harvest, found.season.came, strict=True)) == pytest.approx(
        {"early_pear": 18_000, "middle_pear": 24_000, "late_pear": 16_000, "cider_apple": 72_000}
    )
