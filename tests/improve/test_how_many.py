"""How many carriers: the least by the bound, enough by simulation, the curve between, and what it costs."""

from __future__ import annotations

import itertools
import json
from pathlib import Path
from typing import Any

import pytest
from improve_cases import ideas_of

from linewright.answer import answer, carriers_of_plan, improve_plan
from linewright.base.problems import ProblemsError
from linewright.cli.main import run
from linewright.plan import PlanBuilder


def line(cv: float = 0.6, **carrier: Any) -> PlanBuilder:
    """Three stations of two minutes on average, pallets with two minutes back; 480 a day is a piece every three."""
    plan = PlanBuilder("Pallets", money="EUR", makes="thing", demand="480 each/day")
    plan.item("thing", unit="each", sell="20 EUR")
    plan.carrier("pallet", **{"count": 9, "from_": "s0", "to": "s2", "way_back": "2 min", **carrier})
    route = plan.route("r", gives="thing")
    for k in range(3):
        plan.station(f"s{k}")
        route.operation(f"s{k}", station=f"s{k}", time={"mean": "2 min", "cv": cv} if cv else "2 min")
    return plan


def test_least_by_the_bound_and_enough_by_simulation() -> None:
    """Eight minutes a loop at one in three minutes: 2.67, so three at least; with luck in the times it takes more."""
    found = carriers_of_plan(line().build(), budget_seconds=60, threads=1)
    assert (found.kinds, found.there, found.least) == (("pallet",), (9,), (3,))
    assert found.enough is not None
    assert found.enough[0] > 3
    assert found.unlimited is not None
    assert found.unlimited.low <= 480 <= found.unlimited.high
    rates = [step.rate for step in found.steps if step.rate is not None]
    assert all(a.mean <= b.high for a, b in itertools.pairwise(rates)), "more carriers never make fewer pieces"
    all_steps = [3, 4, 5, 6, 7, 8, 11, 16, 22, 32]
    played = [step.total for step in found.steps]
    assert played == all_steps[: len(played)], "every number up to eight, then in larger steps"
    assert found.enough[0] in played[-3:], "and none beyond the three among which one is enough"
    assert found.to_table().rows == (("pallet", 9, 3, found.enough[0]),)
    assert len(found.steps_table().rows) == len(found.steps) + 1


def test_without_luck_the_least_is_enough() -> None:
    found = carriers_of_plan(line(cv=0).build(), budget_seconds=60, threads=1)
    assert found.enough == (3,)


def test_every_size_has_its_own_number() -> None:
    plan = line()
    plan.document["options"] = {"size": {"values": ["39", "40"], "shares": {"39": "25 %"}}}
    plan.document["items"]["thing"]["options"] = ["size"]
    plan.document["carriers"]["pallet"]["options"] = ["size"]
    found = carriers_of_plan(plan.build(), budget_seconds=60, threads=1)
    assert found.kinds == ("pallet [39]", "pallet [40]")
    assert found.least == (1, 2), "a quarter of 2.67, and the rest"
    assert found.enough is not None
    assert found.to_table().rows[-1] == ("all kinds", 18, 3, sum(found.enough))


def test_a_number_for_each_size_and_width() -> None:
    """Two sizes, each in two widths: counts by both, `else` for what is not in the table."""
    plan = line()
    plan.document["options"] = {"size": {"values": ["39", "40"]}, "width": {"values": ["narrow", "wide"]}}
    plan.document["items"]["thing"]["options"] = ["size", "width"]
    count = {"by": ["size", "width"], "table": {"40": {"narrow": 4, "wide": 6}}, "else": 2}
    plan.document["carriers"]["pallet"]["count"] = count
    found = carriers_of_plan(plan.build(), budget_seconds=0, threads=1)
    there = dict(zip(found.kinds, found.there, strict=True))
    assert there == {
        "pallet [39, narrow]": 2, "pallet [39, wide]": 2, "pallet [40, narrow]": 4, "pallet [40, wide]": 6,
    }  # fmt: skip
    assert found.asked == pytest.approx(8 / 3), "eight minutes a loop at one in three minutes, whatever the mix"
    assert found.least == (1, 1, 1, 1), "two thirds of one of each kind, rounded up"
    table = found.steps_table()
    assert table.rows[0][:2] == ("1 x 2.667, rounded up", 4)
    assert "2.667 carriers by the bound of all kinds together, each kind rounded up by itself" in table.note
    plan.document["carriers"]["pallet"]["count"]["table"]["40"].pop("wide")
    del plan.document["carriers"]["pallet"]["count"]["else"]
    with pytest.raises(ProblemsError) as wrong:
        plan.build()
    assert [(p.path, p.what) for p in wrong.value.problems] == [
        ("carriers.pallet.count.table.40", 'width "wide" is missing in this table'),
        ("carriers.pallet.count.table", 'size "39" is missing in this table'),
    ]


