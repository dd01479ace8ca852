"""Lines: read, checked, and every problem said in one pass."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from linewright.balance import Crew, Rules, make_line, read_graph
from linewright.balance.circles import find_circles
from linewright.base.problems import ProblemsError


def told(error: ProblemsError) -> str:
    return "\n".join(str(p) for p in error.problems)


def test_times_become_whole_ticks_exactly() -> None:
    line = make_line({"a": 0.1, "b": 0.25, "c": "1/3"})
    assert [t * line.resolution for t in line.times.tolist()] == [Fraction(1, 10), Fraction(1, 4), Fraction(1, 3)]
    assert line.ticks(0.3) == 18  # three times 0.1, though 0.1 + 0.1 + 0.1 > 0.3 in floating point
    assert line.ticks(1) == 60


def test_every_problem_is_found_in_one_pass() -> None:
    with pytest.raises(ProblemsError) as caught:
        make_line(
            {"glue": 3, "clamp": -1, "cure": "long", "drill": float("nan")},
            {"clamp": ["gleu"], "sand": ["glue"], "glue": ["cure"], "cure": ["clamp"], "drill": ["drill"]},
        )
    assert len(caught.value.problems) == 6
    assert 'did you mean "glue"?' in told(caught.value)
    assert "drill -> drill" in told(caught.value)


def test_circles_are_named_in_full_one_for_each_knot() -> None:
    with pytest.raises(ProblemsError) as caught:
        make_line(
            dict.fromkeys("abcdefg", 1),
            {"b": ["a", "d"], "c": ["b"], "d": ["c"], "e": ["d"], "f": ["g"], "g": ["f", "e"]},
        )
    assert [p.what.split(": ")[1] for p in caught.value.problems] == ["b -> c -> d -> b", "f -> g -> f"]


def test_a_task_between_two_circles_is_in_none() -> None:
    assert find_circles(5, [(0, 1), (1, 0), (1, 2), (2, 3), (3, 4), (4, 3)]) == [[0, 1], [3, 4]]


def test_an_operation_longer_than_the_takt_says_what_would_help() -> None:
    line = make_line({"weld": 25, "bend": 3})
    with pytest.raises(ProblemsError, match=r"2\.50 times the takt: allow `parallel = 3` stations"):
        line.check(takt=10)
    with pytest.raises(ProblemsError, match="takt must be more than zero"):
        line.check(takt=0)


@pytest.mark.parametrize(
    ("rules", "words"),
    [
        (
            {"together": (("a", "b"), ("b", "c")), "apart": (("a", "c"),)},
            '"a" and "c" are kept together and kept apart',
        ),
        ({"together": (("a", "b"),), "fixed": {"a": (1,), "b": (2, 3)}}, "fixed to different stations"),
        ({"together": (("a", "b"),), "side": {"a": "left", "b": "right"}}, "different sides"),
        ({"fixed": {"a": (3,), "c": (1, 2)}}, '"c" is bound to station 2 but comes after "a"'),
        ({"fixed": {"a": (0,)}}, "numbered from 1"),
        ({"uses": {"a": ("jig",)}, "tools": {"jigg": 1}}, 'did you mean "jigg"?'),
        ({"skill": {"a": "weld"}, "crews": {"fitter": Crew(skills=("fit",))}}, "no crew has this skill"),
        ({"within": 0.95}, "no values of the tasks"),
        ({"strain": np.array([1.0, 5.0, 1.0]), "strain_limit": 4.0}, '"b" alone is over the limit'),
        ({"models": ("x",), "mix": (0.5,), "model_times": np.ones((1, 2), np.int64)}, "one column per task"),
        ({"people": 0}, "at least 1"),
        ({"side": {"z": "left"}}, "no such task"),
    ],
)
def test_contradictions_are_named(rules: dict[str, object], words: str) -> None:
    with pytest.raises(ProblemsError) as caught:
        make_line({"a": 2, "b": 3, "c": 4}, {"b": ["a"], "c": ["b"]}, rules=Rules(**rules))  # type: ignore[arg-type]
    assert words in told(caught.value)


def test_reading_a_graph_file(tmp_path: Path) -> None:
    path = tmp_path / "line.txt"
    path.write_text("# three tasks\ntasks 3\ncycle 9\nt 1 4\nt 2 2.5  # bend\nt 3 6\np 1 2\np 2 3\n")
    graph = read_graph(path)
    assert graph.takt == 9
    assert graph.line.names == ("1", "2", "3")
    assert graph.line.pairs == [(0, 1), (1, 2)]
    assert graph.line.times.tolist() == [8, 5, 12]


def test_reading_a_table(tmp_path: Path) -> None:
    path = tmp_path / "line.csv"
    path.write_text("Task, Time, After\ncut,4,\nbend,2.5,cut\nweld,6,cut; bend\n")
    line = read_graph(path).line
    assert line.names == ("cut", "bend", "weld")
    assert line.pairs == [(0, 1), (0, 2), (1, 2)]


def test_problems_of_a_file_name_their_lines(tmp_path: Path) -> None:
    path = tmp_path / "bad.txt"
    path.write_text("tasks 4\nt 1 four\nt 2 -1\nt 1 3\nq 1 2\np 1 9\n")
    with pytest.raises(ProblemsError) as caught:
        read_graph(path)
    lines = sorted(p.line for p in caught.value.problems if p.line)
    assert lines == [1, 2, 3, 4, 5]
    assert any('there is no task "9"' in p.what for p in caught.value.problems)
    with pytest.raises(ProblemsError, match="cannot be read"):
        read_graph(tmp_path / "absent.txt")
    (tmp_path / "empty.csv").write_text("")
    with pytest.raises(ProblemsError, match="a column is missing"):
        read_graph(tmp_path / "empty.csv")
