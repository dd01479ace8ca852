"""Lots against the papers that found them.

Harris, How many parts to make at once, Factory, The Magazine of Management 10 (1913) 135: his one example (a public
reprint was read): 1,000 units a month, a setup of 2 dollars, 10 cents a unit, 10 % a year: 2,190 units, the setup about
0.1 cent a unit. Wagner and Whitin, Dynamic version of the economic lot size model, Management Science 5 (1958) 89:
their example of twelve months (from memory: demand, setup costs, the least costs and the plan; it agrees with itself).
"""

from __future__ import annotations

import pytest

from linewright.lots import economic_lot, least_cost_lots, lot_cost


def test_harris() -> None:
    holding = 0.10 * 0.10 / 12  # a tenth of the unit's cost a year, by the month
    lot = economic_lot(1000, 2.0, holding)
    assert lot == pytest.approx(2190, abs=1)  # printed 2,190; his constant K is the root of 240 S / C
    assert lot_cost(lot, 1000, 2.0, holding).setups / 1000 == pytest.approx(0.001, abs=1e-4)


def test_wagner_and_whitin() -> None:
    demand = [69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56]
    setup = [85, 102, 102, 101, 98, 114, 105, 86, 119, 110, 98, 114]
    found = least_cost_lots(demand, setup, 1.0)
    assert found.cost == 864
    assert found.least == (85, 114, 186, 277, 348, 400, 469, 555, 600, 710, 789, 864)
    assert found.lots == (98, 0, 97, 0, 121, 0, 0, 112, 0, 67, 135, 0)
