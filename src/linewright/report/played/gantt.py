"""One working day of a simulation as bars: what each place did when, drawn from the trace.

A trace says at which station a piece is worked on, not at which place; pieces at one station are put into lanes so that
none overlaps. Bars of one item that follow each other within half a minute are drawn as one, so that a day of short
operations can be read.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linewright.answer.model import Answer
from linewright.base.calendar import HOUR, WEEK
from linewright.base.trace import Record
from linewright.report import tables as names_of
from linewright.report.chart import Chart, Spec, specification
from linewright.report.palette import LIGHT
from linewright.report.played import tables

if TYPE_CHECKING:
    from linewright.answer.simulated import Day

LANES = 40
MOST_BARS = 2500
GAP = HOUR // 120
ITEMS = ("working", "setting-up", "moving", "start-up", "cleaning", "short", "blocked", "no-tool")
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(slots=True)
class Bar:
    """Work on an item at a station from ``begin`` to ``end`` ns; several operations or pieces may be in one."""

    station: str
    item: str
    begin: int
    end: int
    what: str
    lane: int = 0
    runs: int = 1


def bars_of(day: Day) -> list[Bar]:
    """Every run of the day at a station, cut at its ends, in lanes."""
    found = sorted(_runs(day), key=lambda bar: (bar.station, bar.begin, bar.end))
    lanes: dict[str, list[Bar | None]] = {}
    out: list[Bar] = []
    for bar in found:
        last = lanes.setdefault(bar.station, [])
        free = [k for k, before in enumerate(last) if before is None or before.end <= bar.begin]
        same = [k for k in free if (b := last[k]) is not None and b.item == bar.item]
        bar.lane = same[0] if same else free[0] if free else len(last)
        if bar.lane == len(last):
            last.append(None)
        before = last[bar.lane]
        if before is not None and before.item == bar.item and bar.begin - before.end <= GAP:
            before.end, before.runs = bar.end, before.runs + 1
            continue
        last[bar.lane] = bar
        out.append(bar)
    return out


def _runs(day: Day) -> Iterator[Bar]:
    """Starts and ends of the trace, paired by piece and operation."""
    begun: dict[tuple[int, str], Record] = {}
    for record in day.trace.records:
        key = (record.lot, record.operation)
        if record.event == "starts":
            begun[key] = record
        elif record.event == "ends" and record.station:
            start = begun.pop(key, None)
            begin = start.time if start is not None else day.begin
            if record.time > begin:
                yield Bar(record.station, record.item, begin, record.time, record.operation)
    for record in begun.values():
        if record.station and record.time < day.end:
            yield Bar(record.station, record.item, record.time, day.end, record.operation)


def gantt(answer: Answer) -> Chart | None:
    """The day as a chart; None where no day was kept."""
    played = answer.simulation
    if played is None or played.day is None:
        return None
    day = played.day
    every = bars_of(day)
    if not every:
        return None
    rows, bars = _chosen(answer, every)
    items = [item for item in names_of.item_names(answer) if any(bar.item == item for bar in bars)]
    named = names_of.item_names(answer)
    operations = names_of.operation_names(answer)
    first = min(bar.begin for bar in bars)
    last = max(bar.end for bar in bars)
    values = [
        {
            "row": f"{bar.station}/{bar.lane}", "item": named.get(bar.item, bar.item),
            "from": round((bar.begin - day.begin) / HOUR, 4), "to": round((bar.end - day.begin) / HOUR, 4),
            "what": operations.get(bar.what, bar.what) if bar.runs == 1 else f"{bar.runs} runs, one after the other",
            "station": tables.station_name(answer, bar.station),
            "clock": f"{_clock(bar.begin - day.begin)} to {_clock(bar.end - day.begin)}",
        }
        for bar in bars
    ]  # fmt: skip
    labels = {row: tables.station_name(answer, row.rpartition("/")[0]) if row.endswith("/0") else "" for row in rows}
    spec = _spec_of(values, rows, labels, [named.get(i, i) for i in items], (first - day.begin, last - day.begin))
    name = DAYS[day.begin % WEEK // (24 * HOUR)]
    left = "" if len(bars) == len(every) else " Stations with the least to do are left out."
    caption = (
        f"One day, a {name} of the first replication: what is worked on at each place, a lane for each place in use. "
        f"Runs of one item that follow each other within half a minute are drawn as one bar.{left}"
    )
    return Chart("day", caption, {**spec, "description": caption})


def _chosen(answer: Answer, every: list[Bar]) -> tuple[list[str], list[Bar]]:
    """Lanes and bars that fit a picture: stations in the order of the telling, those with the least work left out."""
    busy: dict[str, int] = {}
    for bar in every:
        busy[bar.station] = busy.get(bar.station, 0) + bar.end - bar.begin
    kept: set[str] = set()
    lanes = bars = 0
    for station in sorted(busy, key=lambda s: -busy[s]):
        own = [bar for bar in every if bar.station == station]
        lanes += len({bar.lane for bar in own})
        bars += len(own)
        if kept and (lanes > LANES or bars > MOST_BARS):
            break
        kept.add(station)
    order = [s for s in _told_order(answer) if s in kept]
    shown = [bar for bar in every if bar.station in kept]
    rows = [f"{s}/{lane}" for s in order for lane in sorted({bar.lane for bar in shown if bar.station == s})]
    return rows, shown


def _told_order(answer: Answer) -> list[str]:
    from linewright.report.story import told_order

    every = (s for route in told_order(answer.plan) for o in route.operations for s in o.station)
    return list(dict.fromkeys(every))


def _clock(ns: int) -> str:
    minutes = round(ns / (HOUR / 60))
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _spec_of(
    values: list[Spec], rows: list[str], labels: dict[str, str], items: list[str], span: tuple[int, int]
) -> Spec:
    colours = [LIGHT[ITEMS[k % len(ITEMS)]] for k in range(len(items))]
    named = json.dumps({row: text for row, text in labels.items() if text})
    label = f"({named})[datum.value] || ''"
    mark = {"type": "bar", "height": {"band": 0.72}}
    encoding: Spec = {
        "y": {
            "field": "row", "type": "nominal", "sort": rows, "title": None, "scale": {"domain": rows},
            "axis": {"labelExpr": label, "labelOverlap": False},
        },
        "x": {
            "field": "from", "type": "quantitative", "title": None,
            "axis": {"grid": True, "labelExpr": _HOURS, "tickMinStep": 1},
            "scale": {"domain": [span[0] // HOUR, -(-span[1] // HOUR)], "nice": False},
        },
        "x2": {"field": "to"},
        "color": {"field": "item", "type": "nominal", "scale": {"domain": items, "range": colours}},
        "tooltip": [
            {"field": "station"}, {"field": "item"}, {"field": "what"}, {"field": "clock", "title": "time"},
        ],
    }  # fmt: skip
    spec = specification("", len(rows), data={"values": values}, mark=mark, encoding=encoding)
    spec["height"] = max(len(rows) * 15, 60)
    return spec


_HOURS = "(datum.value < 10 ? '0' : '') + datum.value + ':00'"
