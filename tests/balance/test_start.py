"""The first balance keeps every rule, and the bound by skills is never above what is needed."""

from __future__ import annotations

from itertools import pairwise

from balance_cases import LONG
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.balance import Crew, Line, Rules, balance, make_line, verify
from linewright.balance.clock import Clock
from linewright.balance.general import _solve
from linewright.balance.model import Model
from linewright.balance.start import first_balance, least_by_skills

TAKT = 12


@st.composite
def skilled(draw: st.DrawFn) -> Line:
    """A line of up to nine tasks for two or three crews, with other rules beside."""
    n = draw(st.integers(2, 9))
    names = [f"t{i}" for i in range(n)]
    times = dict(zip(names, draw(st.lists(st.integers(0, TAKT), min_size=n, max_size=n)), strict=True))
    every = [(a, b) for b in range(n) for a in range(b)]
    after: dict[str, list[str]] = {}
    for a, b in draw(st.lists(st.sampled_from(every), unique=True, max_size=10)):
        after.setdefault(names[b], []).append(names[a])
    skills = draw(st.lists(st.sampled_from(["sew", "glue", "press"]), min_size=n, max_size=n))
    crews = {"a": Crew(None, ("sew",)), "b": Crew(None, ("glue",)), "c": Crew(None, ("press",))}
    if draw(st.booleans()):
        crews["a"] = Crew(draw(st.sampled_from([None, 1, 3])), ("sew", "glue"))
    side = draw(st.dictionaries(st.sampled_from(names), st.sampled_from(["left", "right"]), max_size=3))
    rules = Rules(skill=dict(zip(names, skills, strict=True)), crews=crews, side=side)
    return make_line(times, after, rules=rules)


@settings(max_examples=150, deadline=None)
@given(skilled(), st.integers(0, 5))
def test_a_first_balance_is_right_and_no_better_than_the_best(line: Line, seed: int) -> None:
    room = line.ticks(TAKT)
    found = first_balance(line, room, Clock(5.0), seed)
    if found is None:
        return  # a crew of few people may be too small
    assert verify(line, found.station, takt=room, crew=found.crew) == []
    assert least_by_skills(line, room) <= len(found.crew)


@settings(max_examples=25, deadline=None)
@given(skilled())
def test_the_answer_is_no_worse_than_the_first_balance(line: Line) -> None:
    room = line.ticks(TAKT)
    first = first_balance(line, room, Clock(5.0), 0)
    best = balance(line, takt=TAKT, seconds=LONG)
    if first is not None:
        assert best.honesty.status == "proved"
        assert max(1, least_by_skills(line, room)) <= best.count <= len(first.crew)


@settings(max_examples=40, deadline=None)
@given(skilled(), st.sampled_from([{"people": 2}, {"parallel": 2}]))
def test_the_bound_by_skills_holds_for_people_and_copies_too(line: Line, more: dict[str, int]) -> None:
    """No answer that the independent check accepts has fewer stations than the bound says."""
    crews = {name: Crew(None, crew.skills) for name, crew in line.rules.crews.items()}
    line = line.with_rules(Rules(skill=line.rules.skill, crews=crews, **more))  # type: ignore[arg-type]
    room = line.ticks(TAKT)
    model = Model(line, line.n * 2, room)
    best = _solve(model, "count", Clock(20.0), 0)
    if best.status == "proved":
        assert least_by_skills(line, room) <= best.value


def test_work_that_only_one_crew_can_do_needs_stations_of_its_own() -> None:
    rules = Rules(
        skill={"a": "sew", "b": "sew", "c": "glue"},
        crews={"closer": Crew(None, ("sew",)), "hand": Crew(None, ("glue",))},
    )
    line = make_line({"a": 7, "b": 7, "c": 1}, rules=rules)
    assert least_by_skills(line, line.ticks(10)) == 3
    pairs = Rules(skill=rules.skill, crews=rules.crews, people=2)
    assert least_by_skills(make_line({"a": 7, "b": 7, "c": 1}, rules=pairs), 10) == 2
    assert balance(make_line({"a": 7, "b": 7, "c": 1}, rules=pairs), takt=10).count == 2
    both = Rules(skill={"a": "sew"}, crews={"closer": Crew(None, ("sew",)), "other": Crew(None, ("sew",))})
    assert least_by_skills(make_line({"a": 7}, rules=both), 10) == 0


def test_every_change_of_crew_along_a_chain_is_another_station() -> None:
    names = ["a", "b", "c", "d", "e"]
    rules = Rules(
        skill=dict(zip(names, ["sew", "glue", "any", "glue", "sew"], strict=True)),
        crews={"closer": Crew(None, ("sew", "any")), "hand": Crew(None, ("glue", "any"))},
    )
    line = make_line(dict.fromkeys(names, 1), {b: [a] for a, b in pairwise(names)}, rules=rules)
    assert least_by_skills(line, 100) == 3
    assert balance(line, takt=100).count == 3


def test_no_first_balance_where_a_task_fits_nowhere() -> None:
    line = make_line(
        {"a": 3, "b": 11}, {"b": ["a"]}, rules=Rules(fixed={"a": (2,), "b": (1, 2)}, together=(("a", "b"),))
    )
    assert first_balance(line, 12, Clock(1.0), 0) is None
