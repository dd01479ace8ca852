"""Random plans of flows, loads and pieces: nothing hangs, the books balance, bounds are kept, compiled or not.

The generator mixes recycles, splits, merges, tiny stores, direct hand-over, several places, crews, shifts, stoppages,
cleaning, start-up scrap, yields, loads before and behind, pieces that take what flows, and choices of feed. The books
(quantities to 1e-9, pieces, time, Little's law) are checked by the engine itself at every week's end.
"""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from linewright.base.calendar import DAY, HOUR, MINUTE
from linewright.base.problems import ProblemsError
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import Simulation, simulate
from linewright.simulate.checks import runners
from linewright.simulate.engine import EndlessInstantError, Engine
from linewright.simulate.flowing import flows
from linewright.simulate.kernel import flow_rows as f
from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.flow_levels import slack_of
from linewright.simulate.simulate import Prepared, prepare


def a_flow(luck: random.Random, station: str) -> dict[str, Any]:
    fields: dict[str, Any] = {"station": station, "time": {"rate": f"{luck.choice([5, 20, 60, 100, 101, 300])} kg/h"}}
    if luck.random() < 0.2:
        fields["time"]["dwell"] = luck.choice(["20 min", "3 min", "2 h"])
    if luck.random() < 0.35:
        fields["crew"] = {luck.choice(["red", "blue"]): 1}
        if luck.random() < 0.3:
            fields["tends"] = 2
    if luck.random() < 0.2:
        fields["clean"] = luck.choice(
            [
                {"after": "shift", "time": "9 min"},
                {"after": "day", "time": "5 min"},
                {"every": "70 kg", "time": "6 min"},
            ]
        )
    if luck.random() < 0.15:
        fields["setup"] = luck.choice([{"time": "4 min", "every": "50 kg"}, {"time": "3 min", "when": "item changes"}])
    if luck.random() < 0.2:
        fields["start"] = {"time": "5 min", "scrap": "3 kg", "after": luck.choice(["shift", "stop"])}
    if luck.random() < 0.2:
        fields["yield_"] = 0.9
    return fields


def a_plan(seed: int) -> PlanBuilder:
    luck = random.Random(seed)
    counted = luck.random() < 0.5
    plan = PlanBuilder(
        f"flows {seed}", makes="thing", demand=f"{luck.randint(5, 60)} each/day" if counted else "300 kg/day",
        release=luck.choice(["takt", "pull", "flat out"]), open_pieces=luck.randint(30, 300), money="EUR",
    )  # fmt: skip
    plan.shift("day", hours="06:00-14:00", breaks=["09:00-09:20"], days="Mon-Fri")
    plan.shift("late", hours="14:00-22:00", days="Mon-Thu")
    plan.crew("red", people={"day": 2, "late": 1}).crew("blue", people=1, shift="day")
    plan.item("raw", unit="kg", buy="1 EUR").item("other", unit="kg", buy="2 EUR")
    plan.item("thing", unit="each" if counted else "kg")
    count = luck.randint(1, 4)
    stores = [f"s{k}" for k in range(count)]
    for store in stores:
        plan.store(store, room=f"{luck.choice([0.01, 1, 11, 60, 400])} kg")
    names = [f"i{k}" for k in range(count)]
    for name, store in zip(names, stores, strict=True):
        plan.item(name, unit="kg", **({"store": store} if luck.random() < 0.6 else {}))
    plan.item("back", unit="kg", **({"store": "backs"} if luck.random() < 0.3 else {})).store("backs", room="30 kg")
    recycled = False
    for k, name in enumerate(names):
        before = "raw" if k == 0 else names[k - 1]
        _station(plan, luck, f"m{k}")
        made = plan.route(f"r{k}", gives=name)
        fields = a_flow(luck, f"m{k}")
        fields["takes"] = {before: "1 kg"}
        if k == 0 and luck.random() < 0.7:
            options = luck.sample(["back", "raw", "other"], luck.randint(2, 3))
            fields["takes"] = {"feed": {"any_of": options, "amount": "1 kg"}}
            recycled = "back" in options
        if k == count - 1 and luck.random() < 0.7:
            share = luck.choice([0.1, 0.5, 0.9])
            fields["gives"] = {name: f"{1 - share} kg", "back": f"{share} kg"}
        if luck.random() < 0.4:
            _two_steps(plan, luck, made, k, fields)
        else:
            made.operation(f"o{k}", **fields)
    _end(plan, luck, names[-1], counted, recycled)
    return plan


