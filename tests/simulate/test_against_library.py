"""Twenty random lines in two engines: this one and SimPy, a general-purpose process-simulation library.

Throughput, time in plant and the shares of working, blocked and no crew of every station must agree within the joint
interval. About 300 comparisons are made, so each is held to 4.5 joint standard errors (7e-6 by chance). So must the
examples that the SimPy model of a whole plan can play.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from linewright.base.calendar import DAY, NS, WEEK
from linewright.network import compile_network
from linewright.plan import read_plan
from linewright.simulate import simulate
from linewright.simulate.estimates import t_value
from linewright.simulate.replication import replicate
from linewright.simulate.simulate import prepare


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


WEEKS, WARM_UP = 14, 2


@pytest.mark.slow
@pytest.mark.parametrize(("name", "replications"), [("trailer", 8)])
def test_an_example_played_by_a_process_library(name: str, replications: int) -> None:
    """Rate and time in plant, flat out, in the same weeks."""
    reference = library("process_plant")
    plan = read_plan(Path(__file__).parents[2] / "examples" / f"{name}.toml")
    network = compile_network(reference.in_one_variant(plan))
    assert reference.cannot_play(network) == []
    prepared = prepare(network, release="flat out")
    runs = [reference.play_plant(network, prepared, WEEKS, WARM_UP, seed) for seed in range(replications)]
    demanded = int(np.argmax(network.items.demand))
    rates, times = [], []
    for k in range(replications):
        found = replicate(prepared.layout, prepared.template, seed=1, replication=k, weeks=WEEKS)
        made = found.finished[:, demanded]
        rates.append((made[-1] - made[WARM_UP]) / (network.days_week * (WEEKS - WARM_UP)))
        gone = found.gone[(found.gone[:, 0] >= WARM_UP * WEEK) & (found.gone[:, 1] == 6) & (found.gone[:, 7] == 1)]
        times.append(float(np.mean(gone[:, 0] - gone[:, 5])) / NS)
    for ours, theirs in ((rates, [run.rate for run in runs]), (times, [run.in_plant for run in runs])):
        error = np.hypot(np.std(ours, ddof=1), np.std(theirs, ddof=1)) / np.sqrt(replications)
        assert abs(np.mean(ours) - np.mean(theirs)) <= 4.5 * error, (ours, theirs)


@pytest.mark.parametrize("name", ["cider", "reedboard", "hivekit", "boot"])
def test_the_yardstick_names_what_it_cannot_play(name: str) -> None:
    network = compile_network(read_plan(Path(__file__).parents[2] / "examples" / f"{name}.toml"))
    assert library("process_plant").cannot_play(network) != []
