"""Acceptance sampling against public tables.

Code letters and single plans: MIL-STD-105E (public domain; ISO 2859-1 has the same), as in a United States government
facilities guide that reprints tables I, II-A and II-B in plain text, and in several public copies of the chart. Reduced
plans, and the corners of the other two tables: a public copy of GB/T 2828.1-2012 (pages 15 to 17), which is
ISO 2859-1:1999 in Chinese; its authors read the printed pages twice, and others did so for two of its columns.
Operating curves: Montgomery's plan n = 89, c = 2, and the plan n = 52, c = 3 of NIST/SEMATECH e-Handbook 6.2.3 (both
from memory, recomputed). Plan by measurement: Montgomery's nomograph example.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from linewright.quality.sampling import (
    Curve,
    DoublePlan,
    SinglePlan,
    accept,
    attribute_plan,
    code_letter,
    measured_plan,
    operating_curve,
    single_by_two_points,
    worst_outgoing,
)
from linewright.quality.sampling.iso2859 import Severity

LOTS = {8: "A", 9: "B", 25: "C", 50: "D", 51: "E", 90: "E", 91: "F", 150: "F", 151: "G", 280: "G", 281: "H", 500: "H",
        501: "J", 1200: "J", 1201: "K", 3200: "K", 3201: "L", 10_000: "L", 35_000: "M", 35_001: "N", 500_000: "P",
        500_001: "Q"}  # fmt: skip

# The printed rows, AQL 0.65 1.0 1.5 2.5 4.0 6.5 10 15: refusal numbers; v and ^ are arrows.
NORMAL = {
    "B": "v v v v 1 ^ v 2",
    "C": "v v v 1 ^ v 2 3",
    "D": "v v 1 ^ v 2 3 4",
    "E": "v 1 ^ v 2 3 4 6",
    "F": "1 ^ v 2 3 4 6 8",
    "G": "^ v 2 3 4 6 8 11",
    "H": "v 2 3 4 6 8 11 15",
    "J": "2 3 4 6 8 11 15 22",
    "K": "3 4 6 8 11 15 22 ^",
    "L": "4 6 8 11 15 22 ^ ^",
    "M": "6 8 11 15 22 ^ ^ ^",
    "N": "8 11 15 22 ^ ^ ^ ^",
    "P": "11 15 22 ^ ^ ^ ^ ^",
    "Q": "15 22 ^ ^ ^ ^ ^ ^",
}
TIGHTENED = {
    "B": "v v v v v 1 v v",
    "C": "v v v v 1 v v 2",
    "D": "v v v 1 v v 2 3",
    "E": "v v 1 v v 2 3 4",
    "F": "v 1 v v 2 3 4 6",
    "G": "1 v v 2 3 4 6 9",
    "H": "v v 2 3 4 6 9 13",
    "J": "v 2 3 4 6 9 13 19",
    "K": "2 3 4 6 9 13 19 ^",
}
COLUMNS = (0.65, 1.0, 1.5, 2.5, 4.0, 6.5, 10.0, 15.0)


@pytest.mark.parametrize("lot", LOTS)
def test_code_letters_of_level_two(lot: int) -> None:
    assert code_letter(lot) == LOTS[lot]


def test_code_letters_of_other_levels() -> None:
    row = [code_letter(1000, level) for level in ("S-1", "S-2", "S-3", "S-4", "I", "II", "III")]
    assert row == list("CCEFGJK")
    row = [code_letter(20_000, level) for level in ("S-1", "S-2", "S-3", "S-4", "I", "II", "III")]
    assert row == list("CDFHKMN")


SIZES = dict(
    zip("ABCDEFGHJKLMNPQR", (2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000), strict=True)
)


@pytest.mark.parametrize(
    ("severity", "letter"), [("normal", x) for x in NORMAL] + [("tightened", x) for x in TIGHTENED]
)
def test_single_plans(severity: str, letter: str) -> None:
    table = NORMAL if severity == "normal" else TIGHTENED
    for aql, printed in zip(COLUMNS, table[letter].split(), strict=True):
        plan = attribute_plan(letter, aql, severity)  # type: ignore[arg-type]
        if printed == "v":
            assert plan.n > SIZES[letter]
        elif printed == "^":
            assert plan.n < SIZES[letter]
        else:
            assert plan == SinglePlan(SIZES[letter], int(printed) - 1)


@pytest.mark.parametrize(("cell", "plan"), [(("F", 1.0), (13, 0)), (("G", 1.0), (50, 1)), (("H", 0.65), (80, 1))])
def test_arrows(cell: tuple[str, float], plan: tuple[int, int]) -> None:
    assert attribute_plan(*cell) == SinglePlan(*plan)


# Table 2-C, a column a line: the plans of the letters A to R, arrows followed: sample/acceptance number.
REDUCED = {
    0.025: "200/0 200/0 200/0 200/0 200/0 200/0 200/0 200/0 200/0 200/0 200/0 200/0 200/0 200/0 200/0 200/0",
    0.40: "13/0 13/0 13/0 13/0 13/0 13/0 13/0 13/0 80/1 80/1 80/1 125/2 200/3 315/5 500/6 800/8",
    1.0: "5/0 5/0 5/0 5/0 5/0 5/0 32/1 32/1 32/1 50/2 80/3 125/5 200/6 315/8 500/10 500/10",
    2.5: "2/0 2/0 2/0 2/0 13/1 13/1 13/1 20/2 32/3 50/5 80/6 125/8 200/10 200/10 200/10 200/10",
    6.5: "2/0 2/0 5/1 5/1 5/1 8/2 13/3 20/5 32/6 50/8 80/10 80/10 80/10 80/10 80/10 80/10",
    25.0: "2/1 2/1 2/2 3/3 5/5 8/6 13/8 20/10 20/10 20/10 20/10 20/10 20/10 20/10 20/10 20/10",
    250.0: "2/10 2/10 2/10 3/14 5/21 5/21 5/21 5/21 5/21 5/21 5/21 5/21 5/21 5/21 5/21 5/21",
    1000.0: "2/30 2/30 2/30 2/30 2/30 2/30 2/30 2/30 2/30 2/30 2/30 2/30 2/30 2/30 2/30 2/30",
}


@pytest.mark.parametrize("aql", REDUCED)
def test_reduced_plans(aql: float) -> None:
    plans = [attribute_plan(letter, aql, "reduced") for letter in SIZES]
    assert " ".join(f"{plan.n}/{plan.c}" for plan in plans) == REDUCED[aql]


CORNERS: list[tuple[tuple[str, float, Severity], tuple[int, int]]] = [
    (("R", 0.015, "normal"), (800, 0)),
    (("A", 10.0, "normal"), (5, 1)),
    (("A", 1000.0, "normal"), (2, 30)),
    (("R", 1000.0, "normal"), (3, 44)),
    (("R", 0.010, "tightened"), (2000, 0)),
    (("R", 0.015, "tightened"), (1250, 0)),
    (("Q", 0.025, "tightened"), (3150, 1)),  # the one plan of letter S
    (("R", 0.025, "tightened"), (3150, 1)),
    (("P", 0.040, "tightened"), (2000, 1)),
    (("L", 0.40, "tightened"), (200, 1)),
    (("A", 10.0, "tightened"), (2, 0)),
    (("E", 150.0, "tightened"), (13, 27)),
    (("F", 100.0, "tightened"), (13, 18)),
    (("B", 1000.0, "tightened"), (3, 41)),
]


@pytest.mark.parametrize(("cell", "plan"), CORNERS)
def test_corners_of_the_tables(cell: tuple[str, float, Severity], plan: tuple[int, int]) -> None:
    assert attribute_plan(*cell) == SinglePlan(*plan)


def rectified() -> Curve:
    return operating_curve(SinglePlan(89, 2), [0.01], lot=10_000)


SOURCES = {
    "reduced plan": "ISO 2859-1:1999 table 2-C, as in GB/T 2828.1-2012 (public copy)",
    "acceptance, n = 89": "Montgomery (from memory)",
    "double": "Montgomery, rounded on the way (from memory)",
    "rectified": "Montgomery; the worst read off a graph (from memory)",
    "acceptance, n = 52": "NIST/SEMATECH e-Handbook 6.2.3 (from memory)",
}
CHECKS: list[tuple[str, float, float, Callable[[], float]]] = [
    ("reduced plan, letter J, AQL 2.5: sample", 32, 0, lambda: attribute_plan("J", 2.5, "reduced").n),
    ("reduced plan, letter J, AQL 2.5: accepted", 3, 0, lambda: attribute_plan("J", 2.5, "reduced").c),
    ("reduced plan, letter N, AQL 1.0: accepted", 6, 0, lambda: attribute_plan("N", 1.0, "reduced").c),
    *[
        (f"acceptance, n = 89, c = 2, {p:.0%} faulty", v, 1e-4, lambda p=p: float(accept(SinglePlan(89, 2), p)))
        for p, v in [(0.01, 0.9397), (0.02, 0.7366), (0.03, 0.4985), (0.05, 0.1721), (0.08, 0.0230)]
    ],
    *[
        (f"acceptance, n = 52, c = 3, {p:.0%} faulty", v, 2e-3, lambda p=p: float(accept(SinglePlan(52, 3), p)))
        for p, v in [(0.01, 0.998), (0.02, 0.980), (0.03, 0.930), (0.05, 0.739), (0.08, 0.394), (0.10, 0.223),
                     (0.12, 0.115), (0.14, 0.055)]
    ],
    ("double 50/1/4 and 100/3, 5 % faulty, by the first sample", 0.279, 5e-4,
     lambda: float(accept(SinglePlan(50, 1), 0.05))),
    ("double 50/1/4 and 100/3, 5 % faulty, in all", 0.289, 2e-3,
     lambda: float(accept(DoublePlan(50, 1, 4, 100, 3), 0.05))),
    ("rectified n = 89, c = 2, lot 10,000, 1 % faulty, outgoing", 0.0093, 5e-5, lambda: rectified().outgoing[0]),
    ("rectified n = 89, c = 2, lot 10,000, 1 % faulty, inspected", 687, 0.5, lambda: rectified().inspected[0]),
    ("rectified n = 89, c = 2, lot 10,000, worst outgoing", 0.0155, 3e-4,
     lambda: worst_outgoing(SinglePlan(89, 2), 10_000)[0]),
]  # fmt: skip


@pytest.mark.parametrize(("what", "published", "tolerance", "computed"), CHECKS, ids=[c[0] for c in CHECKS])
def test_value(what: str, published: float, tolerance: float, computed: Callable[[], float]) -> None:
    assert computed() == pytest.approx(published, abs=tolerance)


def test_the_nomographs_are_read_by_eye() -> None:
    """Montgomery reads n = 89, c = 2 for 1 % at 5 % risk and 6 % at 10 % risk: its producer's risk is 6 %, so the exact
    plan is n = 110, c = 3. By measurement he reads n = 40, k = 1.9; exactly it is 42 and 1.905. (Both from memory.)"""
    assert 1 - float(accept(SinglePlan(89, 2), 0.01)) == pytest.approx(0.060, abs=5e-4)
    assert float(accept(SinglePlan(89, 2), 0.06)) <= 0.10
    assert single_by_two_points(0.01, 0.05, 0.06, 0.10) == SinglePlan(110, 3)
    plan = measured_plan(0.01, 0.05, 0.06, 0.10)
    assert plan.n == 42
    assert plan.k == pytest.approx(1.9, abs=0.01)