def _station(plan: PlanBuilder, luck: random.Random, name: str) -> None:
    fields: dict[str, Any] = {"places": luck.choice([1, 1, 2])}
    if luck.random() < 0.4:
        fields["stoppages"] = [
            {"name": "jam", "between": "5 h", "repair": "20 min", "clock": luck.choice(["running", "calendar"])}
        ]
    if luck.random() < 0.2:
        fields["hours"] = "day"
    plan.station(name, **fields)


def _two_steps(plan: PlanBuilder, luck: random.Random, made: Any, k: int, fields: dict[str, Any]) -> None:
    """A route of two operations: two flows, a load before a flow, or a load behind one."""
    _station(plan, luck, f"n{k}")
    gives = fields.pop("gives", None)
    then = luck.choice([None, None, "next"])
    second: dict[str, Any]
    kind = luck.choice(["flows", "load behind", "load before"])
    if kind == "flows":
        second = a_flow(luck, f"n{k}")
        fields |= {"then_to": then} if then else {}
    elif kind == "load behind":
        second = {"station": f"n{k}", "load": "12 kg", "time": "7 min"}
    else:
        second, fields = fields, {"station": f"n{k}", "load": "9 kg", "time": "5 min", "takes": fields["takes"]}
        second.pop("takes")
    if gives:
        second["gives"] = gives
    made.operation(f"o{k}", **fields).operation(f"p{k}", **second)


def _end(plan: PlanBuilder, luck: random.Random, last: str, counted: bool, recycled: bool) -> None:
    _station(plan, luck, "end")
    made = plan.route("t", gives="thing")
    if counted:
        fields: dict[str, Any] = {"station": "end", "time": "5 min", "takes": {last: "2 kg"}}
        if luck.random() < 0.4:
            fields["load"] = 3
        if luck.random() < 0.3:
            fields["faults"] = {"gap": 0.1}
            fields["check"] = {"finds": {"gap": 0.9}}
        if not recycled and luck.random() < 0.3:
            fields["gives"] = {"back": "0.2 kg"}
        made.operation("make", **fields)
    else:
        made.operation("make", **a_flow(luck, "end"), takes={last: "1 kg"})


def network(seed: int) -> Network | None:
    """A random network; None where the plan is refused before it is played."""
    try:
        return compile_network(a_plan(seed).build())
    except ProblemsError:
        return None


def played(made: Network, seed: int) -> tuple[Simulation | None, str]:
    """What happens, or why nothing does."""
    try:
        return simulate(made, days=14, replications=2, seed=seed, budget_seconds=20, threads=1), ""
    except ProblemsError as refused:
        return None, str(refused)


def plays(seed: int) -> bool:
    made = network(seed)
    if made is None:
        return False
    result, said = played(made, seed)
    assert "without any time" not in said
    if result is None:
        return False
    assert np.isfinite(result.rate.mean)
    assert result.rate.mean >= 0
    assert np.allclose(result.state_share.mean.sum(axis=1), 1.0)
    assert (result.state_share.mean >= -1e-12).all()
    assert result.events < 3_000_000, "no storm of events"
    return any(flows(made))


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.integers(0, 10**6))
def test_random_flows_play_or_say_why_not(seed: int) -> None:
    plays(seed)


def test_most_random_plans_are_played() -> None:
    assert sum(plays(seed) for seed in range(60)) > 30


