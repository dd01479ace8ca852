"""What is played in any case, how few open pieces are enough, and how the weeks are told."""

from __future__ import annotations

import pytest

from linewright.base.problems import ProblemsError
from linewright.network import compile_network
from linewright.plan import PlanBuilder, read_plan
from linewright.simulate import Simulation, few_open, simulate
from linewright.simulate.letting_in import equal_quotas
from linewright.simulate.simulate import LEAST


def stool(demand: str = "10 each/day", **more: object) -> PlanBuilder:
    build = PlanBuilder("Stool", money="EUR", makes="stool", demand=demand)
    build.item("stool", unit="each").shift("day", hours="06:00-14:00").crew("fitter", people=1, shift="day")
    build.station("bench", places=30)
    build.route("main", gives="stool").operation(
        "fit", crew={"fitter": 1}, station="bench", time={"mean": "24 min", "cv": 0.3}, **more
    )
    return build


def flat_out(budget: float, threads: int) -> Simulation:
    network = compile_network(stool().build())
    return simulate(network, release="flat out", half_width=1e-6, budget_seconds=budget, threads=threads)


def test_the_least_is_played_whatever_the_time_allowed() -> None:
    runs = [flat_out(1e-9, threads) for threads in (1, 2)]
    assert [run.honesty.replications for run in runs] == [LEAST, LEAST]
    assert runs[0].rate == runs[1].rate
    assert all("the time allowed ran out before all replications were done" in run.notes for run in runs)


def test_few_open_pieces_by_hand() -> None:
    """Little: 20 a day, each 24 min of an 8 h day, is one open piece: six of them. With loads of 5 two loads more."""
    network = compile_network(stool().build())
    quotas = equal_quotas(network)
    assert few_open(network, quotas, 2.0) == 6
    loads = compile_network(stool(load={"most": 5, "least": 1}).build())
    assert few_open(loads, quotas, 2.0) == 6 + 2 * 5
    assert few_open(network, quotas, 1e9) is None, "no fewer than the places hold"
    assert few_open(network, quotas, float("inf")) is None, "no bound, no rule"


def test_few_open_pieces_make_as_much_as_many() -> None:
    """The most that is made does not depend on how many pieces are open, once they are enough."""
    network = compile_network(read_plan("examples/hivekit.toml"))
    few = few_open(network, equal_quotas(network), 1.1)
    assert few is not None
    rates = [simulate(network, release="flat out", open_pieces=n, days=56).rate for n in (few, None)]
    assert few < 100
    assert abs(rates[0].mean - rates[1].mean) <= rates[0].half_width + rates[1].half_width


@pytest.mark.parametrize("weeks", [1, 2, 4])
def test_weeks_are_told_in_plain_words(weeks: int) -> None:
    told = simulate(compile_network(stool().build()), days=7 * weeks).notes[0]
    assert told.startswith("1 week was simulated; " if weeks == 1 else f"{weeks} weeks were simulated; ")
    assert told.endswith(
        ("none is left out as warm-up", "the first is left out as warm-up", " are left out as warm-up")
    )
    assert "1 are" not in told


def test_work_that_piles_up_without_end_is_refused() -> None:
    """90,000 a day are let in where one person makes 20 (8 h at 24 min): half a million are open in the second week."""
    network = compile_network(stool("90000 each/day").build())
    with pytest.raises(ProblemsError, match="so much work piles up that it cannot be followed"):
        simulate(network, days=56, release="takt")
