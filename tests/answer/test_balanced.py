"""Lines balanced and played: fixed times keep what the paper says, variation costs, and the answer carries it all."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from linewright.answer import Answer, answer
from linewright.answer.ask_balance import Asked, ask_lines, says_no, share_out
from linewright.base.problems import Problems, ProblemsError
from linewright.plan import Plan, PlanBuilder, read_plan
from linewright.plan.read import read_document

EXAMPLES = Path(__file__).parents[2] / "examples"


def works(time: Any = "100 s", line: dict[str, Any] | None = None, bench: dict[str, Any] | None = None) -> Plan:
    """Six operations in a row, 100 s each, 140 pieces in a day of 8 h: two at a station of 205.7 s."""
    plan = PlanBuilder("Row", makes="box", demand="140 each/day").item("box", unit="each").item("lid", unit="each")
    plan.shift("day", hours="06:00-14:00").crew("hand", people=9, shift="day").station(
        "bench", **{"places": 6, **(bench or {})}
    )
    plan.route("lid", gives="lid").operation("mould", time="60 s")
    route = plan.route("box", gives="box")
    for k in range(6):
        more: dict[str, Any] = {"takes": {"lid": 1}} if k == 3 else {}
        route.operation(f"step_{k}", crew="hand", station="bench", time=time, **more)
    plan.line("row", routes="box", **(line or {}))
    return plan.build()


def test_fixed_times_lose_nothing() -> None:
    found = ask_lines(works(), Asked())
    assert found.lines[0].balance.count == 3
    played = found.played["row"]
    assert played.on_paper == pytest.approx(28800 / 200)
    assert played.rate.mean == pytest.approx(144, abs=0.5)
    assert played.tight.mean == pytest.approx(144, abs=0.5)


def test_variation_loses_and_pieces_between_the_stations_win_some_of_it_back() -> None:
    """Balanced to the last second, three stations of exponential times lose much; one piece waiting helps."""
    played = ask_lines(works({"mean": "100 s", "shape": "exponential"}), Asked()).played["row"]
    assert 0.15 < played.lost.mean < 0.45
    assert played.tight_lost.mean > played.lost.mean + played.lost.half_width
    assert played.tight_pieces < played.open_pieces


def test_stoppages_of_the_old_stations_are_taken_along() -> None:
    plan = works(bench={"between_stops": "5 h", "repair": "30 min", "places": 6})
    played = ask_lines(plan, Asked()).played["row"]
    assert played.lost.low > 0.02


def test_the_answer_carries_the_lines() -> None:
    found = share_out(answer(works()), play=True)
    assert found.balanced is not None
    data = found.to_dict()["balance"]
    assert data["lines"]["row"]["count"] == 3
    assert data["played"]["row"]["on_paper"] == pytest.approx(144)
    assert found.problems == ()


def test_beside_the_simulation_the_lines_come_out_the_same() -> None:
    """On one thread one after the other, on two at the same time; who listens hears of the averages and of the plan."""
    heard: list[Answer] = []
    one, two = (
        answer(works("100 s"), simulate=True, line_seconds=1.0, threads=threads, known=heard.append)
        for threads in (1, 2)
    )
    for found in (one, two):
        assert found.simulation is not None
        assert found.balanced is not None
    assert one.balanced is not None
    assert two.balanced is not None
    stations = [[line.balance.stations for line in found.balanced.lines] for found in (one, two) if found.balanced]
    assert stations[0] == stations[1]
    assert one.balanced.played == two.balanced.played
    assert [known.simulation is not None for known in heard] == [False, False, True]


def test_lines_that_were_not_done_when_it_was_stopped_are_left_out() -> None:
    found = answer(works(), simulate=True, line_seconds=1.0, threads=2, stop=lambda: True)
    assert found.balanced is None
    assert found.simulation is None


def test_a_line_is_played_whose_people_stand_in_for_others() -> None:
    """The whole crew goes to the stations of the line, and those who could help it have nobody to help any more."""
    written = works().document
    document = {**written, "crews": {
        "hand": {**written["crews"]["hand"], "people": 3},
        "helper": {"people": 2, "shift": "day", "can": {"hand": 1}},
    }}  # fmt: skip
    plan = read_document(document, EXAMPLES, Problems())
    assert plan is not None
    found = ask_lines(plan, Asked())
    assert found.problems == ()
    assert found.played["row"].rate.mean == pytest.approx(144, abs=0.5)


def test_a_line_at_fault_is_a_warning_of_the_answer() -> None:
    found = share_out(answer(works(line={"takt": "90 s"})), play=True)
    assert found.balanced is not None
    assert found.balanced.lines == ()
    assert all('line "row" is not balanced' in p.what and p.level == "warning" for p in found.problems)
    assert found.yes


def test_no_is_told_apart_from_a_fault() -> None:
    with pytest.raises(ProblemsError) as wrong:
        ask_lines(works(line={"takt": "90 s"}), Asked())
    assert says_no(wrong.value)
    with pytest.raises(ProblemsError) as wrong:
        ask_lines(works(line={"fixed": {"step_0": 2, "step_1": 1}}), Asked())
    assert not says_no(wrong.value)


def test_a_plan_without_lines() -> None:
    plan = read_plan(EXAMPLES / "cider.toml")
    with pytest.raises(ProblemsError, match=r"write \[lines.main\]"):
        ask_lines(plan, Asked())
    before = answer(plan)
    assert share_out(before) is before


def test_a_stop_before_playing_gives_what_is_done() -> None:
    found = ask_lines(works(), Asked(), stop=lambda: True)
    assert found.played == {}
    assert len(found.lines) == 1


@pytest.mark.parametrize("name", ["boot", "hivekit", "trailer"])
def test_the_lines_of_the_examples_are_played(name: str) -> None:
    found = ask_lines(read_plan(EXAMPLES / f"{name}.toml"), Asked(seconds=3))
    assert set(found.played) == {line.line.id for line in found.lines}
    assert found.problems == ()
    for line in found.lines:
        played = found.played[line.line.id]
        assert -0.01 < played.lost.mean < 0.05
        assert played.on_paper >= played.wanted * 0.999
        for crew in line.staff:
            assert crew.walking <= crew.there, crew
