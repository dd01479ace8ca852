"""How many vessels of each size, and what is lost if one fails: by hand, and against looking at every combination."""

from __future__ import annotations

import itertools

import pytest
from season_cases import cellar, in_sizes

from linewright.answer import improve_plan
from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.season import Tanks, find_tanks, over_the_season, solve_season


def searched(builder: PlanBuilder, *, play: bool = True) -> Tanks:
    network, flow, harvest = over_the_season(compile_network(builder.build()))
    found = find_tanks(network, flow, harvest, play=play, replications=1)
    assert found is not None
    return found


def test_three_vats_are_enough() -> None:
    """Two finish 50,000 of 70,000 L in five rounds; a third more than the rest. One less: 25,000 L less."""
    found = searched(cellar(vats=2))
    planned, enough = found.of("vat")
    assert planned.counts == (2,)
    assert planned.most == pytest.approx(5 / 7, rel=1e-9)
    assert enough.counts == (3,)
    assert enough.played is not None
    assert enough.played.mean == pytest.approx(1.0)
    (failure,) = found.failures
    assert failure.lost == pytest.approx(25_000, rel=1e-9)
    assert failure.played_lost is not None
    assert failure.played_lost.mean == pytest.approx(25_000, rel=1e-9)


def test_the_edge_is_that_of_all_combinations() -> None:
    """Walking along the edge finds what looking at every combination finds, and nothing else."""
    builder = in_sizes({"50 hL": 1, "100 hL": 1}, fill="1000 L", weekly="22 t")
    found = searched(builder, play=False)
    edge = {choice.counts for choice in found.choices if not choice.planned}
    fits = set()
    for small, large in itertools.product(range(8), range(5)):
        if small + large == 0:
            continue
        sizes = {size: n for size, n in (("50 hL", small), ("100 hL", large)) if n}
        network, flow, harvest = over_the_season(compile_network(in_sizes(sizes, fill="1000 L", weekly="22 t").build()))
        season = solve_season(network, flow, harvest, early=False)
        if season.share >= 0.995:
            fits.add((small, large))
    smallest = {
        one for one in fits if not any(other != one and other[0] <= one[0] and other[1] <= one[1] for other in fits)
    }
    assert {pair for pair in edge if pair[0] < 8 and pair[1] < 5} == smallest


def test_no_vessels_no_table() -> None:
    builder = cellar(stand="1 h")
    network, flow, harvest = over_the_season(compile_network(builder.build()))
    assert find_tanks(network, flow, harvest) is None


def test_the_loss_in_money() -> None:
    builder = cellar(vats=2)
    builder.document["items"]["cider"]["sell"] = "2 EUR"
    (failure,) = searched(builder, play=False).failures
    assert failure.money == pytest.approx(50_000)


def test_what_would_help_most_in_a_season_are_its_vessels() -> None:
    found = improve_plan(cellar(vats=2).build(), budget_seconds=20)
    assert found.tanks is not None
    assert found.improvement is None
    assert found.to_dict()["tanks"]["choices"][1]["counts"] == [3]


def test_a_search_that_ran_out_of_time_says_what_was_not_tried() -> None:
    network, flow, harvest = over_the_season(compile_network(in_sizes({"50 hL": 1, "100 hL": 1}).build()))
    found = find_tanks(network, flow, harvest, play=False, budget_seconds=0.0)
    assert found is not None
    assert found.honesty.status == "stopped"
    assert [choice.planned for choice in found.choices] == [True]
    assert found.failures == ()
    (said,) = found.notes
    assert (
        "combinations of vat; what is lost without one of vat, 50 hL; what is lost without one of vat, 100 hL" in said
    )
