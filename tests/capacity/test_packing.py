"""People who work together, packed."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linewright.capacity.packing import fit, greatest_multiple, people_needed


def test_six_people_at_four_each_is_one_at_a_time() -> None:
    assert greatest_multiple({4: 1.0}, {6: 8.0}) == pytest.approx(8.0)
    assert people_needed({4: 8.0}, {6: 8.0}) == 4
    assert people_needed({4: 16.0}, {6: 8.0}) == 8


def test_small_jobs_fill_the_gaps_of_large_ones() -> None:
    # 8 h of four-person jobs leave two people free for 8 h: 16 person-hours.
    assert greatest_multiple({4: 8.0, 1: 16.0}, {6: 8.0}) == pytest.approx(1.0)
    assert greatest_multiple({4: 8.0, 3: 8.0}, {6: 8.0}) == pytest.approx(2 / 3)  # 4 alone; 3 and 3 together


def test_a_late_shift_too_small_for_a_job_does_not_help_it() -> None:
    assert greatest_multiple({3: 8.0}, {6: 8.0, 2: 8.0}) == pytest.approx(2.0)
    assert greatest_multiple({3: 8.0, 1: 8.0}, {6: 8.0, 2: 8.0}) == pytest.approx(2.0)  # ones go to the late shift


def test_nobody_and_nothing() -> None:
    assert greatest_multiple({}, {6: 8.0}) == math.inf
    assert greatest_multiple({4: 1.0}, {3: 8.0}) == 0.0
    assert greatest_multiple({1: 1.0}, {}) == 0.0
    assert people_needed({1: 1.0}, {}) is None


jobs = st.dictionaries(st.integers(1, 5), st.floats(0.1, 50), min_size=1, max_size=4)


@given(jobs, st.integers(5, 12), st.floats(1, 24))
def test_packing_lies_between_person_hours_and_one_job_at_a_time(
    work: dict[int, float], people: int, hours: float
) -> None:
    found = greatest_multiple(work, {people: hours})
    by_hours = people * hours / sum(size * h for size, h in work.items())
    one_size_at_a_time = hours / sum(h / fit(people, size) for size, h in work.items())
    assert one_size_at_a_time * (1 - 1e-9) <= found <= by_hours * (1 + 1e-9)


@given(jobs, st.integers(5, 12), st.floats(1, 24))
def test_the_people_needed_are_enough_and_one_less_is_not(work: dict[int, float], people: int, hours: float) -> None:
    needed = people_needed(work, {people: hours})
    assert needed is not None
    assert greatest_multiple(work, {needed: hours}) >= 1 - 1e-6
    if needed > max(work):
        assert greatest_multiple(work, {needed - 1: hours}) < 1 + 1e-6
