"""Scholl, A. (1993), Data of Assembly Line Balancing Problems (revised September 1997): a sample of the 269 cases for
fewest stations and of the cases for the fastest takt. The data is read from LINEWRIGHT_DATA; the whole set is run by
``benchmarks/balance.py``.
"""

from __future__ import annotations

import csv
import os
from functools import cache
from pathlib import Path

import pytest

from linewright.balance import Line, balance, read_graph

DATA = Path(os.environ.get("LINEWRIGHT_DATA", "../shared/data")) / "line_balancing"
pytestmark = pytest.mark.skipif(
    not (DATA / "fewest_stations.csv").is_file(), reason="the graphs are not here: set LINEWRIGHT_DATA to their folder"
)


def rows(name: str, step: int) -> list[dict[str, str]]:
    path = DATA / name
    if not path.is_file():
        return []
    with path.open() as file:
        return list(csv.DictReader(file))[::step]


@cache
def graph(name: str) -> Line:
    return read_graph(DATA / "graphs" / f"{name.lower()}.txt").line


@pytest.mark.parametrize("row", rows("fewest_stations.csv", 3), ids=lambda r: f"{r['graph']}-{r['cycle_time']}")
def test_fewest_stations(row: dict[str, str]) -> None:
    found = balance(graph(row["graph"]), takt=int(row["cycle_time"]), seconds=30)
    assert (found.count, found.honesty.status) == (int(row["optimum"]), "proved")


@pytest.mark.parametrize("row", rows("fastest_cycle.csv", 7), ids=lambda r: f"{r['graph']}-{r['stations']}")
def test_fastest_takt(row: dict[str, str]) -> None:
    """Never worse than published, and equal where the table is closed and we say that it is proved."""
    found = balance(graph(row["graph"]), stations=int(row["stations"]), seconds=5)
    assert found.takt is not None
    assert int(row["c_low"]) <= found.takt <= int(row["c_high"])
    assert found.honesty.bound is not None
    assert found.honesty.bound <= int(row["c_high"])


@pytest.mark.parametrize(("takt", "stations"), [(92, 6), (138, 4), (184, 3)])
def test_perfect_balances_of_the_45_task_line(takt: int, stations: int) -> None:
    """Kilbridge and Wester (1961), Journal of Industrial Engineering 12: 552 hundredths of a minute share without any
    balance delay over 3, 4 or 6 stations."""
    found = balance(graph("KILBRID"), takt=takt)
    assert (found.count, found.balance_delay, found.smoothness_index) == (stations, 0.0, 0.0)
