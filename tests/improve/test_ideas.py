"""Every idea is an edit of the plan that its author could write, and does what its name says."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from improve_cases import EXAMPLES, ask, example, ideas_of, of, works

from linewright.base.problems import ProblemsError
from linewright.improve.edits import edited, more_of, scaled
from linewright.improve.model import Candidate, written
from linewright.network import compile_network
from linewright.plan import PlanBuilder, check_plan, save_value
from linewright.plan.model import Plan, Skill

LARGE = pytest.param("boot", marks=pytest.mark.slow)


@pytest.mark.parametrize("name", ["trailer", "cider", "reedboard", "hivekit", LARGE])
def test_what_an_edit_shows_is_what_stands_in_the_file(name: str) -> None:
    _, ideas = example(name)
    assert len(ideas) > 70
    for idea in ideas:
        for edit in idea.candidate.edits:
            for value in (edit.before, edit.after):
                if value is not None:
                    assert tomllib.loads(f"x = {written(value)}")["x"] == value


@pytest.mark.parametrize("name", ["trailer", "cider", "reedboard", "hivekit", LARGE])
def test_every_idea_is_a_plan_or_says_why_not(name: str) -> None:
    """The one kind that is not: half a pallet, whose wood would then weigh twice as much on each piece."""
    plan, ideas = example(name)
    refused = []
    for idea in ideas:
        try:
            compile_network(edited(plan, idea.candidate.edits))
        except ProblemsError:
            refused.append(idea.candidate.what)
    assert all(what.startswith("a load of ") for what in refused)
    assert len(refused) <= 1


def test_a_single_edit_is_a_change_of_the_plan() -> None:
    plan, ideas = example("trailer")
    single = [idea.candidate.edits[0] for idea in ideas if len(idea.candidate.edits) == 1]
    assert len(single) > 50
    for edit in single[::7]:
        assert edited(plan, [edit]) == plan.change(edit.path, edit.after)


def test_edits_written_into_the_file_give_the_same_plan(tmp_path: Path) -> None:
    file = tmp_path / "trailer.toml"
    written_down = (EXAMPLES / "trailer.toml").read_bytes()
    (tmp_path / "trailer_study.csv").write_bytes((EXAMPLES / "trailer_study.csv").read_bytes())
    file.write_bytes(written_down)
    plan, _ = check_plan(file)
    assert plan is not None
    ideas = ideas_of(plan).found
    for kind in ("place", "time", "variation", "stoppages", "faults", "room"):
        candidate = next(i.candidate for i in ideas if i.candidate.kind == kind and len(i.candidate.edits) == 1)
        file.write_bytes(written_down)
        save_value(file, candidate.edits[0].path, candidate.edits[0].after)
        saved, _ = check_plan(file)
        assert saved == edited(plan, candidate.edits)


def test_numbers_keep_their_units() -> None:
    assert scaled("1_000 L", 1.25) == "1250 L"
    assert scaled("0.5 hL", 0.5) == "0.25 hL"
    assert scaled({"mean": "1 min"}, 2) is None
    assert scaled(True, 2) is None
    assert more_of(1, 0.25) == 2
    assert more_of("2.4 t", 0.25) == "3 t"


def day_shift() -> PlanBuilder:
    """Two people from 8 to 16 with half an hour of break, one machine that one of them works."""
    builder = works().shift("day", hours="08:00-16:00", breaks=["12:00-12:30"], days="Mon-Sun")
    builder.crew("hand", people=2, shift="day", wage="20 EUR/h").station("press")
    builder.route("r", gives="p").operation(
        "press", station="press", crew={"hand": 1}, time="10 min", takes={"raw": 1}, stop="anywhere"
    )
    return builder


def two_trades() -> PlanBuilder:
    """6 min by one trade and 2 min by another, one person each."""
    builder = works().station("a", places=4).station("b", places=4)
    builder.crew("smith", people=1, shift="always", wage="20 EUR/h", allowance="0 %")
    builder.crew("packer", people=1, shift="always", wage="16 EUR/h")
    route = builder.route("r", gives="p")
    route.operation("forge", station="a", crew={"smith": 1}, time="6 min", takes={"raw": 1})
    route.operation("pack", station="b", crew={"packer": 1}, time="2 min")
    return builder


def one_step(**fields: Any) -> PlanBuilder:
    """One machine, one operation."""
    builder = works().station("m")
    builder.route("r", gives="p").operation("o", station="m", takes={"raw": 1}, **fields)
    return builder


def hoisted() -> PlanBuilder:
    """Two machines of 10 min that cannot both have the one hoist: 72 a day, twice as many with two."""
    builder = works().station("a", places=2).tool("hoist", count=1)
    builder.route("r", gives="p").operation("o", station="a", uses={"hoist": 1}, time="20 min", takes={"raw": 1})
    return builder


def operated() -> PlanBuilder:
    """A machine and its one operator limit alike: one more of either alone gives nothing."""
    builder = works().crew("hand", people=1, shift="always").station("press")
    builder.route("r", gives="p").operation("o", station="press", crew="hand", time="10 min", takes={"raw": 1})
    return builder


BY_HAND: list[tuple[str, Callable[[], PlanBuilder], str, float, float]] = [
    # name, plan, change, rate a day before, rate after
    ("breaks", day_shift, "1 of 2 hands on the day shift takes breaks after the others", 45, 48),
    ("second job", two_trades, "one packer learns the work of smith", 240, 360),
    ("setup", lambda: one_step(time="5 min", setup={"time": "20 min", "every": 4}), "half the setup at o", 144, 192),
    ("load", lambda: one_step(time="1 h", load=4), "a load of 5 instead of 4 at o", 96, 120),
    ("half load", lambda: one_step(time={"fixed": "2 min", "each": "2 min"}, load=4), "a load of 2 instead of 4 at o",
     576, 480),
    ("both", operated, "one more place at press with one more hand", 144, 288),
    ("tool", hoisted, "one more hoist", 72, 144),
    ("rate", lambda: one_step(time="9 min"), "10 % less time at o", 160, 160 / 0.9),
    ("standing", lambda: one_step(time="1 min", stand="9 min"), "10 % less standing at o", 144, 1440 / 9.1),
    ("yield", lambda: one_step(time="6 min", yield_="80 %"), "half the loss at o", 192, 216),
]  # fmt: skip


@pytest.mark.parametrize(("name", "plan", "what", "before", "after"), BY_HAND, ids=[case[0] for case in BY_HAND])
def test_gains_known_by_hand(
    name: str, plan: Callable[[], PlanBuilder], what: str, before: float, after: float
) -> None:
    found = ask(plan(), played=100)
    effect = of(found.simulated, what)
    assert found.rate.mean == pytest.approx(before, rel=0.01)
    assert effect.gain is not None
    assert effect.gain.low <= after - before <= effect.gain.high
    assert effect.gain.half_width < 0.25 * abs(after - before)
    assert effect.verdict == ("helps" if after > before else "hurts")


def test_staggered_breaks_pay_the_same_hours() -> None:
    plan = day_shift().build()
    idea = next(i for i in ideas_of(plan).found if i.candidate.kind == "breaks")
    network, after = compile_network(plan), compile_network(edited(plan, idea.candidate.edits))
    assert after.crews.paid_hours_week.tolist() == network.crews.paid_hours_week.tolist()
    assert (
        after.calendars[int(after.crews.calendar[0])].open_ns
        > network.calendars[int(network.crews.calendar[0])].open_ns
    )
    assert idea.candidate.edits[0].after == {"hours": "08:00-16:00", "breaks": ["12:30-13:00"], "days": "Mon-Sun"}


USE = np.array([0.9, 0.2])
"""How busy smiths and packers are."""


def learning(plan: Plan) -> list[Candidate]:
    """Ideas by which packers learn the smith's work."""
    return [i.candidate for i in ideas_of(plan, USE).found if i.candidate.where == ("packer", "smith")]


