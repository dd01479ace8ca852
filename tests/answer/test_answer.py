"""One call from a plan to its answer: parts that belong together, honest words, plain data."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from linewright.answer import Answer, answer, check
from linewright.answer.verdict import percent
from linewright.base.problems import ProblemsError
from linewright.base.results import Honesty
from linewright.plan import PlanBuilder, new_plan


def stool(demand: str = "10 each/day") -> PlanBuilder:
    build = PlanBuilder("Stool", money="EUR", makes="stool", demand=demand)
    build.item("stool", unit="each", sell="50 EUR").item("leg", unit="each", buy="2 EUR")
    build.shift("day", hours="06:00-14:00").crew("fitter", people=1, shift="day", wage="25 EUR/h")
    build.station("bench", places=1, hazards=["noise"])
    route = build.route("main", gives="stool")
    route.operation("fit", crew={"fitter": 1}, station="bench", time="24 min", takes={"leg": 3})
    return build


@pytest.fixture(scope="module")
def found() -> Answer:
    return answer(stool().build())


def test_parts_come_from_one_network(found: Answer) -> None:
    marks = {found.network.fingerprint, found.flow.provenance.fingerprint, found.capacity.provenance.fingerprint,
             found.cost.provenance.fingerprint, found.provenance.fingerprint}  # fmt: skip
    assert len(marks) == 1


def test_hand_worked_answer(found: Answer) -> None:
    """8 h a day and 24 min each: at most 20 a day, twice the demand of 10; 3 legs at 2 EUR are 6 EUR of material."""
    assert found.yes
    assert found.capacity.multiple == pytest.approx(2.0)
    assert found.flow.bought[found.flow.items.index("leg")] == pytest.approx(30.0)
    assert found.cost.of("stool").parts.material == pytest.approx(6.0)
    assert found.headline.startswith("makes 10 stools a day: yes")
    assert "100 % to spare" in found.headline


def test_cautions_name_where(found: Answer) -> None:
    assert [(c.hazard, c.where) for c in found.cautions] == [("noise", ("bench",))]


def test_a_bound_is_not_called_a_promise(found: Answer) -> None:
    bound = replace(found, capacity=replace(found.capacity, honesty=Honesty("bound")))
    exact = replace(found, capacity=replace(found.capacity, honesty=Honesty("exact")))
    assert "by every bound" in bound.verdict
    assert "at most" in bound.verdict
    assert exact.verdict == "yes, with 100 % to spare"


def test_no_is_no() -> None:
    bad = answer(stool("30 each/day").build())
    assert not bad.yes
    assert bad.verdict == "no, at most 67 % of it"


@pytest.mark.parametrize(
    ("part", "words"), [(0.1199, "11 %"), (0.0999, "9.9 %"), (0.0, "0.0 %"), (0.29, "29 %"), (1.0, "100 %")]
)
def test_spare_is_never_rounded_up(part: float, words: str) -> None:
    assert percent(part) == words


def test_plain_data_is_json_without_nan(found: Answer) -> None:
    data = json.loads(json.dumps(found.to_dict(), allow_nan=False))
    assert data["yes"] is True
    assert data["plan"]["name"] == "Stool"
    assert data["flow"]["runs"] == pytest.approx([10.0])
    assert "network" not in data


def test_table_in_a_notebook(found: Answer) -> None:
    assert "Will it make the rate?" in found._repr_html_()


def test_check_lists_problems_with_lines(tmp_path: Path) -> None:
    path = tmp_path / "stool.toml"
    path.write_text(new_plan("Stool"), encoding="utf-8")
    assert check(path) == ()
    path.write_text(new_plan("Stool").replace("time = ", "tiem = ", 1), encoding="utf-8")
    problems = check(path)
    assert any(p.hint == 'did you mean "time"?' and p.line for p in problems)


def test_a_plan_that_cannot_be_solved_raises_problems() -> None:
    build = stool()
    build.document["routes"]["main"]["operations"][0]["takes"] = {"stool": 2}
    with pytest.raises(ProblemsError):
        answer(build.build())