def test_a_quarter_more_of_a_table_by_two_options() -> None:
    """Every entry and `else` grow, each by one at least."""
    plan = line()
    plan.document["options"] = {"size": {"values": ["39", "40"]}, "width": {"values": ["narrow", "wide"]}}
    plan.document["items"]["thing"]["options"] = ["size", "width"]
    count = {"by": ["size", "width"], "table": {"40": {"narrow": 4, "wide": 8}}, "else": 1}
    plan.document["carriers"]["pallet"]["count"] = count
    (idea,) = (i.candidate for i in ideas_of(plan.build()).found if i.candidate.kind == "carriers")
    assert idea.what == "a quarter more pallets of every size and width"
    assert idea.edits[0].after == {"by": ["size", "width"], "table": {"40": {"narrow": 5, "wide": 10}}, "else": 2}


def test_larger_numbers_are_played_until_one_is_enough_or_time_is_up() -> None:
    """With times that spread by more than their mean, twice the least are not nearly enough."""
    plan = line(cv=1.5)
    found = carriers_of_plan(plan.build(), budget_seconds=60, threads=1)
    assert found.enough is not None
    assert found.unlimited is not None
    before, at = found.steps[:-3], next(step for step in found.steps if step.counts == found.enough)
    assert all(step.loss is not None and step.loss.mean > 0.005 * found.unlimited.mean for step in before)
    assert len(found.steps) > 3
    assert at.loss is not None
    assert at.loss.mean <= 0.005 * found.unlimited.mean
    hurried = carriers_of_plan(plan.build(), budget_seconds=0, threads=1)
    assert hurried.enough is None
    assert [step.why for step in hurried.steps] == [
        "not played: the time allowed was too short, or it was stopped"
    ] * 10


def test_a_plan_without_carriers_is_told_so() -> None:
    plan = line()
    del plan.document["carriers"]
    with pytest.raises(ProblemsError, match="no carrier is written in this plan"):
        carriers_of_plan(plan.build())


def test_the_command_prints_the_table(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import tomlkit

    file = tmp_path / "pallets.toml"
    file.write_text(tomlkit.dumps(line(cv=0).document), "utf-8")
    assert run(["carriers", str(file), "--budget", "5"]) == 0
    out = capsys.readouterr().out
    assert "least, by the bound" in out
    assert "Rate against number" in out
    assert run(["carriers", str(file), "--budget", "5", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["carriers"]["least"] == [3]


def test_wear_is_part_of_the_machine_cost() -> None:
    """30 EUR over 1000 uses: 3 cents a piece, 1 cent where three pieces share one."""
    before = answer(line().build()).cost.of("thing").parts
    after = answer(line(price="30 EUR", lasts_for=1000).build()).cost.of("thing").parts
    shared = answer(line(price="30 EUR", lasts_for=1000, holds=3).build()).cost.of("thing").parts
    assert (before.machine, after.machine, shared.machine) == (0, 0.03, 0.01)


def test_more_carriers_are_a_change_that_helps() -> None:
    """Three pallets limit; a fourth is the change that brings most."""
    plan = line(count=3)
    plan.document["plan"]["demand"] = "700 each/day"
    improvement = improve_plan(plan.build(), seed=1, budget_seconds=12, threads=1).improvement
    assert improvement is not None
    best = improvement.confirmed[0]
    assert (best.candidate.kind, best.verdict) == ("carriers", "helps")
    assert best.candidate.what == "4 instead of 3 pallets"
    assert [e.text for e in best.candidate.edits] == ["carriers.pallet.count: 3 -> 4"]


def test_the_report_shows_the_carriers() -> None:
    from linewright.report.tables import resources

    table = resources(answer(line(name="Wooden pallet").build()), "carrier")
    assert table.rows[0][:3] == ("Wooden pallet", 9, 3)
