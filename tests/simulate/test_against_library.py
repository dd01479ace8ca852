"""Twenty random lines in two engines: this one and SimPy, a general-purpose process-simulation library.

Throughput, time in plant and the shares of working, blocked and no crew of every station must agree within the joint
interval. About 300 comparisons are made, so each is held to 4.5 joint standard errors (7e-6 by chance). So must the
examples that the SimPy model of a whole plan can play.
"""

from __future__ import annotations

import importlib.util
import random
import sys
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from linewright.base.calendar import DAY, NS, WEEK
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder, read_plan
from linewright.simulate import simulate
from linewright.simulate.estimates import t_value
from linewright.simulate.kernel.moves import FINISHED
from linewright.simulate.model import STATES
from linewright.simulate.replication import replicate
from linewright.simulate.simulate import Prepared, prepare

Floats = NDArray[np.float64]


def library(name: str = "process_library") -> ModuleType:
    folder = Path(__file__).parents[2] / "benchmarks"
    package = folder / name
    path = package / "__init__.py" if package.is_dir() else folder / f"{name}.py"
    inside = [str(package)] if package.is_dir() else None
    spec = importlib.util.spec_from_file_location(name, path, submodule_search_locations=inside)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


REPLICATIONS = 6


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(20))
def test_the_same_numbers_as_a_process_library(seed: int) -> None:
    reference = library()
    line = reference.random_line(seed)
    ours = simulate(reference.as_network(line), days=14, replications=REPLICATIONS, seed=seed)
    start = 1.0 * WEEK / NS
    runs = [reference.play(line, start + 2 * DAY / NS, start, seed=100 * seed + k) for k in range(REPLICATIONS)]
    joint = t_value(REPLICATIONS)

    def agree(what: str, mean: float, half_width: float, values: list[float]) -> None:
        other = np.array(values)
        error = np.hypot(half_width / joint, other.std(ddof=1) / np.sqrt(len(other)))
        assert abs(mean - other.mean()) <= 4.5 * error + 1e-3 * abs(mean) + 1e-4, (what, mean, other.mean(), error)

    agree("rate", ours.rate.mean, ours.rate.half_width, [run.finished / 2 for run in runs])
    agree("in plant", ours.time_in_plant.mean, ours.time_in_plant.half_width, [run.in_plant for run in runs])
    for k in range(len(line.steps)):
        for state, name in (("working", "working"), ("blocked", "blocked"), ("no crew", "no_crew")):
            found = ours.state_share.interval(k, ours.states.index(state))
            agree(f"{state} of station {k}", found.mean, found.half_width, [getattr(run, name)[k] for run in runs])


@dataclass(frozen=True)
class Case:
    """An example, weeks played, weeks of them left out, runs of the library."""

    name: str
    weeks: int
    warm_up: int
    runs: int


OURS = 24
"""Runs of ours, which cost little."""
CASES = (
    Case("trailer", 14, 2, 8),
    Case("hivekit", 6, 2, 8),
    Case("boot", 3, 1, 6),
    Case("cider", 20, 12, 6),
    Case("reedboard", 5, 1, 8),
)


def figures_of(network: Network) -> list[str]:
    """What is compared: output, time and work in the plant, people at work, stock, every state of every station."""
    crews = [f"{crew} at work" for crew in network.crews.ids]
    stock = [f"{item} on hand" for item in network.items.ids]
    states = [f"{station} {state}" for station in network.stations.ids for state in STATES]
    return ["rate", "time in plant", "pieces open", *crews, *stock, *states]


def ours(prepared: Prepared, case: Case, replication: int) -> Floats:
    """The figures of one replication after the warm-up."""
    network, span = prepared.network, (case.weeks - case.warm_up) * WEEK
    found = replicate(prepared.layout, prepared.template, seed=1, replication=replication, weeks=case.weeks)

    def window(account: Any) -> Any:
        return (account[-1] - account[case.warm_up]) / span

    made = window(found.finished)[network.items.demand > 0].sum() * WEEK / network.days_week
    finished = (found.gone[:, 0] >= case.warm_up * WEEK) & (found.gone[:, 1] == FINISHED) & (found.gone[:, 7] == 1)
    in_plant = float(np.mean(found.gone[finished, 0] - found.gone[finished, 5])) / NS
    places = network.stations.places
    states = np.add.reduceat(window(found.states), np.r_[0, np.cumsum(places)[:-1]]) / places[:, None]
    stocks = window(found.stocks)
    return np.array([made, in_plant, window(found.open_time).sum(), *window(found.crews), *stocks, *states.ravel()])


