"""Every example answers everything without a warning, its masses close, and its README says what the tool says."""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from linewright.answer import Answer, answer
from linewright.plan import read_plan

HERE = Path(__file__).parent
EXAMPLES = HERE.parents[1] / "examples"
NAMES = ("trailer", "hivekit", "cider", "harvest", "reedboard", "boot")
SAYS_NO = {"cider"}
"""The cellar is asked for more than its tanks can make, on purpose; its README says so and what helps."""


@cache
def answered(name: str) -> Answer:
    return answer(read_plan(EXAMPLES / f"{name}.toml"))


@cache
def discoveries() -> ModuleType:
    spec = importlib.util.spec_from_file_location("discoveries", HERE / "discoveries.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("name", NAMES)
def test_answers_without_a_warning(name: str) -> None:
    assert [str(problem) for problem in answered(name).problems] == []
    assert answered(name).cost.missing == ()


@pytest.mark.parametrize("name", NAMES)
def test_says_yes_with_some_to_spare_or_no_on_purpose(name: str) -> None:
    found = answered(name)
    assert found.yes == (name not in SAYS_NO)
    if found.yes and found.season is None:  # a season's averages say nothing of its peaks
        assert 0.05 < found.capacity.spare < 0.25


@pytest.mark.parametrize("name", NAMES)
def test_mass_closes_at_every_operation_and_over_the_whole_works(name: str) -> None:
    found = answered(name)
    flow, mass = found.flow, found.network.items.mass
    assert not np.isnan(flow.mass_in).any()
    assert flow.mass_out == pytest.approx(flow.mass_in, rel=found.plan.tolerance)
    bought = np.nansum(flow.bought * mass)
    left = np.nansum((flow.delivered + flow.sold + flow.disposed + flow.left_over) * mass)
    scrapped = sum(s.kg for s in flow.scrap)
    consumables = washing_and_tools(found)
    assert left + flow.lost.sum() + scrapped + consumables == pytest.approx(bought, rel=5e-3)


def washing_and_tools(found: Answer) -> float:
    """Kilograms a day of what setups and cleaning take: used up, in no product."""
    used = found.flow.used * found.network.items.mass
    joined = np.zeros(len(used))
    operations = found.network.operations
    for i, runs in enumerate(found.flow.runs):
        for links, times in (
            (operations.takes, first(found, i)),
            (operations.takes_per_load, runs / operations.load_most[i]),
        ):
            items, units = links.row(i)
            joined[items] += units * times
    for choice, mix in zip(found.network.choices, found.flow.choice_mix, strict=True):
        joined[list(choice.items)] += np.multiply(choice.units, mix) * found.flow.runs[choice.operation]
    return float(np.nansum(used - joined * found.network.items.mass))


def first(found: Answer, i: int) -> float:
    """Runs that take their parts: a rework pass takes nothing again in these plans."""
    return float(found.flow.first_runs[i])


@pytest.mark.parametrize("name", NAMES)
def test_costs_less_than_it_sells_for(name: str) -> None:
    for product in answered(name).cost.products:
        assert product.price is not None
        assert 0.1 < product.margin / product.price < 0.6  # type: ignore[operator]
        assert product.parts.total == pytest.approx(product.total, abs=0.005)


@pytest.mark.parametrize("name", NAMES)
def test_no_crew_station_or_tool_is_there_for_nothing(name: str) -> None:
    for resource in answered(name).capacity.resources:
        assert resource.hours.total > 0, resource.id


def test_the_dryer_closes_its_water() -> None:
    found = answered("reedboard")
    flow, items = found.flow, found.network.items.ids
    made = dict(zip(items, flow.made, strict=True))
    water = dict(zip(flow.losses, flow.lost, strict=True))["water"]
    assert water == pytest.approx(made["wet_chips"] * 0.40 / 1.40 - made["flakes"] * 0.02 / 1.02, rel=1e-3)


def test_the_sugar_becomes_gas_and_alcohol() -> None:
    """Gay-Lussac: 180.16 g of hexose give 88.02 g of carbon dioxide; yeast keeps some sugar (common practice)."""
    found = answered("cider")
    ferment = found.network.operations.ids.index("ferment")
    gas = found.network.operations.loses.row(ferment)[1][0]
    sugar = 0.122
    assert 0.90 < gas / (sugar * 88.02 / 180.16) < 1.0


def test_the_share_that_the_bag_scale_sees_follows_from_the_masses() -> None:
    module, plan = discoveries(), read_plan(EXAMPLES / "hivekit.toml")
    seen: Callable[..., float] = module.seen
    finds: Any = next(o for o in plan.routes["fixings"].operations if o.id == "weigh_bag").check.finds  # type: ignore[union-attr]
    for fault, share in finds.items():
        assert seen(plan, fault.removesuffix(" missing").replace(" ", "_")) == pytest.approx(share, abs=0.01), fault


@pytest.mark.parametrize("name", NAMES)
def test_the_readme_says_what_the_tool_says(name: str) -> None:
    module = discoveries()
    text = (EXAMPLES / "README.md").read_text(encoding="utf-8")
    start, end = module.marked(text, name)
    assert text[start:end] == module.paragraph(name), "run python tests/examples/discoveries.py"
