"""One call: share the tasks of a line over its stations.

With a takt: the fewest stations. With a number of stations: the fastest takt. With both: the smoothest sharing. Every
answer is checked by ``verify`` before it is handed out.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Sequence
from importlib.util import find_spec
from typing import TYPE_CHECKING

import numpy as np

from linewright import __version__
from linewright.balance.contradictions import check_takt, in_order
from linewright.balance.engines import choose
from linewright.balance.line import Line, Number, as_fraction
from linewright.balance.result import IMPOSSIBLE, PROVED, STOPPED, Balance, Curve, Station
from linewright.balance.verify import verify
from linewright.base.problems import Problems
from linewright.base.results import Honesty, Provenance

if TYPE_CHECKING:
    from linewright.balance.clock import Clock
    from linewright.balance.fastest import Fastest
    from linewright.balance.prepare import Plain

Progress = Callable[[int, int], None]


def balance(
    line: Line,
    *,
    takt: Number | None = None,
    stations: int | None = None,
    goal: str | None = None,
    seconds: float = 10.0,
    seed: int = 0,
    engine: str | None = None,
    progress: Progress | None = None,
    cancel: Callable[[], bool] | None = None,
) -> Balance:
    """Balance a line.

    ``takt`` is in the unit of the line's times, ``stations`` counts copies. ``goal`` follows from what is given unless
    it is said: "fewest" (needs a takt), "fastest" (needs stations), "smoothest" (needs both), "cheapest" (needs a
    takt). ``seconds`` is the time allowed; the best found so far is kept, with its bound. ``progress`` is told (bound,
    best); ``cancel`` is asked whether to stop. Raises ProblemsError where the question or the line is at fault.

    >>> from linewright.balance.line import make_line
    >>> line = make_line({"cut": 4, "bend": 3, "weld": 5}, {"bend": ["cut"], "weld": ["bend"]})
    >>> found = balance(line, takt=8)
    >>> found.count, found.honesty.status, found.station_of
    (2, 'proved', {'cut': 1, 'bend': 1, 'weld': 2})
    """
    goal, room = _question(line, takt, stations, goal, seconds)
    engine = choose(line, goal, engine)
    from linewright.balance.clock import Clock
    from linewright.balance.exact import warm_up
    from linewright.balance.kernel import SHORT

    if line.n > SHORT:
        warm_up()
    if engine == "constraints":
        _at_hand()
    clock = Clock(seconds, cancel, progress)
    if engine == "search":
        return _by_search(line, goal, room, stations, clock, seed)
    from linewright.balance.general import by_constraints

    return by_constraints(line, goal, room, stations, clock, seed)


def _at_hand() -> None:
    """Refuse to begin without OR-Tools; it is loaded where a model is built."""
    if find_spec("ortools") is None:
        problems = Problems()
        what = "a line with rules, or with several crews, is balanced by the extra `balance`, which is not installed"
        problems.error("", what, hint='pip install "linewright[balance]"')
        problems.raise_errors()


def curve(
    line: Line,
    stations: Iterable[int],
    *,
    seconds: float = 10.0,
    seed: int = 0,
    cancel: Callable[[], bool] | None = None,
) -> Curve:
    """The trade-off curve: the fastest balance for each number of stations. ``seconds`` is for the whole curve."""
    asked = sorted(set(stations))
    share = seconds / max(1, len(asked))
    return Curve(tuple(balance(line, stations=m, seconds=share, seed=seed, cancel=cancel) for m in asked))


def _question(
    line: Line, takt: Number | None, stations: int | None, goal: str | None, seconds: float
) -> tuple[str, int | None]:
    """The goal and the takt in ticks; every fault of the question is raised together."""
    problems = Problems()
    room: int | None = None
    if takt is not None:
        try:
            room = line.ticks(as_fraction(takt))
        except (ValueError, TypeError, ZeroDivisionError):
            problems.error("takt", "not a time", value=takt, expected="a number of more than zero")
    if goal is None:
        goal = "smoothest" if takt is not None and stations is not None else "fewest" if stations is None else "fastest"
    needs = {
        "fewest": (True, False),
        "fastest": (False, True),
        "smoothest": (True, True),
        "cheapest": (True, False),
    }
    if goal not in needs:
        problems.error("goal", "no such goal", value=goal, expected=", ".join(needs))
    else:
        for needed, given, name in zip(needs[goal], (takt, stations), ("takt", "stations"), strict=True):
            if needed and given is None:
                problems.error(name, f'the goal "{goal}" needs it')
    if not seconds > 0:
        problems.error("seconds", "the time allowed must be more than zero", value=seconds)
    if not problems.errors:
        check_takt(line, room, stations, problems)
    problems.raise_errors()
    return goal, room


def _by_search(line: Line, goal: str, room: int | None, stations: int | None, clock: Clock, seed: int) -> Balance:
    from linewright.balance.exact import fewest
    from linewright.balance.fastest import fastest
    from linewright.balance.prepare import Plain

    problem = Plain.of(line)
    if goal == "fewest":
        assert room is not None
        found = fewest(problem, room, clock, seed)
        station = problem.whole(found.station) + 1
        count = int(station.max())
        honesty = honest(found.reason, count, found.bound)
        return make_balance(line, goal, room, station.tolist(), honesty, "search", clock, seed)
    assert stations is not None
    quick = fastest(problem, stations, clock)
    if room is not None and quick.takt > room:
        status = IMPOSSIBLE if quick.bound > room else "unknown"
        note = f"{stations} stations need a takt of at least {line.amount(quick.bound):g}"
        return no_balance(line, goal, room, Honesty(status, notes=(note,)), "search", clock, seed)
    station = problem.whole(quick.station) + 1
    if goal == "fastest":
        honesty = honest(quick.reason, quick.takt, quick.bound, line)
        return make_balance(line, goal, quick.takt, station.tolist(), honesty, "search", clock, seed)
    return _smoothest(line, problem, quick, room or quick.takt, stations, clock, seed)


def _smoothest(
    line: Line, problem: Plain, quick: Fastest, room: int, stations: int, clock: Clock, seed: int
) -> Balance:
    from linewright.balance.smooth import even_out, least_squares

    even = even_out(problem.times, problem.order, quick.station, stations, quick.takt)
    loads = np.bincount(even, weights=problem.times.astype(np.float64), minlength=stations).astype(np.int64)
    squares, bound = int((loads**2).sum()), least_squares(int(problem.times.sum()), stations)
    notes = (
        f"the greatest load is {'proved least' if quick.reason == 'proved' else 'the least found'}",
        "the spread is that of a local search",
    )
    proved = quick.reason == "proved" and squares == bound
    unit = float(line.resolution**2)
    gap = 0.0 if bound == 0 else (squares - bound) / bound
    honesty = Honesty(PROVED if proved else STOPPED, bound * unit, gap, notes=notes)
    station = problem.whole(even) + 1
    return make_balance(line, "smoothest", room, station.tolist(), honesty, "search", clock, seed)


def honest(reason: str, found: int, bound: int, line: Line | None = None) -> Honesty:
    """Status, bound and gap of a search. ``line`` turns ticks into its unit."""
    gap = (found - bound) / bound if bound > 0 else 0.0
    told = float(bound) if line is None else line.amount(bound)
    if reason == "proved":
        return Honesty(PROVED, told, 0.0)
    return Honesty(STOPPED, told, gap, notes=(f"stopped by {reason}",))


def make_balance(
    line: Line,
    goal: str,
    room: int,
    station: Sequence[int],
    honesty: Honesty,
    engine: str,
    clock: Clock,
    seed: int,
) -> Balance:
    """The result of a line without rules, checked. ``station`` counts from 1."""
    wrong = verify(line, station, takt=room)
    if wrong:
        raise AssertionError("an engine gave a wrong balance: " + "; ".join(wrong))
    sequence = in_order(line)
    stations = []
    for s in range(1, max(station) + 1):
        tasks = [i for i in sequence if station[i] == s]
        load = line.amount(sum(int(line.times[i]) for i in tasks))
        stations.append(Station(s, tuple(line.names[i] for i in tasks), load))
    return Balance(goal, line.amount(room), line.unit, tuple(stations), honesty, origin(line, engine, clock, seed))


def no_balance(
    line: Line, goal: str, room: int | None, honesty: Honesty, engine: str, clock: Clock, seed: int
) -> Balance:
    """The result where there is no balance, or none was found."""
    takt = None if room is None else line.amount(room)
    return Balance(goal, takt, line.unit, (), honesty, origin(line, engine, clock, seed))


def origin(line: Line, engine: str, clock: Clock, seed: int) -> Provenance:
    """Where a result came from, with a fingerprint of the line."""
    told = repr((line.names, line.times.tolist(), line.pairs, line.resolution, line.rules))
    fingerprint = hashlib.sha256(told.encode()).hexdigest()[:16]
    return Provenance(f"balance.{engine}", __version__, fingerprint, seed, clock.spent)