def theirs(play: Any, prepared: Prepared, case: Case, seed: int) -> Floats:
    """The same figures by the process library."""
    run = play(prepared.network, prepared, case.weeks, case.warm_up, seed)
    return np.array([run.rate, run.in_plant, run.inside, *run.crews, *run.stocks, *run.states.ravel()])


def half_widths(one: Floats, other: Floats, chance: float) -> Floats:
    """Welch's intervals of the difference of two means, for each column; nothing where neither ever varies."""
    parts = [runs.var(axis=0, ddof=1) / len(runs) for runs in (one, other)]
    error = np.sqrt(parts[0] + parts[1])
    weight = parts[0] ** 2 / (len(one) - 1) + parts[1] ** 2 / (len(other) - 1)
    freedom = np.divide(error**4, weight, out=np.ones(len(error)), where=weight > 0)
    return np.asarray(stats.t.ppf(1 - chance / 2, np.maximum(freedom, 1.0)) * error + 1e-9)


def differences(network: Network, case: Case, chance: float = 0.01) -> list[tuple[str, float, float]]:
    """Figures of a plan, flat out, in the same weeks, that differ by more than luck: (name, ours, theirs).

    Each figure has an interval of Welch's t, at ``chance`` over the number of figures that vary (Bonferroni): so often
    a true model is refused.
    """
    reference = library("process_plant")
    assert reference.cannot_play(network) == []
    prepared = prepare(network, release="flat out")
    one = np.array([ours(prepared, case, k) for k in range(OURS)])
    other = np.array([theirs(reference.play_plant, prepared, case, k) for k in range(case.runs)])
    gap = np.abs(one.mean(axis=0) - other.mean(axis=0))
    varied = (one.std(axis=0) > 0) | (other.std(axis=0) > 0)
    rounding = 1e-6 * np.abs(one.mean(axis=0))  # seconds as real numbers against whole nanoseconds
    allowed = half_widths(one, other, chance / varied.sum()) + rounding
    figures = figures_of(network)
    return [(figures[k], one.mean(axis=0)[k], other.mean(axis=0)[k]) for k in np.flatnonzero(gap > allowed)]


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_an_example_played_by_a_process_library(case: Case) -> None:
    network = compile_network(read_plan(Path(__file__).parents[2] / "examples" / f"{case.name}.toml"))
    assert differences(network, case) == []


