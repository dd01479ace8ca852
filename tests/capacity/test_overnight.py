"""One place followed through the week, against a plain search that steps minute by minute."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.capacity.hours import ALWAYS, Hours, both, either, join, when
from linewright.capacity.overnight import Step, orbit, pass_time
from linewright.network.model import Stops

MINUTE = 60 * 10**9
DAY = 24 * 60


def daily(begin: int, end: int, days: int = 7) -> Hours:
    """Open from minute ``begin`` to ``end`` of the first ``days`` days."""
    return join(((d * DAY + begin) * MINUTE, (d * DAY + end) * MINUTE) for d in range(days))


def by_minutes(step: Step, at: int) -> int:
    """When a step is done, by looking at every minute (all times whole minutes)."""
    length, now = step.length // MINUTE, at // MINUTE
    if step.hours is None or length == 0:
        return (now + length) * MINUTE
    week = 7 * DAY
    there = [any(b <= m * MINUTE < e for b, e in step.hours.spans) for m in range(week)]
    while True:
        if not there[now % week]:
            now += 1
            continue
        if step.stop == Stops.FINISH or (step.stop == Stops.FITS and step.length > max(step.hours.runs)):
            return (now + length) * MINUTE
        if step.stop == Stops.FITS:
            if all(there[(now + k) % week] for k in range(length)):
                return (now + length) * MINUTE
            now += 1
            continue
        while length:
            length -= there[now % week]
            now += 1
        return now * MINUTE


hours_sets = st.sampled_from([daily(480, 960), daily(480, 960, 5), daily(360, 840, 6), daily(0, 1440, 3), ALWAYS])
steps = st.builds(
    Step,
    st.integers(0, 400).map(lambda m: m * MINUTE),
    st.one_of(st.none(), hours_sets),
    st.sampled_from([int(Stops.ANYWHERE), int(Stops.FITS), int(Stops.FINISH)]),
)


@settings(max_examples=60, deadline=None)
@given(steps, st.integers(0, 2 * 7 * DAY))
def test_a_step_ends_when_the_minutes_say(step: Step, minute: int) -> None:
    assert pass_time(step, minute * MINUTE) == by_minutes(step, minute * MINUTE)


@settings(max_examples=60, deadline=None)
@given(steps, st.integers(0, 7 * DAY), st.integers(0, 600))
def test_a_later_start_never_ends_earlier(step: Step, minute: int, later: int) -> None:
    """What makes the earliest start the best one."""
    one, other = pass_time(step, minute * MINUTE), pass_time(step, (minute + later) * MINUTE)
    assert one is not None
    assert other is not None
    assert one <= other


@settings(max_examples=40, deadline=None)
@given(st.lists(steps, min_size=1, max_size=4))
def test_the_orbit_counts_what_a_year_shows(visit: list[Step]) -> None:
    found = orbit(visit)
    if sum(step.length for step in visit) == 0:
        return
    assert found is not None
    at, done = 0, 0
    horizon = 60 * 7 * DAY * MINUTE
    while at < horizon and done < 20_000:
        for step in visit:
            end = pass_time(step, at)
            assert end is not None
            at = end
        done += 1
    weeks = at / (7 * DAY * MINUTE)
    if found.exact:
        # From any start the count over so many weeks differs from the rate by at most one period.
        assert abs(done - found.per_week * weeks) <= found.visits + 1
    else:
        assert done / weeks <= found.per_week + 1 / weeks


def test_the_oven_of_the_meaning_page() -> None:
    """Load 10 min, stand 5 h alone, unload 5 min, crew 08:00-16:00: 2.00 a day; averages say 1.52 or 4.57."""
    day = daily(480, 960)
    found = orbit([Step(10 * MINUTE, day), Step(300 * MINUTE), Step(5 * MINUTE, day)])
    assert found is not None
    assert found.exact
    assert found.per_week / 7 == 2.0


def test_a_visit_without_hours_never_ends() -> None:
    assert orbit([Step(MINUTE, Hours(()))]) is None
    # Work longer than any stretch is begun all the same: the meaning's way out of never.
    assert pass_time(Step(500 * MINUTE, daily(480, 960), Stops.FITS), 500 * MINUTE) == 1000 * MINUTE


def test_sets_of_hours() -> None:
    day, late = daily(480, 960), daily(840, 1320)
    assert both(day, late).open_ns == 7 * 120 * MINUTE
    assert either([day, late]).open_ns == 7 * 840 * MINUTE
    assert sum(day.gaps) + day.open_ns == 7 * DAY * MINUTE
    assert len(day.gaps) == 7
    night = join([(0, 6 * 60 * MINUTE), (7 * DAY * MINUTE - 120 * MINUTE, 7 * DAY * MINUTE)])
    assert sorted(night.runs) == [480 * MINUTE]
    assert len(night.gaps) == 1
    assert ALWAYS.gaps == ()


def test_hours_from_a_calendar() -> None:
    from linewright.base.calendar import from_spans

    calendar = from_spans([(d * DAY * MINUTE + 480 * MINUTE, d * DAY * MINUTE + 960 * MINUTE, 3) for d in range(5)])
    assert when(calendar, 3) == daily(480, 960, 5)
    assert when(calendar, 4).spans == ()