def test_one_person_learns_another_job_and_then_one_more() -> None:
    builder = two_trades()
    builder.document["crews"]["packer"]["people"] = 2
    plan = builder.build()
    (idea,) = learning(plan)
    assert "training" in idea.assumes
    after = edited(plan, idea.edits)
    assert after.crews["packer"].can == {"smith": Skill(1)}
    (more,) = learning(after)
    assert more.what == "one more packer learns the work of smith"
    both = edited(after, more.edits)
    assert both.crews["packer"].can == {"smith": Skill(2)}
    assert not learning(both), "all can"


def test_all_operations_of_a_visit_have_their_load_changed_together() -> None:
    _, ideas = example("cider")
    fuller = 'a load of 6250 L instead of 5000 L at "Pump must over and pitch the yeast"'
    tank = next(i.candidate for i in ideas if i.candidate.what == fuller)
    assert len(tank.edits) == 5
    assert {edit.after for edit in tank.edits} == {"6250 L"}


def test_where_two_things_limit_alike_one_more_of_either_gives_nothing() -> None:
    found = ask(operated())
    assert found.best is not None
    assert found.best.candidate.what == "one more place at press with one more hand"
    assert len(found.best.candidate.edits) == 2
    for what in ("one more place at press", "one more hand"):
        assert of(found.simulated, what).verdict != "helps"


def test_lots_are_tried_where_stations_change_over() -> None:
    builder = PlanBuilder("Products", money="EUR")
    builder.shift("day", hours="06:00-14:00").crew("hand", people=1, shift="day").station("press")
    for name, lot in (("a", None), ("b", 8)):
        builder.item(name, unit="each").demand(name, "4 each/day")
        builder.route(name, gives=name, lot=lot).operation(
            f"press_{name}", station="press", crew={"hand": 1}, time="10 min",
            setup={"time": "30 min", "when": "item changes"},
        )  # fmt: skip
    whats = [i.candidate.what for i in ideas_of(builder.build()).found if i.candidate.kind == "lot"]
    assert whats == [
        "a in lots of 30 instead of one by one", "b in lots of 16 instead of 8", "b in lots of 4 instead of 8",
    ]  # fmt: skip
