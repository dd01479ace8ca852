"""The season as a picture, week by week: what waits of the harvest, the vessels in use, what is finished so far."""

from __future__ import annotations

import numpy as np

from linewright.answer.model import Answer
from linewright.report.chart import LOOK, SCHEMA, WIDTH, Chart, Spec
from linewright.report.palette import LIGHT
from linewright.report.seasonal.tables import named

HEIGHT = 120
SERIES = (LIGHT["working"], LIGHT["moving"], LIGHT["setting-up"], LIGHT["down"], LIGHT["cleaning"], LIGHT["no-tool"])


def season(answer: Answer) -> Chart | None:
    """Three panels over the weeks; played means where the season was played, else the balance."""
    found, run = answer.season, answer.season_run
    if found is None:
        return None
    balance = found.balance
    on_hand, finished = balance.on_hand, balance.finished
    vessels, in_use, counts = list(balance.vessels), balance.most_in_use, list(balance.counts)
    how = "by the balance"
    if run is not None:
        on_hand, finished = run.week_on_hand.mean, run.week_finished.mean
        how = "played"
        stations = list(dict.fromkeys(name.partition(",")[0] for name in vessels))
        if all(name in run.stations for name in stations):
            vessels = stations  # played by station, all sizes together
            in_use = run.week_in_use.mean[:, [run.stations.index(name) for name in stations]]
            counts = [answer.plan.stations[name].places for name in stations]
    panels = [
        _panel(answer, balance.mondays, balance.harvest, on_hand, "on hand", "area"),
        _panel(answer, balance.mondays, tuple(vessels), in_use, "places in use", "line", limits=counts),
        _panel(answer, balance.mondays, balance.products, np.cumsum(finished, axis=0), "finished so far", "line"),
    ]
    caption = f"The season week by week, {how}: the harvest on hand, the places in use, and what is finished."
    spec: Spec = {
        "$schema": SCHEMA, "description": caption, "config": LOOK,
        "vconcat": [panel for panel in panels if panel is not None], "resolve": {"scale": {"color": "independent"}},
    }  # fmt: skip
    return Chart("season", caption, spec)


def _panel(
    answer: Answer, mondays: tuple[str, ...], names: tuple[str, ...], values: np.ndarray, title: str, mark: str,
    limits: list[int] | None = None,
) -> Spec | None:  # fmt: skip
    """One series for each name over the weeks; ``limits`` draw how many there are."""
    if not names:
        return None
    said = [named(answer, name) for name in names]
    rows = [
        {"week": monday, "what": said[k], "value": round(float(values[w, k]), 3)}
        for w, monday in enumerate(mondays)
        for k in range(len(names))
    ]
    colours = [SERIES[k % len(SERIES)] for k in range(len(names))]
    x: Spec = {"field": "week", "type": "temporal", "title": None, "axis": {"grid": False, "format": "%d %b"}}
    drawn: Spec = {
        "data": {"values": rows},
        "mark": {"type": mark, "interpolate": "step-after" if limits else "linear",
                 "opacity": 0.55 if mark == "area" else 1},
        "encoding": {
            "x": x,
            "y": {"field": "value", "type": "quantitative", "title": title, "axis": {"grid": True}, "stack": None},
            "color": {"field": "what", "type": "nominal", "scale": {"domain": said, "range": colours},
                      "legend": {} if mark == "area" else {"symbolType": "stroke", "symbolStrokeWidth": 3}},
            "tooltip": [{"field": "week", "type": "temporal"}, {"field": "what"},
                        {"field": "value", "format": ",.4~g"}],
        },
    }  # fmt: skip
    layer: list[Spec] = [drawn]
    for k, limit in enumerate(limits or []):
        layer.append({"data": {"values": [{"limit": limit}]},
                      "mark": {"type": "rule", "strokeDash": [5, 4], "color": colours[k]},
                      "encoding": {"y": {"field": "limit", "type": "quantitative"}}})  # fmt: skip
    return {"width": WIDTH, "height": HEIGHT, "layer": layer}
