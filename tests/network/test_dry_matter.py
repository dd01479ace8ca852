"""Items counted in dry matter or in energy: amounts and prices go through the moisture."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from linewright.network.model import Network

TEXT = """
[plan]
name = "Dryer"
money = "EUR"
makes = "dry"
demand = "10 t/day"
[items.wet]
unit = "t dry"
moisture = "100 %"
buy = "40 EUR/t"
[items.gas]
unit = "kWh"
buy = "0.08 EUR"
[items.dry]
unit = "t"
moisture = "25 %"
[routes.dry]
gives = "dry"
[[routes.dry.operations]]
id = "dry"
time = "1 h"
takes = { wet = "1.6 t", gas = "900 MJ" }
loses = { water = "0.6 t" }
"""


def test_amounts_and_prices_of_dry_matter_and_energy(network: Callable[[str], Network]) -> None:
    """1.6 t at 100 % moisture (dry basis) is 0.8 t of dry matter, which is 1 t at 25 %: 0.6 t of water leaves."""
    net = network(TEXT)
    wet, gas, _ = range(3)
    items, amounts = net.operations.takes.row(0)
    units = dict(zip(items.tolist(), amounts.tolist(), strict=True))
    assert units[wet] == pytest.approx(800.0)  # kg dry
    assert units[gas] == pytest.approx(250.0)  # kWh
    assert net.items.mass[wet] == pytest.approx(2.0)  # kg for each kg dry
    assert net.items.buy[wet] == pytest.approx(0.08)  # EUR for each kg dry, at 40 EUR for a wet tonne
    assert net.items.buy[gas] == pytest.approx(0.08)
