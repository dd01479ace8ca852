"""Vessels of several sizes: by hand, against the balance, and what is refused by name."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from season_cases import in_sizes
from test_season_played import played

from linewright.base.problems import ProblemsError
from linewright.capacity import measure_capacity
from linewright.flow import solve_flow
from linewright.network import compile_network
from linewright.plan import PlanBuilder


def refused(builder: PlanBuilder, path: str, what: str) -> None:
    with pytest.raises(ProblemsError) as wrong:
        compile_network(builder.build())
    assert any(p.path == path and what in p.what for p in wrong.value.problems), wrong.value


def test_one_size_is_as_many_places() -> None:
    """Two vessels of 5,000 L are two places with loads of 5,000 L."""
    bound, run = played(in_sizes({"5000 L": 2}))
    assert bound.most[0] == pytest.approx(50_000, rel=1e-9)
    assert run.total.mean == pytest.approx(50_000, rel=1e-9)


def test_sizes_hold_what_they_hold() -> None:
    """One of 5,000 L and one of 10,000 L for 109 days of 20: 5 x 15,000 L, more than the harvest gives."""
    bound, run = played(in_sizes({"50 hL": 1, "100 hL": 1}))
    assert bound.most[0] == pytest.approx(70_000, rel=1e-9)
    assert bound.balance.vessels == ("vat, 50 hL", "vat, 100 hL")
    assert run.total.mean <= 70_000 * (1 + 1e-9)
    assert run.total.mean % 5000 == pytest.approx(0, abs=1e-3)


def test_a_vessel_is_filled_little_by_little() -> None:
    """Filled by 1,000 L at a time, 2,000 L a day: the larger ones first, 10,000 L from Monday to Friday."""
    _, run = played(in_sizes({"50 hL": 2, "100 hL": 2}, fill="1000 L"))
    assert run.total.mean == pytest.approx(70_000, rel=1e-9)
    assert run.week_in_use.mean[0, 1] == 1
    assert run.week_in_use.mean[1, 1] <= 3


def test_a_last_vessel_is_begun_as_it_is() -> None:
    """14,000 L into vessels of 10,000 L: the last 4,000 L are all that is left, so they go as they are."""
    _, run = played(in_sizes({"100 hL": 3}, fill="1000 L", until="2026-09-25", weekly=["14 t", "5600 kg"]))
    assert run.total.mean == pytest.approx(14_000, rel=1e-9)


def test_a_vessel_that_has_waited_is_begun_with_its_least() -> None:
    """4,000 L on Tuesday, then nothing for two weeks: begun after four days, drawn off on Friday 9 October."""
    asked: dict[str, Any] = {"fill": "1000 L", "until": "2026-10-02", "weekly": ["5600 kg", "0 t", "5600 kg"]}
    least = {"least": "30 hL", "most": "100 hL", "waits": "4 days"}
    builder = in_sizes({"100 hL": 3}, load=least, **asked)
    builder.document["intake"][0]["days"] = "Mon,Tue"
    _, run = played(builder)
    assert run.week_finished.mean[3, 0] == pytest.approx(4000)
    builder = in_sizes({"100 hL": 3}, **asked)
    builder.document["intake"][0]["days"] = "Mon,Tue"
    _, run = played(builder)
    assert run.week_finished.mean[3, 0] == 0
    assert run.total.mean == pytest.approx(8000, rel=1e-9)


def test_a_load_at_once_goes_where_it_fits() -> None:
    """The press gives 20,000 L at once: 15,000 L fill the large vessel, 5,000 L one of the small."""
    builder = in_sizes({"50 hL": 3, "150 hL": 1}, until="2026-09-18", weekly="28 t")
    press = builder.document["routes"]["must"]["operations"][0]
    press["load"], press["time"] = "20000 L", "1 h"
    _, run = played(builder)
    assert run.total.mean == pytest.approx(20_000, rel=1e-9)
    assert run.most_in_use[1] == 2


def test_the_mean_vessel_stands_for_averages() -> None:
    """Steady: 4 vessels of 5,000 and 2 of 10,000 L. Place-hours a load over places: the mean load is 6,667 L."""
    builder = in_sizes({"50 hL": 4, "100 hL": 2})
    for key in ("from", "to"):
        del builder.document["plan"][key]
    del builder.document["intake"]
    builder.document["plan"]["demand"] = "1000 L/day"
    network = compile_network(builder.build())
    flow = solve_flow(network)
    assert flow.cycles[1] == pytest.approx(1000 / (40_000 / 6), rel=1e-12)
    assert measure_capacity(network, flow).of("station", "vat").count == 6


def test_a_size_smaller_than_the_least_load() -> None:
    load = {"least": "60 hL", "most": "100 hL", "waits": "2 days"}
    refused(
        in_sizes({"50 hL": 1, "100 hL": 1}, load=load),
        "routes.cider.operations[1].load.least",
        "can never hold the least",
    )


def test_sizes_and_places_are_two_ways_to_say_it() -> None:
    builder = in_sizes({"50 hL": 2})
    builder.document["stations"]["vat"]["places"] = 2
    refused(builder, "stations.vat.places", "the vessels by size say how many")


def test_sizes_of_two_kinds() -> None:
    refused(in_sizes({"50 hL": 2, "5 t": 2}), "stations.vat.sizes", "several kinds")


def test_alternatives_are_both_sized() -> None:
    builder = in_sizes({"50 hL": 2}).station("tun", places=2)
    for operation in builder.document["routes"]["cider"]["operations"]:
        operation["station"] = ["vat", "tun"]
    refused(builder, "routes.cider.operations[0].station", "tun has no sizes")


@settings(max_examples=20, deadline=None)
@given(
    small=st.integers(0, 4),
    large=st.integers(0, 4),
    fill=st.sampled_from(["", "700 L", "2000 L"]),
    weekly=st.integers(2, 30),
    waits=st.booleans(),
)
def test_no_vessel_over_its_size(small: int, large: int, fill: str, weekly: int, waits: bool) -> None:
    """No more stands than the vessels hold, and no more is finished than the balance allows."""
    sizes = {size: n for size, n in (("30 hL", small), ("80 hL", large)) if n}
    if not sizes:
        return
    load = {"least": "5 hL", "most": "80 hL", "waits": "3 days"} if waits else None
    bound, run = played(in_sizes(sizes, fill=fill, load=load, weekly=f"{weekly} t"))
    assert run.total.mean <= bound.most[0] * (1 + 1e-7) + 1e-6
    assert run.most_in_use[1] <= small + large
    standing = (float(run.came[0]) - float(run.left.mean[0])) / 1.4 - run.total.mean - float(run.waiting.mean[0])
    assert -1e-6 <= standing <= 3000 * small + 8000 * large + 2000 + 1e-6


def test_a_vessel_takes_no_more_fillings_than_there_are_parts_for() -> None:
    """Fillings of 1,000 L into one vessel: the last must of the season is 400 L short of one, and blocks nothing."""
    load = {"least": "10 hL", "most": "100 hL", "waits": "2 days"}
    builder = in_sizes({"100 hL": 1}, fill="1000 L", load=load, until="2026-09-14", weekly="53200 kg")
    builder.document["routes"]["must"]["operations"][0]["yield"] = "99 %"
    _, run = played(builder)  # 7,600 L of must less 1 %: seven fillings, and some must is left
    assert run.total.mean >= 7000
