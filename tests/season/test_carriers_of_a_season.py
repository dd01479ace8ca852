"""How many crates a season needs: worked out by hand where each is out once, or comes back after a known time."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from linewright.answer import carriers_of_plan
from linewright.cli.main import run
from linewright.plan import PlanBuilder


def orchard(way_back: str, count: int = 20, **second: str) -> PlanBuilder:
    """200 kg of apples on each of five Mondays, ten kilogrammes a crate: 100 crates, packed on the day in 100 min."""
    plan = PlanBuilder("Apples", money="EUR", makes="box", from_="2026-09-14", to="2026-10-30")
    plan.item("apple", unit="kg", buy="1 EUR").item("box", unit="box", sell="20 EUR")
    plan.shift("day", hours="06:00-14:00", days="Mon-Fri").crew("hand", people=1, shift="day", wage="20 EUR/h")
    plan.station("bench").intake("apple", from_="2026-09-14", to="2026-10-16", weekly="200 kg", days="Mon")
    plan.carrier("crate", count=count, from_="pack", to="load", way_back=way_back, **second)
    plan.route("box", gives="box").operation(
        "pack", crew="hand", station="bench", takes={"apple": "10 kg"}, time="5 min"
    ).operation("load", crew="hand", time="1 min")
    return plan


def test_each_crate_is_out_once_where_none_comes_back_in_the_season() -> None:
    """As many boxes as crates, up to the hundred that the apples give; so a hundred are enough, and 99 are not."""
    found = carriers_of_plan(orchard("400 days").build(), budget_seconds=60, threads=1)
    assert found.season
    assert found.unlimited is not None
    assert found.unlimited.mean == 100
    for step in found.steps:
        assert step.rate is not None
        assert step.loss is not None
        assert step.rate.mean == min(step.total, 100)
        assert step.loss.mean == 100 - step.rate.mean
    assert found.enough is not None
    assert found.enough[0] >= 100
    assert all(step.total < 100 for step in found.steps[:-1]), "nothing larger is played than what is enough"


def test_crates_that_come_back_within_the_week_serve_every_week() -> None:
    """Five days out: the twenty of a Monday are back by the next; with fewer a week's apples wait for later days."""
    found = carriers_of_plan(orchard("5 days").build(), budget_seconds=60, threads=1)
    assert found.enough is not None
    assert found.enough[0] <= 20
    last = found.steps[-1]
    assert last.counts == found.enough
    assert last.rate is not None
    assert last.rate.mean == 100


def test_numbers_that_the_budget_does_not_reach_are_not_told() -> None:
    found = carriers_of_plan(orchard("400 days").build(), budget_seconds=0, threads=1)
    assert found.enough is None
    assert {step.why for step in found.steps} == {"not played: the time allowed was too short, or it was stopped"}


def test_the_command_answers_for_a_season(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import tomlkit

    file = tmp_path / "apples.toml"
    file.write_text(tomlkit.dumps(orchard("400 days").document), "utf-8")
    assert run(["carriers", str(file), "--budget", "30"]) == 0
    out = capsys.readouterr().out
    assert "for the average day" in out
    assert "The season against number" in out
    assert "bound" not in out
    assert run(["carriers", str(file), "--budget", "30", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["carriers"]["season"] is True
