"""How long does asking what would help most take, does the screening miss anything, what does the same luck save?

For each example: processor seconds of one candidate by what they go into; seconds of the whole question within its
budget; the screening against playing every candidate (how much of the best five gains it finds, and whether the best is
among them); and how many times more replications would be needed without common random numbers (variance of unpaired
over paired differences, median over candidates).
Run: python benchmarks/improve.py [--quick] [--json]
"""

from __future__ import annotations

import statistics
import sys
import time
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from common import run

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"


def question(name: str, played: int, budget: float) -> dict[str, object]:
    """All measures for one example."""
    from linewright.answer import answer
    from linewright.improve import improve
    from linewright.plan import check_plan
    from linewright.simulate.kernel.compiled import machine_code

    plan, _ = check_plan(EXAMPLES / f"{name}.toml")
    assert plan is not None
    machine_code()
    known = answer(plan)
    ask = partial(improve, known.network, known.flow, known.capacity, known.cost, to_play=known.to_play, threads=2)
    start, busy = time.perf_counter(), time.process_time()
    found = ask(budget_seconds=budget)
    seconds, processor = time.perf_counter() - start, time.process_time() - busy
    every = ask(budget_seconds=20 * budget, played=played)
    gains = {e.candidate.what: e.gain.mean for e in every.simulated if e.gain is not None}
    best = sorted(gains, key=lambda what: -gains[what])[:5]
    shown = {e.candidate.what for e in found.simulated}
    top = sorted((gains[what] for what in shown if what in gains), reverse=True)[:5]
    return {
        "seconds": seconds,
        "processor_seconds": processor,
        "candidates": found.considered,
        "played": len(found.simulated),
        "played_to_compare": len(every.simulated),
        "best_five_gains_found": sum(top) / sum(gains[what] for what in best),
        "best_is_found": best[0] in shown,
        "missed_of_best_five": [what for what in best if what not in shown],
        "replications_saved_by_same_luck": same_luck(*known.to_play, found.weeks),
        **one_candidate(name),
    }


def one_candidate(name: str) -> dict[str, object]:
    """Processor seconds that one candidate takes, step by step: the median of five, one more place at each station."""
    from linewright.capacity import measure_capacity
    from linewright.cost import cost_of_one
    from linewright.flow import solve_flow
    from linewright.improve.edits import edit, edited
    from linewright.network import compile_network
    from linewright.network.journeys import share_journeys
    from linewright.network.variants import expand
    from linewright.plan import check_plan
    from linewright.simulate import Quotas
    from linewright.simulate.replication import replicate
    from linewright.simulate.simulate import prepare

    plan, _ = check_plan(EXAMPLES / f"{name}.toml")
    assert plan is not None
    base = compile_network(plan)
    solve_flow(base)
    like = expand(plan) if plan.options else None
    told: dict[str, list[float]] = {}
    for station in [s for s in plan.stations.values() if not s.sizes][:5]:
        clock = [time.process_time()]
        changed = edited(plan, [edit(plan, f"stations.{station.id}.places", station.places + 1)])
        network = compile_network(changed, like)
        clock.append(time.process_time())
        share_journeys(network, base)
        flow = solve_flow(network)
        clock.append(time.process_time())
        capacity = measure_capacity(network, flow)
        clock.append(time.process_time())
        cost_of_one(network, flow, capacity)
        clock.append(time.process_time())
        ready = prepare(network, quotas=Quotas(flow.mix, flow.choice_mix), release="flat out", open_pieces=100)
        clock.append(time.process_time())
        replicate(ready.layout, ready.template, seed=1, replication=0, weeks=8)
        clock.append(time.process_time())
        steps = ("compile", "flow", "capacity", "cost", "layout", "eight_weeks")
        for step, before, after in zip(steps, clock, clock[1:], strict=False):
            told.setdefault(f"candidate_{step}_processor_seconds", []).append(after - before)
    return {step: statistics.median(seconds) for step, seconds in told.items()}


def same_luck(network: object, flow: object, weeks: int) -> float:
    """Variance of unpaired over paired differences, for one more place at each of the first six stations."""
    from linewright.flow import solve_flow
    from linewright.flow.model import Flow
    from linewright.network import Network
    from linewright.simulate import Quotas
    from linewright.simulate.compare import compare

    assert isinstance(network, Network)
    assert isinstance(flow, Flow)
    ids = network.stations.ids[:6]
    places = [int(p) for p in network.stations.places[:6]]
    changed = [network.change(f"stations.{s}.places", n + 1) for s, n in zip(ids, places, strict=True)]
    flows = [flow, *(solve_flow(one) for one in changed)]
    quotas = [Quotas(f.mix, f.choice_mix) for f in flows]
    found = compare(
        [network, *changed], 3, quotas=quotas, release="flat out", replications=20, days=7 * weeks, open_pieces=40
    )
    first = found.first.rate_of_each
    ratios = []
    for one in found.networks[1:]:
        paired = float(np.var(one.rate_of_each - first, ddof=1))
        unpaired = float(np.var(one.rate_of_each, ddof=1) + np.var(first, ddof=1))
        if paired > 0:
            ratios.append(unpaired / paired)
    return statistics.median(ratios) if ratios else float("inf")


def measure(quick: bool) -> dict[str, object]:
    """All measures of every example; quick: the trailer only, with a budget of 20 s, and one candidate of the boot."""
    names = ("trailer",) if quick else ("trailer", "hivekit", "reedboard", "boot")
    found: dict[str, object] = {name: question(name, 72, 20.0 if quick else 60.0) for name in names}
    return found | ({"boot": one_candidate("boot")} if quick else {})


def tell(found: dict[str, Any]) -> str:
    """The measures, one a line."""
    lines = []
    for name, value in found.items():
        lines.append(name if isinstance(value, dict) else f"{name:34s} {value}")
        for what, one in value.items() if isinstance(value, dict) else ():
            lines.append(f"  {what:34s} {one:.4g}" if isinstance(one, float) else f"  {what:34s} {one}")
    return "\n".join(lines)


if __name__ == "__main__":
    run(measure, __doc__, tell=tell)
