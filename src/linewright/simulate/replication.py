"""One replication week by week: the accounts at every week's end, and what left the plant.

Every account is running, so any window of whole weeks is a difference of two; the warm-up is cut afterwards.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from linewright.base.calendar import HOUR, WEEK
from linewright.network.model import Floats, Ints
from linewright.simulate.checks import check_books
from linewright.simulate.diary import Diary, Stretch
from linewright.simulate.engine import Engine
from linewright.simulate.kernel import rows as r
from linewright.simulate.layout_base import Layout
from linewright.simulate.memory import Template
from linewright.simulate.stuck import say_if_stuck

CARRIER_TIMES = (r.Y_TIME, r.Y_BACK_TIME, r.Y_LOST_TIME, r.Y_WANTED_TIME)
"""Accounts of a kind of carriers: in use, on the way back, away to be mended, and wanted while too few are free."""
TRACED = 4
"""Hours after which what is traced is taken off the engine."""


class StoppedError(Exception):
    """The caller asked to stop in the middle of a replication."""


@dataclass(frozen=True, slots=True)
class Columns:
    """Where the accounts of a layout lie: bases of rows, as arrays."""

    accounts: Ints
    station_of: Ints
    crews: Ints
    lends: Ints
    tools: Ints
    carriers: Ints
    windows: Ints
    stores: Ints
    items: Ints
    routes: Ints
    operations: Ints
    mates: Ints
    cares: Ints
    cared_for: Ints

    @classmethod
    def of(cls, layout: Layout) -> Columns:
        """The columns of a layout."""

        def bases(rows: list[int]) -> Ints:
            return np.array(rows, dtype=np.int64)

        m = layout.builder.m
        places = [(s, place) for s, row in enumerate(layout.places) for place in row]
        return cls(
            accounts=bases([m[place + r.ACCOUNT] for _, place in places]),
            station_of=bases([s for s, _ in places]),
            crews=bases(layout.crews),
            lends=bases(layout.lends),
            tools=bases(layout.tools),
            carriers=bases(layout.carriers),
            windows=bases(layout.windows),
            stores=bases(layout.stores),
            items=bases(layout.items),
            routes=bases(layout.routes),
            operations=bases(layout.operations),
            mates=bases(list(layout.mates.values())),
            cares=bases([row for _, row in layout.cares]),
            cared_for=bases([k for k, _ in layout.cares]),
        )


@dataclass(frozen=True, slots=True)
class Weeks:
    """Running accounts of one replication at the end of every week, the zeroth before the first [n_weeks + 1, ...].

    Times in ns, person-ns, tool-ns, carrier-ns (CARRIER_TIMES), units-ns;
    ``cares`` [n_weeks + 1, n_rows, 4] is the work during stands at every place.
    ``closed`` counts windows that closed. ``gone`` are records (time, demanded?,
    entered, route, event) of pieces that left the plant; ``parts`` the items that are made ahead for other routes;
    ``levels`` the stores at every hour of the last week.
    """

    states: Ints
    crews: Floats
    lends: Floats
    tools: Floats
    carriers: Floats
    closed: Ints
    spoiled: Floats
    stores: Floats
    stocks: Floats
    open_time: Floats
    open_now: Ints
    finished: Floats
    runs: Floats
    scrapped: Floats
    reworked: Ints
    orphans: Floats
    cares: Floats
    store_most: Floats
    parts: Ints
    levels: Floats
    gone: Ints
    events: int
    log: Ints | None


def replicate(
    layout: Layout,
    template: Template,
    *,
    seed: int,
    replication: int,
    weeks: int,
    trace: Stretch | None = None,
    still: bool = False,
    stop: Callable[[], bool] | None = None,
    compiler: bool | None = None,
) -> Weeks:
    """Run one replication, and write down what happens in the stretch of ``trace``.

    Raises StoppedError, StuckError where it gets stuck, TooMuchError and EndlessInstantError.
    """
    columns = Columns.of(layout)
    engine = Engine(
        template, seed=seed, replication=replication, tracing=trace is not None and trace.since == 0, still=still,
        compiler=compiler,
    )  # fmt: skip
    shots = [_shot(engine, columns)]
    diary = Diary(trace)
    levels: list[Floats] = []
    completions = -1
    for week in range(weeks):
        tracing = trace is not None and (week + 1) * WEEK > trace.since
        hourly = week == weeks - 1 and replication == 0 and len(columns.stores) > 0
        for hour in range(1, 169) if hourly else range(TRACED, 169, TRACED) if tracing else (168,):
            until = week * WEEK + hour * HOUR
            engine.m[r.TRACING] = int(trace is not None and until > trace.since)
            while not engine.advance(until):
                if stop is not None and stop():
                    raise StoppedError
            if hourly:
                levels.append(engine.x[columns.stores + r.W_LEVEL].copy())
            if tracing and hour % TRACED == 0:  # a week's events of a large plan take a hundred megabytes
                diary.add(engine.take_log())
        engine.settle()
        if not tracing:
            diary.add(engine.take_log())
        check_books(engine, layout)
        shots.append(_shot(engine, columns))
        completions = say_if_stuck(engine, layout, completions, replication)
        if stop is not None and stop():
            raise StoppedError
    return _gather(engine, columns, shots, diary, levels)


def _shot(engine: Engine, c: Columns) -> tuple[np.ndarray, ...]:
    m, x = engine.m, engine.x
    states = np.stack([m[c.accounts + k] for k in range(r.N_STATES)], axis=-1)
    return (
        states.reshape(len(c.accounts), r.N_STATES), x[c.crews + r.C_TIME],
        x[c.lends + r.LEND_TIME], x[c.tools + r.G_TIME],
        np.stack([x[c.carriers + k] for k in CARRIER_TIMES], axis=-1), m[c.windows + r.X_CLOSED],
        x[c.items + r.I_SPOILED],
        x[c.stores + r.W_TIME],
        x[c.items + r.I_TIME], x[c.routes + r.U_WIP], m[c.routes + r.U_OPEN], _delivered(engine, c),
        x[c.operations + r.O_RUNS], x[c.operations + r.O_LOST], m[c.operations + r.O_REWORKS],
        x[c.mates + r.M_TIME], care_counts(engine, c),
    )  # fmt: skip


def care_counts(engine: Engine, c: Columns) -> Floats:
    """[n_rows, 4] of the work during stands at every place: done, late, missed, ns late."""
    m, x = engine.m, engine.x
    counts = [m[c.cares + k] for k in (r.CARE_DONE, r.CARE_LATE, r.CARE_MISSED)]
    return np.stack([*counts, x[c.cares + r.CARE_DELAY]], axis=-1).astype(np.float64)


def _delivered(engine: Engine, c: Columns) -> np.ndarray:
    """Units finished so far; by pull what demand asked for, less what it still waits for (stock below nothing)."""
    m, x = engine.m, engine.x
    owed = np.where(m[c.items + r.I_MODE] == r.BY_PULL, np.maximum(-x[c.items + r.I_POOL], 0.0), 0.0)
    return np.asarray(x[c.items + r.I_FINISHED] - owed)


def _gather(
    engine: Engine,
    c: Columns,
    shots: list[tuple[np.ndarray, ...]],
    diary: Diary,
    levels: list[Floats],
) -> Weeks:
    stacked = [np.stack(parts) for parts in zip(*shots, strict=True)]
    names = (
        "states",
        "crews",
        "lends",
        "tools",
        "carriers",
        "closed",
        "spoiled",
        "stores",
        "stocks",
        "open_time",
        "open_now",
        "finished",
        "runs",
        "scrapped",
        "reworked",
        "orphans",
        "cares",
    )
    accounts: dict[str, Any] = dict(zip(names, stacked, strict=True))
    return Weeks(
        **accounts,
        store_most=engine.x[c.stores + r.W_MOST].copy(),
        parts=np.flatnonzero((engine.m[c.items + r.I_MADE] != 0) & (engine.m[c.items + r.I_MODE] == r.BY_STOCK)),
        levels=np.array(levels).reshape(len(levels), len(c.stores)),
        gone=diary.gone,
        events=engine.events,
        log=diary.trace,
    )
