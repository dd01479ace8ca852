"""Runs in processes of their own: told as they go, stopped with what is done, and no danger to the page."""

from __future__ import annotations

import json
from typing import Any

import pytest

EVENTS = list[tuple[str, dict[str, Any]]]


def begun(pages: Any, kind: str, name: str = "trailer", **more: Any) -> str:
    text = pages.get(f"/api/plan/{name}").json()["text"]
    reply = pages.post("/api/runs", {"name": name, "text": text, "kind": kind, **more})
    assert reply.status_code == 202, reply.text
    run: str = reply.json()["run"]
    return run


def events(pages: Any, run: str) -> EVENTS:
    """Everything that a run tells until its end."""
    found: EVENTS = []
    for block in pages.get(f"/api/runs/{run}/events").text.split("\n\n"):
        lines = dict(line.split(": ", 1) for line in block.split("\n") if ": " in line and not line.startswith(":"))
        if "event" in lines:
            found.append((lines["event"], json.loads(lines["data"])))
    return found


def test_a_simulation_ends_with_intervals_and_states(pages: Any) -> None:
    run = begun(pages, "simulate", options={"seconds": 1, "open": ["rate"]})
    told = events(pages, run)
    kind, data = told[-1]
    assert kind == "done", data
    assert "±" in data["verdict"]
    assert [s["id"] for s in data["sections"] if s["html"]] == ["rate"]
    shares = data["states"]["bead"]
    assert sum(shares.values()) == pytest.approx(1.0)
    assert "weeks" in data["charts"]
    assert pages.get(f"/api/runs/{run}").json()["state"] == "done"


def test_a_comparison_has_the_interval_of_the_difference(pages: Any) -> None:
    text = pages.get("/api/plan/trailer").json()["text"]
    slower = text.replace('stand = "14 min"', 'stand = "18 min"', 1)
    assert slower != text
    run = begun(pages, "compare", a={}, b={"text": slower, "label": "slower"}, options={"replications": 5})
    kind, data = events(pages, run)[-1]
    assert kind == "done", data
    rates = [row for row in data["rows"] if row["sort"] == "simulated"]
    assert [row["what"] for row in rates] == ["rate, as planned", "rate, flat out"]
    flat = rates[1]
    assert flat["low"] < flat["difference"] < flat["high"] < 0
    assert flat["sure"] is True
    assert flat["difference"] == pytest.approx(flat["b"] - flat["a"])


def test_a_day_is_traced_in_columns_of_one_length(pages: Any) -> None:
    kind, data = events(pages, begun(pages, "trace"))[-1]
    assert kind == "done", data
    for part in ("before", "trace"):
        assert len({len(column) for column in data[part].values()}) == 1
    trace, names = data["trace"], data["names"]
    assert data["begin"] <= min(trace["time"]) <= max(trace["time"]) < data["end"]
    assert max(data["before"]["time"]) < data["begin"]
    assert trace["time"] == sorted(trace["time"])
    for name in ("item", "operation", "station", "event"):
        assert all(-1 <= k < len(names[name]) for k in trace[name])
    # Whoever ends an operation in the stretch began it there, or was at it when the stretch began.
    starts, ends = names["event"].index("starts"), names["event"].index("ends")
    at_work = {
        (lot, operation)
        for lot, operation, event in zip(*(data["before"][c] for c in ("lot", "operation", "event")), strict=True)
        if event == starts
    }
    for lot, operation, event in zip(*(trace[c] for c in ("lot", "operation", "event")), strict=True):
        if event == starts:
            at_work.add((lot, operation))
        elif event == ends:
            assert (lot, operation) in at_work
            at_work.discard((lot, operation))


def test_a_long_run_is_stopped_with_what_is_done(pages: Any) -> None:
    run = begun(pages, "simulate", options={"seconds": 300, "half_width": 0.0005})
    assert pages.ask("DELETE", f"/api/runs/{run}").status_code == 200
    kind, data = events(pages, run)[-1]
    assert (kind == "done" and data["stopped"]) or (kind == "failed" and data["stopped"])
    assert pages.get(f"/api/runs/{run}").json()["state"] in ("done", "stopped")


def test_what_cannot_be_run_says_why(pages: Any) -> None:
    text = pages.get("/api/plan/trailer").json()["text"]
    assert pages.post("/api/runs", {"name": "trailer", "text": text, "kind": "dance"}).status_code == 400
    assert pages.get("/api/runs/none").status_code == 404
    kind, data = events(pages, begun(pages, "balance", "cider"))[-1]
    assert kind == "failed"
    assert "lines" in data["error"]
    reply = pages.post("/api/runs", {"name": "trailer", "text": "[plan]\n", "kind": "simulate"})
    kind, data = events(pages, reply.json()["run"])[-1]
    assert kind == "failed"
    assert data["problems"]
