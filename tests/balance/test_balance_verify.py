"""The independent check sees each broken rule, and only that."""

from __future__ import annotations

import numpy as np
import pytest

from linewright.balance import Crew, Line, Rules, make_line, verify

TIMES = {"a": 3, "b": 4, "c": 5, "d": 6}
AFTER = {"b": ["a"], "d": ["c"]}


def line(**rules: object) -> Line:
    return make_line(TIMES, AFTER, rules=Rules(**rules))  # type: ignore[arg-type]


def test_a_right_balance_passes() -> None:
    assert verify(line(), [1, 1, 2, 3], takt=8, stations=3) == []


@pytest.mark.parametrize(
    ("station", "words"),
    [
        ([2, 1, 2, 3], '"b" is at station 1, before "a" at station 2'),
        ([1, 1, 1, 2], "station 1 is loaded with 12 of 8"),
        ([1, 1, 2, 4], "4 stations are used, 3 are allowed"),
        ([1, 1, 0, 2], '"c" is at no station'),
        ([1, 1, 2], "4 tasks, but 3 are placed"),
    ],
)
def test_order_loads_and_number(station: list[int], words: str) -> None:
    assert words in verify(line(), station, takt=8, stations=3)


@pytest.mark.parametrize(
    ("rules", "words"),
    [
        ({"fixed": {"c": (3,)}}, '"c" is at station 2, it belongs to [3]'),
        ({"together": (("a", "c"),)}, "a, c are not together"),
        ({"apart": (("a", "b"),)}, "a, b are not apart"),
        ({"side": {"a": "left", "b": "right"}}, "station 1 works on more than one side: left, right"),
        (
            {"tools": {"press": 1}, "uses": {"a": ("press",), "c": ("press",)}},
            '"press" exists 1 times but is used at stations [1, 2]',
        ),
        (
            {"strain": np.array([1.0, 2.5, 1, 1]), "strain_limit": 3.0},
            "station 1 has a strain of 3.5, over the limit of 3",
        ),
        (
            {"variance": np.array([1.0, 1, 1, 1]), "within": 0.95},
            "station 1 stays within takt with less than the probability 0.95",
        ),
        (
            {
                "models": ("x", "y"),
                "mix": (0.5, 0.5),
                "model_times": np.array([[1, 4, 5, 6], [5, 4, 5, 6]]),
                "worst_model": 1.0,
            },
            'station 1 is loaded with 9 when "y" comes',
        ),
        ({"skill": {"a": "weld"}, "crews": {"w": Crew(skills=("weld",))}}, "no crew is named for every station"),
        ({"people": 2}, "station 1: several people, but nobody says who starts what when"),
    ],
)
def test_each_rule(rules: dict[str, object], words: str) -> None:
    wrong = verify(line(**rules), [1, 1, 2, 3], takt=8)
    assert words in wrong
    assert all("station" in w or "not" in w for w in wrong)


def test_crews() -> None:
    crews = {"w": Crew(people=1, skills=("weld",)), "f": Crew(skills=())}
    skilled = line(skill={"a": "weld"}, crews=crews)
    assert verify(skilled, [1, 1, 2, 3], crew=["w", "f", "f"]) == []
    assert verify(skilled, [1, 1, 2, 3], crew=["f", "w", "w"]) == [
        '"a" at station 1 needs the skill "weld"',
        '2 stations are manned by "w", there are 1',
    ]


def test_several_people() -> None:
    pair = line(people=2)
    station, person = [1, 1, 1, 1], [1, 1, 2, 2]
    assert verify(pair, station, takt=11, starts=[0, 3, 0, 5], person=person) == []
    assert '"d" does not end within takt at station 1' in verify(
        pair, station, takt=10, starts=[0, 3, 0, 5], person=person
    )
    wrong = verify(pair, station, takt=11, starts=[0, 2, 0, 5], person=person)
    assert '"b" starts before "a" ends' in wrong
    assert 'person 1 of station 1 does "a" and "b" at once' in wrong


def test_copies_give_time_and_count_as_stations() -> None:
    twice = make_line({"a": 3, "b": 14}, rules=Rules(parallel=2))
    assert verify(twice, [1, 1], takt=10, stations=2) == []
    assert verify(twice, [1, 2], takt=10, stations=2) == ["3 stations are used, 2 are allowed"]
    assert "station 1 needs 3 copies, 2 are allowed" in verify(twice, [1, 1], takt=6)
