"""Where the numbers of an answer came from: the plan, its studies, models of physics, the engines and their luck."""

from __future__ import annotations

from collections.abc import Iterator

from linewright.answer.model import Answer
from linewright.balance.result import PROVED
from linewright.base.results import Table
from linewright.plan.model import Duration, Operation

_SURE = {PROVED: "proved that no sharing is better"}
"""How sure a balance is; a search that was stopped has the best that it found."""
_RATE = {"bound": "an upper bound", "estimate": "an estimate"}


def sources(answer: Answer) -> Table:
    """One row a source: what came from it, and what it is."""
    return Table("Where the numbers came from", ("what", "from"), tuple(_rows(answer)))


def _rows(answer: Answer) -> Iterator[tuple[str, str]]:
    came = answer.provenance
    yield "all that is written", f"the plan {answer.plan.name}, {came.fingerprint[:16]}"
    studies: dict[str, list[str]] = {}
    models: dict[str, list[str]] = {}
    for operation in _operations(answer):
        for time in _times(operation):
            if time.study is not None:
                studies.setdefault(time.study, []).append(operation.name or operation.id)
            if time.physics is not None:
                models.setdefault(time.physics, []).append(operation.name or operation.id)
    for file, who in studies.items():
        yield f"time of: {'; '.join(dict.fromkeys(who))}", f"the time study {file}"
    for model, who in models.items():
        yield f"time of: {'; '.join(dict.fromkeys(who))}", f"the model of physics {model}"
    status = answer.capacity.honesty.status
    yield "rate, bounds and loads", f"Linewright {came.version}; the greatest rate is {_RATE.get(status, status)}"
    if answer.simulation is not None:
        run = answer.simulation.as_planned
        seed = f", seed {came.seed}" if came.seed is not None else ""
        yield "what really happens", f"simulation, {run.honesty.replications} replications of {run.weeks} weeks{seed}"
    if answer.season_run is not None:
        played = answer.season_run
        seed = f", seed {played.provenance.seed}" if played.provenance.seed is not None else ""
        yield "what really happens", f"the season simulated, {played.honesty.replications} replications{seed}"
    for line in answer.balanced.lines if answer.balanced is not None else ():
        yield f"who does what: {line.line.name}", f"balance, {_SURE.get(line.balance.honesty.status, 'best found')}"


def _operations(answer: Answer) -> Iterator[Operation]:
    for route in answer.plan.routes.values():
        yield from route.operations


def _times(operation: Operation) -> Iterator[Duration]:
    for time in (operation.time, operation.stand, operation.move.time if operation.move is not None else None):
        if time is not None:
            yield time
