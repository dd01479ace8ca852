"""The six plans of Harrow Fen Works read and compile without a problem, and say that their numbers are invented."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest

from linewright.base.cautions import cautions
from linewright.network import Network, compile_network
from linewright.plan import read_plan

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("trailer", "hivekit", "cider", "harvest", "reedboard", "boot")


@pytest.fixture(scope="module", params=NAMES)
def network(request: pytest.FixtureRequest) -> Network:
    return compile_network(read_plan(EXAMPLES / f"{request.param}.toml"))


def test_every_plan_in_the_folder_is_tested() -> None:
    assert {p.stem for p in EXAMPLES.glob("*.toml")} == set(NAMES)


def test_compiles_without_a_warning(network: Network) -> None:
    assert [str(p) for p in network.problems] == []


def test_is_of_a_size_that_a_works_would_write(network: Network) -> None:
    assert 10 <= sum(len(route.operations) for route in network.written.routes.values()) <= 150


@pytest.mark.parametrize("name", NAMES)
def test_says_that_its_numbers_are_invented(name: str) -> None:
    text = (EXAMPLES / f"{name}.toml").read_text(encoding="utf-8")
    assert "ALL NUMBERS IN THIS FILE ARE INVENTED" in text
    assert "Invented numbers" in tomllib.loads(text)["plan"]["note"]


def test_every_operation_tells_what_it_does(network: Network) -> None:
    for route in network.plan.routes.values():
        for operation in route.operations:
            assert operation.name, operation.id


def test_every_hazard_brings_a_caution(network: Network) -> None:
    plan = network.plan
    operations = [o for route in plan.routes.values() for o in route.operations]
    named = {h for thing in (*plan.stations.values(), *plan.items.values(), *operations) for h in thing.hazards}
    assert named
    assert len(cautions((hazard, "here") for hazard in named)) == len(named)


def test_every_check_says_limits_and_method(network: Network) -> None:
    checks = [o.check for r in network.plan.routes.values() for o in r.operations if o.check is not None]
    assert checks
    for check in checks:
        assert all((check.limits, check.method, check.sample))


def test_every_crew_has_wage_allowance_and_presence(network: Network) -> None:
    for crew in network.plan.crews.values():
        assert crew.wage is not None
        assert 0 < crew.allowance < 0.2
        assert 0.9 <= crew.present <= 1


def test_what_is_made_weighs_what_went_in(network: Network) -> None:
    """Mass of each product, added up by hand from what its routes take, give and lose."""
    o, items = network.operations, network.items
    lost_of = o.loses.row
    for r, item in enumerate(network.routes.item):
        first, last = int(network.routes.first[r]), int(network.routes.last[r])
        mass = 0.0
        for i in range(first, last + 1):
            if any(k.operation == i for k in network.choices):
                choice = next(k for k in network.choices if k.operation == i)
                mass += choice.units[0] * items.mass[choice.items[0]]
            takes, units = o.takes.row(i)
            mass += float(units @ items.mass[takes])
            takes, units = o.takes_per_load.row(i)
            mass += float(units @ items.mass[takes]) / o.load_most[i]
            gives, units = o.gives.row(i)
            mass -= float(units @ items.mass[gives]) + float(lost_of(i)[1].sum())
            mass /= o.pieces_out[i]
        assert mass == pytest.approx(items.mass[item], rel=2e-3), network.routes.ids[r]
        assert not np.isnan(mass)
