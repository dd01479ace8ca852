"""Charts of a simulation: the rate week by week, what stations do, time in the plant, how full the stores are."""

from __future__ import annotations

import math
from collections.abc import Mapping

from linewright.answer.model import Answer
from linewright.base.results import Interval, show_interval
from linewright.report import words
from linewright.report.chart import WIDTH, Chart, Spec, specification
from linewright.report.palette import LIGHT, PLAYED
from linewright.report.played import tables
from linewright.simulate import Simulation

MOST = 30
_SIDES: tuple[Spec, ...] = ({"align": "left", "x": 4}, {"align": "right", "x": WIDTH - 4})
"""Where the names of demand and bound stand on their lines: apart, as the lines may be close."""
SERIES = (LIGHT["working"], LIGHT["moving"])


def weeks(answer: Answer) -> Chart | None:
    """The rate of each simulated week against the demand and the bounds; the interval of the whole as a band."""
    found = tables.runs(answer)
    if not found:
        return None
    values, bands = [], []
    for name, run in found:
        for week, rate in enumerate(run.week_rate.tolist()):
            kept = "counted" if week >= run.warm_up_weeks else "warm-up"
            values.append({"way": name, "week": week + 1, "rate": round(rate, 4), "kept": kept})
        if math.isfinite(run.rate.half_width):
            span = {"from": run.warm_up_weeks + 1, "to": run.weeks, "low": run.rate.low, "high": run.rate.high}
            bands.append({"way": name, **{key: round(float(value), 4) for key, value in span.items()}})
    names = [name for name, _ in found]
    colour = {
        "field": "way", "type": "nominal",
        "scale": {"domain": names, "range": list(SERIES[: len(names)])}, "legend": {"symbolOpacity": 1},
    }  # fmt: skip
    limits = _limits(answer)
    rates = [float(str(v["rate"])) for v in values if v["kept"] == "counted"]
    low = min([*rates, *(float(v["rate"]) for v in limits)])
    high = max([*rates, *(float(v["rate"]) for v in limits)])
    room = max(0.15 * (high - low), 0.01 * high)
    scale = {"domain": [max(low - room, 0.0), high + room], "clamp": True, "nice": False, "zero": False}
    y = {"field": "rate", "type": "quantitative", "title": "finished a working day", "scale": scale}
    last = max(run.weeks for _, run in found)
    x = {
        "field": "week", "type": "quantitative", "title": "week", "axis": {"grid": False, "tickMinStep": 1},
        "scale": {"domain": [0.5, last + 0.5], "nice": False},
    }  # fmt: skip
    layer: list[Spec] = [
        {
            "data": {"values": bands}, "mark": {"type": "rect", "opacity": 0.22},
            "encoding": {
                "x": {"field": "from", "type": "quantitative"}, "x2": {"field": "to"},
                "y": {"field": "low", "type": "quantitative"}, "y2": {"field": "high"}, "color": colour,
            },
        },
        {
            "data": {"values": limits}, "mark": "rule",
            "encoding": {
                "y": y, "strokeDash": {"condition": {"test": "datum.bound", "value": [5, 4]}, "value": [1, 0]},
            },
        },
        *(
            {
                "data": {"values": [limit]}, "mark": {"type": "text", "dy": -7, **side},
                "encoding": {"y": y, "text": {"field": "name"}},
            }
            for limit, side in zip(limits, _SIDES, strict=False)
        ),
        {"mark": {"type": "line", "strokeWidth": 1.5}, "encoding": {"x": x, "y": y, "color": colour}},
        {
            "mark": {"type": "point", "filled": True, "size": 46},
            "encoding": {
                "x": x, "y": y, "color": colour,
                "opacity": {"condition": {"test": "datum.kept === 'warm-up'", "value": 0.35}, "value": 1},
                "tooltip": [
                    {"field": "way", "title": "work let in"}, {"field": "week"},
                    {"field": "rate", "title": "finished a working day", "format": ",.4~g"}, {"field": "kept"},
                ],
            },
        },
    ]  # fmt: skip
    said = "; ".join(f"{name} {show_interval(run.rate)} a day" for name, run in found)
    caption = (
        f"The rate week by week, averaged over the replications ({said}). Bands are the 95 % intervals of the whole; "
        "pale points are the warm-up, which is left out."
    )
    spec = specification(caption, 10, data={"values": values}, layer=layer)
    return Chart("weeks", caption, spec)


