"""A plan with options answered: told as written, its variants beside, and a line balanced for the worst of them."""

from __future__ import annotations

import numpy as np
import pytest

from linewright.answer.ask import answer, improve_plan
from linewright.answer.ask_balance import Asked, ask_lines
from linewright.plan import Plan, PlanBuilder
from linewright.report import variants


def kits(worst: str | None = None) -> Plan:
    """Kits in three kinds: one has a window to glaze, one a handle that costs."""
    plan = PlanBuilder("Kits", money="EUR").shift("day", hours="06:00-14:00")
    plan.crew("packer", people=4, shift="day", wage="20 EUR/h")
    plan.document["options"] = {
        "kind": {"values": ["plain", "window", "handle"], "shares": {"plain": "50 %", "window": "30 %"}}
    }
    plan.item("board", unit="m2", buy="8 EUR").item("pane", unit="each", buy="3 EUR").item(
        "grip", unit="each", buy="2 EUR"
    )
    plan.item("kit", unit="each", options="kind", sell="40 EUR")
    plan.station("saw", places=2).station("table", places=2)
    route = plan.route("kit", gives="kit").operation(
        "cut", station="saw", crew="packer", takes={"board": "0.5 m2"},
        time={"by": "kind", "table": {"plain": "3 min", "window": "5 min"}, "else": "3 min"},
    )  # fmt: skip
    route.operation(
        "glaze", station="table", crew="packer", time="4 min", takes={"pane": 1}, only_if={"kind": "window"}
    )
    route.operation(
        "pack", station="table", crew="packer", time="2 min",
        takes={"grip": {"by": "kind", "table": {"handle": 1}, "else": 0}},
    )  # fmt: skip
    plan.demand("kit", "100 each/day")
    plan.line("all", routes=["kit"], **({"worst_model": worst} if worst else {}))
    return plan.build()


def test_cost_and_time_of_each_variant() -> None:
    found = answer(kits())
    assert found.variants is not None
    rows = {row[1]: row for row in found.variants.to_table().rows}
    assert {kind: row[2] for kind, row in rows.items()} == pytest.approx({"plain": 50, "window": 30, "handle": 20})
    assert {kind: row[3] for kind, row in rows.items()} == pytest.approx({"plain": 5, "window": 11, "handle": 5})
    assert {kind: row[4] for kind, row in rows.items()} == pytest.approx({"plain": 4.0, "window": 7.0, "handle": 6.0})
    assert rows["window"][5] - rows["plain"][5] > 3.0 + 20 * 6 / 60  # the pane, six minutes, and its part of idle time
    mean = 0.5 * rows["plain"][5] + 0.3 * rows["window"][5] + 0.2 * rows["handle"][5]
    assert found.cost.products[0].total == pytest.approx(mean, abs=0.01)


def test_many_variants_are_summed_up_by_what_is_chosen() -> None:
    """Two kinds in ten colours: a window is 30 % of all, takes two minutes more to cut and four to glaze."""
    plan = PlanBuilder("Kits", money="EUR").shift("day", hours="06:00-14:00")
    plan.crew("packer", people=4, shift="day", wage="20 EUR/h")
    colours = [f"shade {k}" for k in range(10)]
    plan.document["options"] = {
        "kind": {"values": ["plain", "window"], "shares": {"plain": "70 %", "window": "30 %"}},
        "colour": {"values": colours, "shares": dict.fromkeys(colours, "10 %")},
    }
    plan.item("board", unit="m2", buy="8 EUR").item("pane", unit="each", buy="3 EUR")
    plan.item("kit", unit="each", options=["kind", "colour"], sell="40 EUR")
    plan.station("saw", places=2)
    plan.route("kit", gives="kit").operation(
        "cut", station="saw", crew="packer", takes={"board": "0.5 m2"},
        time={"by": "kind", "table": {"plain": "3 min", "window": "9 min"}},
    )  # fmt: skip
    found = answer(plan.demand("kit", "100 each/day").build())
    assert found.variants is not None
    rows = {row[:2]: row[2:5] for row in found.variants.by_value().rows}
    assert rows["kind", "plain"] == pytest.approx((70, 3, 4))
    assert rows["kind", "window"] == pytest.approx((30, 9, 4))
    assert rows["colour", "shade 3"] == pytest.approx((10, 0.7 * 3 + 0.3 * 9, 4))
    assert len(variants.table(found).rows) == 20
    short = variants.in_short(found)
    assert [row[0] for row in short.rows[:3]] == ["kind: plain", "kind: window", "colour: shade 0"]
    assert len(short.rows) == 12
    assert short.note.startswith("20 variants; ")


def test_a_few_variants_are_told_one_by_one() -> None:
    found = answer(kits())
    assert variants.in_short(found) == variants.table(found)
    assert not variants.by_value(found).rows


def test_told_as_written() -> None:
    found = answer(kits(), simulate=True, budget_seconds=1)
    assert found.network.operations.ids == ("cut", "glaze", "pack")
    assert found.network.plan is found.plan
    assert found.question == "100 kits a day"
    assert found.flow.runs[1] == pytest.approx(30.0)
    assert found.simulation is not None
    assert found.simulation.as_planned.items == ("kit",)
    assert found.simulation.makes_demand is True
    assert found.yes


def test_what_would_help_is_a_change_of_the_plan_as_written() -> None:
    found = improve_plan(kits(), budget_seconds=3)
    assert found.improvement is not None
    for effect in found.improvement.simulated:
        changed = found.plan
        for edit in effect.candidate.edits:
            changed = changed.change(edit.path, edit.after)


def test_a_line_is_balanced_for_the_mix_and_for_the_worst_model() -> None:
    """By the mix the work is 3.6 + 1.2 + 2 = 6.8 min; a window takes 11, which the worst-model limit must hold."""
    by_mix = ask_lines(kits(), Asked(takt=360.0), play=False).lines[0]
    assert by_mix.line.pieces == pytest.approx(100.0)
    times = dict(zip(by_mix.line.line.names, by_mix.line.line.times.tolist(), strict=True))
    unit = float(by_mix.line.line.resolution)
    assert {name: t * unit for name, t in times.items()} == pytest.approx({"cut": 216.0, "glaze": 72.0, "pack": 120.0})
    limited = ask_lines(kits("110 %"), Asked(takt=360.0), play=False).lines[0]
    rules = limited.line.line.rules
    assert rules.models == ("kit [plain]", "kit [window]", "kit [handle]")
    assert rules.model_times is not None
    worst = np.array(rules.model_times)[1] * unit
    assert worst.tolist() == pytest.approx([300.0, 240.0, 120.0])
    index = limited.line.line.index
    for station in limited.balance.stations:
        assert sum(worst[index[task]] for task in station.tasks) <= 1.1 * 360.0
    assert limited.balance.count == 2