def random_network(seed: int) -> Network:
    """Parts joined to a product on shared stations: shifts, loads, tools, stoppages, setups, rework, scrap."""
    luck = random.Random(seed)
    plan = PlanBuilder(f"network {seed}", makes="thing", demand="20 each/day", money="EUR")
    plan.shift("day", hours="06:00-14:00", breaks=["09:00-09:20"], days="Mon-Fri")
    plan.shift("late", hours="14:00-22:00", days="Mon-Thu")
    plan.crew("red", people={"day": luck.randint(2, 4), "late": luck.randint(1, 3)})
    plan.crew("blue", people=luck.randint(1, 3), shift="day", allowance="8 %").tool("jig", count=luck.randint(1, 2))
    stations = [f"s{k}" for k in range(luck.randint(3, 5))]
    for name in stations:
        stop = {"name": "jam", "between": f"{luck.randint(3, 12)} h", "repair": {"mean": "20 min", "cv": 0.5}}
        plan.station(name, places=luck.randint(1, 3), stoppages=[stop] if luck.random() < 0.5 else [])
    parts = [f"part{k}" for k in range(luck.randint(1, 2))]
    for name in (*parts, "thing", "second", "stuff"):
        plan.item(name, unit="each", **({"buy": "1 EUR"} if name == "stuff" else {}))
    for route in (*parts, "thing"):
        made, count = plan.route(route, gives=route), luck.randint(2, 4)
        for k in range(count):
            shape = luck.choice([{"cv": 0.3}, {"cv": 1, "shape": "exponential"}, {"cv": 0}])
            fields: dict[str, Any] = {"time": {"mean": f"{luck.randint(3, 16)} min", **shape}}
            fields["station"] = luck.choice(stations)
            if luck.random() < 0.6:
                fields["crew"] = {luck.choice(["red", "blue"]): 1}
            if luck.random() < 0.2:  # at a station of its own: a load that waits for more would lock others out
                plan.station(f"oven_{route}_{k}", places=luck.randint(1, 2))
                fields |= {"station": f"oven_{route}_{k}", "load": luck.randint(2, 3)}
            if luck.random() < 0.2:
                fields["stand"] = f"{luck.randint(5, 60)} min"
            if luck.random() < 0.2:
                fields["uses"] = {"jig": 1}
            if luck.random() < 0.2:
                fields["setup"] = {"time": "6 min", "every": luck.randint(3, 8)}
            if k == 0:
                fields["takes"] = {part: luck.randint(1, 2) for part in parts} if route == "thing" else {"stuff": 1}
            fields["faults"] = {"gap": 0.1} if luck.random() < 0.5 else {}
            if k == count - 1:
                other = luck.choice(["scrap", {"seconds": "second"}])
                again = {"rework": f"{route}_{luck.randint(0, k)}", "at_most": luck.randint(1, 2), "else": other}
                fields["check"] = {"finds": {"gap": 0.9}, "false_alarms": 0.02, "then": luck.choice(["scrap", again])}
            made.operation(f"{route}_{k}", **fields)
    return compile_network(plan.build())


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(20))
def test_a_random_network_played_by_a_process_library(seed: int) -> None:
    """Throughput, time and work in the plant, people at work and every state of every station; 1 % for all twenty."""
    network = random_network(seed)
    assert differences(network, Case(f"network {seed}", 8, 2, 10), chance=0.01 / 20) == []


def one_crew(open_pieces: int) -> PlanBuilder:
    """Work without a station and at one, by two people; several pieces always wait for either."""
    plan = PlanBuilder("one crew", makes="thing", demand="20 each/day", money="EUR", open_pieces=open_pieces)
    plan.shift("day", hours="06:00-14:00", days="Mon-Fri").crew("red", people=2, shift="day")
    plan.station("bench").item("thing", unit="each")
    return plan


def test_both_fill_a_place_just_left_before_they_let_new_work_in() -> None:
    """The other way about the rate would be a sixteenth less: both people would cut while the bench is empty."""
    plan = one_crew(6)
    route = plan.route("r", gives="thing")
    route.operation("cut", crew={"red": 1}, time={"mean": "10 min", "cv": 0.2})
    route.operation("fit", station="bench", crew={"red": 1}, time={"mean": "10 min", "cv": 0.2})
    assert differences(compile_network(plan.build()), Case("one crew", 3, 1, 8), chance=1e-4) == []


def test_both_bake_what_is_sent_back_with_the_next_load() -> None:
    plan = one_crew(9).station("oven")
    route = plan.route("r", gives="thing")
    route.operation("cut", station="bench", time={"mean": "10 min", "cv": 0.2})
    route.operation("bake", station="oven", time="25 min", load=3, faults={"pale": "20 %"})
    again = {"rework": "bake", "at_most": 1, "else": "scrap"}
    check: dict[str, Any] = {"finds": {"pale": 0.9}, "then": again}
    route.operation("look", crew={"red": 1}, time={"mean": "4 min", "cv": 0.2}, check=check)
    assert differences(compile_network(plan.build()), Case("oven", 5, 1, 8), chance=1e-4) == []


def test_the_yardstick_names_what_it_cannot_play() -> None:
    network = compile_network(read_plan(Path(__file__).parents[2] / "examples" / "harvest.toml"))
    missing = library("process_plant").cannot_play(network)
    assert {"a season", "vessels of several sizes", "work during a stand"} <= set(missing)