def _limits(answer: Answer) -> list[Spec]:
    """Demand and bound of all demanded items together, as lines."""
    demand = sum(w.demand for w in answer.capacity.wanted)
    found: list[Spec] = [{"name": "asked for", "rate": round(demand, 4), "bound": False}]
    if math.isfinite(answer.capacity.multiple):
        found.append(
            {"name": "at most, by the bounds", "rate": round(demand * answer.capacity.multiple, 4), "bound": True}
        )
    return found


def states(answer: Answer) -> Chart | None:
    """What the places of each station do while somebody is there or they run alone, stacked."""
    run = _planned(answer)
    if run is None:
        return None
    return states_of(run, {station: tables.station_name(answer, station) for station in run.stations})


def states_of(run: Simulation, names: Mapping[str, str]) -> Chart | None:
    """The same of a simulation alone; ``names`` are what its stations are called."""
    found = tables.attended(run)[:MOST]
    shown = [
        (k, state)
        for k, state in enumerate(run.states)
        if state != "unmanned" and any(run.state_share.mean[s, k] / there > 5e-4 for s, there in found)
    ]
    if not found or not shown:
        return None
    values = [
        {
            "name": names.get(run.stations[s], run.stations[s]), "state": state, "order": k,
            "share": round(100 * float(run.state_share.mean[s, k]) / there, 3),
            "said": f"{show_interval(_percent(run.state_share.interval(s, k), there))} %",
        }
        for s, there in found
        for k, state in shown
    ]  # fmt: skip
    bars = {
        "mark": "bar",
        "encoding": {
            "y": {
                "field": "name", "type": "nominal", "title": None,
                "sort": [names.get(run.stations[s], run.stations[s]) for s, _ in found],
            },
            "x": {
                "field": "share", "type": "quantitative", "title": "of the time that people are there or it runs [%]",
                "scale": {"domain": [0, 100]},
            },
            "color": {
                "field": "state", "type": "nominal",
                "scale": {"domain": [s for _, s in shown], "range": [LIGHT[PLAYED[s]] for _, s in shown]},
            },
            "order": {"field": "order", "type": "quantitative"},
            "tooltip": [
                {"field": "name", "title": "station"}, {"field": "state"}, {"field": "said", "title": "of the time"},
            ],
        },
    }  # fmt: skip
    caption = (
        f"What the stations do, simulated, work let in {_let_in(run)}; the busiest first. Short of parts is also a "
        "place with nothing to do."
    )
    return Chart("states", caption, specification(caption, len(found), data={"values": values}, layer=[bars]))


def _percent(share: Interval, there: float) -> Interval:
    return Interval(100 * share.mean / there, 100 * share.half_width / there)


def _let_in(run: Simulation) -> str:
    return {"takt": "by takt", "pull": "by pull"}.get(run.release, run.release)


