"""A stretch of time as it was traced: the same events as in the whole trace, and what was under way when it began."""

from __future__ import annotations

import numpy as np

from linewright.base.calendar import DAY, HOUR, WEEK
from linewright.network import compile_network
from linewright.plan import read_plan
from linewright.simulate import simulate
from linewright.simulate.diary import still_under_way
from linewright.simulate.kernel import rows as r


def test_a_stretch_of_the_last_week_is_what_the_whole_trace_says_of_it() -> None:
    network = compile_network(read_plan("examples/trailer.toml"))
    begin, end = 2 * DAY + 10 * HOUR, 2 * DAY + 12 * HOUR
    whole = simulate(network, days=21, replications=1, trace=True).trace
    part = simulate(network, days=21, replications=1, trace=(begin, end)).trace
    assert whole is not None
    assert part is not None
    first = 2 * WEEK + begin
    assert part.between(first, 2 * WEEK + end).records == whole.between(first, 2 * WEEK + end).records
    open_now = {}
    for record in whole.between(0, first).records:  # by hand: what has begun and not ended
        if record.event == "starts":
            open_now[record.lot, record.operation] = record
        elif record.event in ("ends", "scrapped", "seconds"):
            open_now.pop((record.lot, record.operation), None)
    assert len(open_now) > 0
    assert sorted(part.between(0, first).records, key=str) == sorted(open_now.values(), key=str)


def test_the_last_word_on_a_piece_and_an_operation_counts() -> None:
    def row(time: int, event: int, serial: int, operation: int) -> list[int]:
        cells = [0] * r.LOG_WIDTH
        cells[r.L_TIME], cells[r.L_EVENT], cells[r.L_SERIAL], cells[r.L_OPERATION] = time, event, serial, operation
        return cells

    starts, ends, lost = 3, 4, 7
    log = np.array(
        [
            row(1, starts, 1, 50), row(2, starts, 2, 50), row(3, ends, 1, 50), row(4, starts, 1, 50),
            row(5, lost, 2, 50), row(6, starts, 3, 60), row(7, ends, 3, 60), row(8, 2, 4, 50),
        ],
        dtype=np.int64,
    )  # fmt: skip
    assert still_under_way(log)[:, r.L_TIME].tolist() == [4], "begun again after rework; the others ended or were lost"
    assert len(still_under_way(log[:0])) == 0
