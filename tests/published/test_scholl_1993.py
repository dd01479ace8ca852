"""Scholl, A. (1993), Data of Assembly Line Balancing Problems, Schriften zur Quantitativen Betriebswirtschaftslehre
16/93, TH Darmstadt (revised September 1997): six small precedence graphs typed in, with their published optima.

The graphs are those of Mertens (1967), Bowman (1960), Jaeschke (1964), Jackson (1956), Mansoor (1964) and Mitchell
(1957), as numbered by Scholl.
"""

from __future__ import annotations

import pytest

from linewright.balance import Line, balance, make_line, verify

LONG = 3600.0  # seconds that no case here comes near
GRAPHS = {
    "Mertens": ("1 5 4 3 5 6 5", "1-2 1-4 2-3 2-5 4-7 5-6"),
    "Bowman": ("11 17 9 5 8 12 10 3", "1-2 2-3 2-4 3-5 3-6 4-6 5-7 6-8"),
    "Jaeschke": ("5 3 4 5 4 5 1 4 6", "1-2 1-3 2-4 3-4 4-5 4-6 4-7 5-8 6-9 7-9 8-9"),
    "Jackson": ("6 2 5 7 1 2 3 6 5 5 4", "1-2 1-3 1-4 1-5 2-6 3-7 4-7 5-7 6-8 7-9 8-10 9-11 10-11"),
    "Mansoor": ("4 38 45 12 10 8 12 10 2 10 34", "1-4 2-4 2-5 3-11 4-6 5-7 6-8 7-9 8-10 9-10 10-11"),
    "Mitchell": (
        "4 3 9 5 9 4 8 7 5 1 3 1 5 3 5 3 13 5 2 3 7",
        "1-2 1-3 2-21 3-4 4-5 4-21 5-6 5-7 6-8 7-8 7-14 8-9 9-10 9-11 9-12 9-13 10-15 11-15 12-15 13-17 13-18 14-19 "
        "15-16 15-18 16-17 17-20 18-19",
    ),
}
# graph, takt, fewest stations: the table of optima for the first type of problem
OPTIMA = [
    *(("Mertens", c, m) for c, m in ((6, 6), (7, 5), (8, 5), (10, 3), (15, 2), (18, 2))),
    ("Bowman", 20, 5),
    *(("Jaeschke", c, m) for c, m in ((6, 8), (7, 7), (8, 6), (10, 4), (18, 3))),
    *(("Jackson", c, m) for c, m in ((7, 8), (9, 6), (10, 5), (13, 4), (14, 4), (21, 3))),
    *(("Mansoor", c, m) for c, m in ((48, 4), (62, 3), (94, 2))),
    *(("Mitchell", c, m) for c, m in ((14, 8), (15, 8), (21, 5), (26, 5), (35, 3), (39, 3))),
]


def graph(name: str) -> Line:
    times, pairs = GRAPHS[name]
    after: dict[str, list[str]] = {}
    for pair in pairs.split():
        earlier, later = pair.split("-")
        after.setdefault(later, []).append(earlier)
    return make_line({str(i): int(t) for i, t in enumerate(times.split(), 1)}, after)


@pytest.mark.parametrize("engine", ["search", "constraints"])
@pytest.mark.parametrize(("name", "takt", "stations"), OPTIMA)
def test_fewest_stations(name: str, takt: int, stations: int, engine: str) -> None:
    if engine == "constraints":
        pytest.importorskip("ortools", reason="the general engine needs the extra `balance`")
    line = graph(name)
    found = balance(line, takt=takt, engine=engine, seconds=LONG)
    assert (found.count, found.honesty.status) == (stations, "proved")
    assert verify(line, [found.station_of[n] for n in line.names], takt=takt, stations=stations) == []


@pytest.mark.parametrize(("name", "takt", "stations"), OPTIMA)
def test_the_fastest_takt_agrees_with_the_table(name: str, takt: int, stations: int) -> None:
    """With the published number of stations the takt of the table can be met; with one fewer it cannot."""
    line = graph(name)
    assert balance(line, stations=stations, seconds=LONG).takt <= takt
    if stations > 1:
        assert balance(line, stations=stations - 1, seconds=LONG).takt > takt


def test_total_times() -> None:
    """The sums of times that the source gives for these graphs (from memory)."""
    totals = {"Mertens": 29, "Bowman": 75, "Jaeschke": 37, "Jackson": 46, "Mansoor": 185, "Mitchell": 105}
    assert {name: int(graph(name).times.sum()) for name in GRAPHS} == totals