def time_in_plant(answer: Answer) -> Chart | None:
    """How long pieces are in the plant, as shares, with the quantiles as lines."""
    run = _planned(answer)
    if run is None or not len(run.time_share):
        return None
    factor, unit = words.step_of(run.time_in_plant.mean)
    edges = (run.time_edges / factor).tolist()
    last = max((k for k, share in enumerate(run.time_share) if share > 5e-4), default=0)
    values = [
        {"from": round(edges[k], 4), "to": round(edges[k + 1], 4), "share": round(100 * float(share), 4)}
        for k, share in enumerate(run.time_share[: last + 1])
    ]
    lines = [
        {"at": round(q.mean / factor, 4), "name": f"{100 * level:.0f} %", "row": k}
        for k, (level, q) in enumerate(zip(run.quantile_levels, run.quantiles, strict=True))
    ]
    x = {"field": "from", "type": "quantitative", "title": f"time in the plant [{unit}]", "axis": {"grid": False}}
    bars = {
        "mark": {"type": "bar", "color": LIGHT["working"], "binSpacing": 1},
        "encoding": {
            "x": {**x, "bin": {"binned": True}}, "x2": {"field": "to"},
            "y": {"field": "share", "type": "quantitative", "title": "of the pieces [%]"},
            "tooltip": [
                {"field": "from", "title": f"from [{unit}]"}, {"field": "to", "title": f"to [{unit}]"},
                {"field": "share", "title": "of the pieces [%]", "format": ".2f"},
            ],
        },
    }  # fmt: skip
    at = {"field": "at", "type": "quantitative"}
    rules = {"data": {"values": lines}, "mark": "rule", "encoding": {"x": at}}
    text = {
        "data": {"values": lines}, "mark": {"type": "text", "align": "left", "dx": 4},
        "encoding": {
            "x": at, "text": {"field": "name"},
            "y": {"field": "row", "type": "quantitative", "axis": None, "scale": {"domain": [11, -0.5]}},
        },
    }  # fmt: skip
    caption = (
        f"Time from entering the first queue to leaving the plant, nights and weekends counted: on average "
        f"{tables.time_of(run.time_in_plant)}. Lines: so many of the pieces are through by then."
    )
    spec = specification(
        caption, 8, data={"values": values}, layer=[bars, rules, text], resolve={"scale": {"y": "independent"}}
    )
    return Chart("time", caption, spec)


def stores(answer: Answer) -> Chart | None:
    """How full the declared stores are, hour by hour in the last week of the first replication."""
    run = _planned(answer)
    if run is None or not len(run.hours) or not run.stores:
        return None
    room = answer.network.stores.room
    levels = run.level_over_time
    shown = [k for k in range(len(run.stores)) if float(levels[:, k].max()) > 0 and math.isfinite(room[k])]
    shown = sorted(shown, key=lambda k: -float(run.store_level.mean[k] / room[k]))[:8]
    if not shown:
        return None
    names = {
        k: words.name_of(run.stores[k], known.name if (known := answer.plan.stores.get(run.stores[k])) else "")
        for k in shown
    }
    values = [
        {"store": names[k], "day": round(hour / 24, 4), "full": round(100 * float(levels[h, k] / room[k]), 2),
         "content": round(float(levels[h, k]), 2)}
        for k in shown
        for h, hour in enumerate(run.hours.tolist())
    ]  # fmt: skip
    days = "['Mon','Tue','Wed','Thu','Fri','Sat','Sun'][floor(datum.value)] || ''"
    line = {
        "mark": {"type": "area", "interpolate": "step-before", "color": LIGHT["working"], "opacity": 0.6},
        "encoding": {
            "x": {
                "field": "day", "type": "quantitative", "title": None,
                "scale": {"domain": [0, 7], "nice": False},
                "axis": {"values": list(range(7)), "tickCount": 8, "labelExpr": days, "labelAlign": "left"},
            },
            "y": {
                "field": "full", "type": "quantitative", "title": None,
                "scale": {"domain": [0, 100]}, "axis": {"values": [0, 50, 100], "labelExpr": "datum.value + ' %'"},
            },
            "tooltip": [
                {"field": "store"}, {"field": "content", "format": ",.4~g"},
                {"field": "full", "title": "of its room [%]", "format": ".0f"},
            ],
        },
    }  # fmt: skip
    header = {"labelAnchor": "start", "labelColor": LIGHT["ink"], "labelFontSize": 12, "title": None, "labelPadding": 2}
    caption = "How full the stores are, hour by hour, in the last simulated week of the first replication."
    spec = specification(caption, 3, data={"values": values}, **line)
    spec["encoding"]["row"] = {
        "field": "store", "type": "nominal", "sort": [names[k] for k in shown],
        "header": {**header, "labelOrient": "top"}, "spacing": 12,
    }  # fmt: skip
    spec["height"] = 58
    return Chart("stores", caption, spec)


def _planned(answer: Answer) -> Simulation | None:
    return answer.simulation.as_planned if answer.simulation is not None else None