@pytest.mark.slow
@pytest.mark.parametrize("block", range(10))
def test_five_hundred_random_flows(block: int) -> None:
    for seed in range(50):
        plays(10**7 + 50 * block + seed)


def laid_out(seed: int) -> Prepared:
    """A random network ready to be played; the test is skipped where it is refused."""
    made = network(seed)
    try:
        if made is not None:
            return prepare(made)
    except ProblemsError:
        pass
    pytest.skip("this one is refused")


def bounds(prepared: Prepared) -> list[int]:
    m = prepared.layout.builder.m
    flows_row = m[r.FLOWS]
    if not flows_row:
        return []
    first = m[flows_row + f.F_BOUNDS]
    return [first + k * f.BOUND_WIDTH for k in range(m[flows_row + f.F_N_BOUNDS])]


@pytest.mark.parametrize("seed", range(25))
def test_no_level_passes_its_bound(seed: int) -> None:
    """Looked at every quarter of an hour: nothing below empty, nothing above full, but for a few ns of flow."""
    prepared = laid_out(seed)
    engine = Engine(prepared.template, seed=seed, replication=0)
    for quarter in range(4 * 24 * 5):
        while not engine.advance(quarter * HOUR // 4):
            pass
        for bound in bounds(prepared):
            if engine.m[bound + f.B_KIND] in (f.ON_HAND, f.IN_BUFFER, f.ROOM, f.DIRECTLY):
                slack = slack_of(engine.m, engine.x, bound)  # type: ignore[arg-type]
                near = 10.0 * float(engine.x[bound + f.B_GROSS]) + 1e-9
                pulled = engine.m[bound + f.B_KIND] == f.ON_HAND and prepared.release == "pull"
                assert slack >= -near or pulled, (quarter, int(engine.m[bound + f.B_KIND]))


@pytest.mark.parametrize("seed", range(40))
def test_everyone_runs_as_fast_as_he_can(seed: int) -> None:
    """Whoever runs slower than he could has a store at its bound that stays there; no store at its bound passes it."""
    prepared = laid_out(seed)
    engine = Engine(prepared.template, seed=seed, replication=0)
    for step in range(300):
        while not engine.advance(step * 1237 * MINUTE // 100):
            pass
        for b, bound in enumerate(bounds(prepared)):
            if engine.m[bound + f.B_HOLDS] == 1:
                assert engine.x[bound + f.B_NET] >= -1e-9 * engine.x[bound + f.B_GROSS], (step, b)
        for j, runner in enumerate(runners(engine)):
            slower = engine.x[runner + f.N_RATE] < engine.x[runner + f.N_CAP] * (1 - 1e-9)
            if slower and engine.m[runner + f.N_MODE] != f.OFF:
                assert held_up(engine, bounds(prepared), j), (step, j)


def held_up(engine: Engine, found: list[int], j: int) -> bool:
    """Whether a bound that holds and does not move limits a runner."""
    m, x = engine.m, engine.x
    row = int(m[r.FLOWS])
    present, acts = int(m[row + f.F_PRESENT]), int(m[row + f.F_ACTS])
    return any(
        m[present + b * acts + j] == 1 and x[bound + f.B_NET] <= 1e-6 * x[bound + f.B_GROSS]
        and (m[bound + f.B_HOLDS] == 1)
        for b, bound in enumerate(found)
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(16))
def test_random_flows_give_the_same_bits_without_the_compiler(seed: int) -> None:
    template = laid_out(seed).template
    memories = []
    for choice in (True, False):
        engine = Engine(template, seed=seed, replication=1, tracing=True, compiler=choice)
        try:
            while not engine.advance(int(1.2 * DAY)):
                pass
        except EndlessInstantError:
            return
        memories.append((engine.m.tobytes(), engine.x.tobytes(), engine.log.tobytes()))
    assert memories[0] == memories[1]
