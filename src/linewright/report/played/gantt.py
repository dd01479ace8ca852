"""One working day of a simulation as bars: what each place did when, drawn from the trace.

A trace says at which station a piece is worked on, not at which place; pieces at one station are put into lanes so that
none overlaps. Bars of one item that follow each other within half a minute are drawn as one, so that a day of short
operations can be read.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from linewright.answer.day import Run, attended, loads_of_day
from linewright.answer.model import Answer
from linewright.base.calendar import HOUR, WEEK
from linewright.network.model import Network
from linewright.report import tables as names_of
from linewright.report.chart import Chart, Spec, specification
from linewright.report.palette import LIGHT
from linewright.report.played import tables

if TYPE_CHECKING:
    from linewright.answer.simulated import Day

LANES = 40
MOST_LANES = 8
MOST_BARS = 2500
GAP = HOUR // 120
ITEMS = ("working", "setting-up", "moving", "start-up", "cleaning", "short", "blocked", "no-tool")
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(slots=True)
class Bar:
    """A bar of the picture: work on an item at a station, in a lane; several runs may be in one."""

    station: str
    item: str
    begin: int
    end: int
    what: str
    lane: int = 0
    runs: int = 1
    crews: dict[str, None] = field(default_factory=dict)


def bars_of(day: Day, network: Network) -> list[Bar]:
    """Every run of the day at a station while its people are in, cut at the ends of the day, in lanes."""
    lanes: dict[str, list[list[Bar]]] = {}
    for run in sorted(loads_of_day(day, network), key=lambda bar: (bar.station, bar.begin, bar.end)):
        own = lanes.setdefault(run.station, [])
        lane = _free_lane(own, run)
        if lane == len(own):
            own.append([])
        for begin, end in attended(run, network):
            last = own[lane][-1] if own[lane] else None
            if last is not None and last.item == run.item and begin - last.end <= GAP:
                last.end, last.runs = end, last.runs + 1
            else:
                own[lane].append(Bar(run.station, run.item, begin, end, run.what, lane))
            own[lane][-1].crews |= dict.fromkeys(run.crew)
    return [bar for own in lanes.values() for lane in own for bar in lane]


def _free_lane(own: list[list[Bar]], run: Run) -> int:
    """A lane that is free when the run begins, best one that did the same item; else the number of a new one."""
    found = len(own)
    for k, lane in enumerate(own):
        if lane and lane[-1].end > run.begin:
            continue
        if lane and lane[-1].item == run.item:
            return k
        found = min(found, k)
    return found


def gantt(answer: Answer) -> Chart | None:
    """The day as a chart; None where no day was kept."""
    played = answer.simulation
    if played is None or played.day is None:
        return None
    day = played.day
    every = bars_of(day, answer.network)
    if not every:
        return None
    rows, bars = _chosen(answer, every)
    items = [item for item in names_of.item_names(answer) if any(bar.item == item for bar in bars)]
    named = names_of.item_names(answer)
    operations = names_of.operation_names(answer)
    changes = [t for bar in bars for t in (bar.begin, bar.end) if day.begin < t < day.end] or [day.begin, day.end]
    first, last = min(changes), max(changes)  # before and after nothing changes: places stand or are empty
    values = [
        {
            "row": f"{bar.station}/{bar.lane}", "item": named.get(bar.item, bar.item),
            "from": round((bar.begin - day.begin) / HOUR, 4), "to": round((bar.end - day.begin) / HOUR, 4),
            "what": operations.get(bar.what, bar.what) if bar.runs == 1 else f"{bar.runs} runs, one after the other",
            "station": tables.station_name(answer, bar.station), "by": _by(answer, bar),
            "clock": f"{_clock(bar.begin - day.begin)} to {_clock(bar.end - day.begin)}",
        }
        for bar in bars
    ]  # fmt: skip
    labels = {row: tables.station_name(answer, row.rpartition("/")[0]) if row.endswith("/0") else "" for row in rows}
    spec = _spec_of(values, rows, labels, [named.get(i, i) for i in items], (first - day.begin, last - day.begin))
    name = f"{DAYS[day.begin % WEEK // (24 * HOUR)]} of week {day.begin // WEEK + 1}"
    left = "" if len(bars) == len(every) else " Stations with many places or the least to do are left out."
    filling = " The warm-up is not over by then." if day.begin // WEEK < played.as_planned.warm_up_weeks else ""
    caption = (
        f"One day, the {name} in the first replication: what is worked on at each place, a lane for each place in use. "
        f"Runs of one item that follow each other within half a minute are drawn as one bar.{left}{filling}"
    )
    return Chart("day", caption, {**spec, "description": caption})


def _chosen(answer: Answer, every: list[Bar]) -> tuple[list[str], list[Bar]]:
    """Rows and bars that fit a picture: the busiest places, in the order of the telling.

    A station with more lanes than ``MOST_LANES`` would fill the picture alone and is left out.
    """
    found: dict[str, list[Bar]] = {}
    for bar in every:
        found.setdefault(bar.station, []).append(bar)
    wide = {s: len({bar.lane for bar in own}) for s, own in found.items()}
    busy = {s: sum(bar.end - bar.begin for bar in own) / wide[s] for s, own in found.items()}
    kept: set[str] = set()
    lanes = bars = 0
    for station in sorted((s for s in busy if wide[s] <= MOST_LANES), key=lambda s: -busy[s]):
        lanes, bars = lanes + wide[station], bars + len(found[station])
        if kept and (lanes > LANES or bars > MOST_BARS):
            break
        kept.add(station)
    order = [s for s in _told_order(answer) if s in kept]
    rows = [f"{s}/{lane}" for s in order for lane in sorted({bar.lane for bar in found[s]})]
    return rows, [bar for s in order for bar in found[s]]


def _told_order(answer: Answer) -> list[str]:
    from linewright.report.story import told_order

    every = (s for route in told_order(answer.plan) for o in route.operations for s in o.station)
    return list(dict.fromkeys(every))


def _by(answer: Answer, bar: Bar) -> str:
    """Who did it, as the simulation had it: people of another crew too, where they stood in."""
    teams = ([tables.crew_name(answer, crew) for crew in team.split("+")] for team in bar.crews)
    return ", ".join(" and ".join(names) for names in teams) or "nobody needed"


def _clock(ns: int) -> str:
    minutes = round(ns / (HOUR / 60))
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _spec_of(
    values: list[Spec], rows: list[str], labels: dict[str, str], items: list[str], span: tuple[int, int]
) -> Spec:
    colours = [LIGHT[ITEMS[k % len(ITEMS)]] for k in range(len(items))]
    named = json.dumps({row: text for row, text in labels.items() if text})
    label = f"({named})[datum.value] || ''"
    first, last = span[0] // HOUR, -(-span[1] // HOUR)
    hours = list(range(first, last + 1, 1 + (last - first) // 12))
    mark = {"type": "bar", "height": {"band": 0.72}, "clip": True}
    encoding: Spec = {
        "y": {
            "field": "row", "type": "nominal", "sort": rows, "title": None, "scale": {"domain": rows},
            "axis": {"labelExpr": label, "labelOverlap": False},
        },
        "x": {
            "field": "from", "type": "quantitative", "title": None,
            "axis": {"grid": True, "labelExpr": _HOURS, "values": hours, "tickCount": len(hours) + 1},
            "scale": {"domain": [first, last], "nice": False},
        },
        "x2": {"field": "to"},
        "color": {"field": "item", "type": "nominal", "scale": {"domain": items, "range": colours}},
        "tooltip": [
            {"field": "station"}, {"field": "item"}, {"field": "what"}, {"field": "by"},
            {"field": "clock", "title": "time"},
        ],
    }  # fmt: skip
    spec = specification("", len(rows), data={"values": values}, mark=mark, encoding=encoding)
    spec["height"] = max(len(rows) * 15, 60)
    return spec


_HOURS = "(datum.value < 10 ? '0' : '') + datum.value + ':00'"
