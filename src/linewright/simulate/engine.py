"""One replication: the kernel's memory, let run up to a time, looked at, grown when it asks for more, run on.

A replication can be stopped between any two events and goes on where it was. Compiled or not, the bits are the same.
"""

from __future__ import annotations

import ctypes

import numpy as np

from linewright.network.model import Floats, Ints
from linewright.simulate.kernel import compiled, run
from linewright.simulate.kernel import rows as r
from linewright.simulate.memory import Checked, Template, grown

MOST_ROWS = 500_000
"""Pieces, people at work and benches in use at once; much more is refused: each replication would take a gigabyte."""


class TooMuchError(Exception):
    """The plant holds more than the engine takes: work piles up without end."""


class EndlessInstantError(Exception):
    """Work goes on for ever without the clock moving; ``operation`` is the row of one that takes part."""

    def __init__(self, operation: int) -> None:
        super().__init__(operation)
        self.operation = operation


class Engine:
    """The memory of one replication and the door into the kernel."""

    def __init__(
        self,
        template: Template,
        *,
        seed: int,
        replication: int,
        tracing: bool = False,
        still: bool = False,
        rows: int = 512,
        log: int = 4096,
        compiler: bool | None = None,
    ) -> None:
        self.fixed = template.fixed
        size = template.fixed + rows * r.WIDTH
        self.m = grown(template.m, size)
        self.x = grown(template.x, size)
        self.h = np.zeros(3 * (self._event_rows(size) + 2), dtype=np.int64)
        self.log = np.zeros(log * r.LOG_WIDTH, dtype=np.int64)
        self.compiler = compiler if compiler is not None else not compiled.without_compiler()
        self.m[r.END] = size
        self.m[r.NEXT_ROW] = template.fixed
        self.m[r.ROWS_LEFT] = rows
        self._set_log_room()
        self.m[r.SEED] = seed & 0xFFFFFFFF
        self.m[r.REPLICATION] = replication
        self.m[r.TRACING] = int(tracing)
        self.m[r.STILL] = int(still)
        self._call(run.OPEN_UP, 0, 0)

    def _event_rows(self, size: int) -> int:
        """At most so many rows can have an event: each row that comes and goes, and the fixed ones."""
        return self.fixed // 4 + (size - self.fixed) // r.WIDTH

    def _call(self, task: int, until: int, budget: int) -> int:
        if self.compiler:
            return self._call_compiled(task, until, budget)
        lists = [Checked(array.tolist()) for array in (self.m, self.x, self.h, self.log)]
        answer = run.enter(lists[0], lists[1], lists[2], lists[3], task, until, budget)
        for array, cells in zip((self.m, self.x, self.h, self.log), lists, strict=True):
            array[:] = cells.cells
        return answer

    def _call_compiled(self, task: int, until: int, budget: int) -> int:
        whole, real = ctypes.c_int64, ctypes.c_double
        return int(
            compiled.machine_code()(
                compiled.pointer(self.m, whole),
                compiled.pointer(self.x, real),
                compiled.pointer(self.h, whole),
                compiled.pointer(self.log, whole),
                task,
                until,
                budget,
            )
        )

    def advance(self, until: int, budget: int = 2_000_000) -> bool:
        """Let time pass up to ``until`` ns; False where ``budget`` events did not suffice (call again).

        Raises TooMuchError and EndlessInstantError.
        """
        while True:
            answer = self._call(run.ADVANCE, until, budget)
            if answer == r.DONE:
                return True
            if answer == r.MORE:
                return False
            if answer == r.FULL_ROWS:
                self._more_rows()
            elif answer == r.FULL_LOG:
                self.log = grown(self.log, 2 * len(self.log) + 8 * int(self.m[r.MARGIN]) * r.LOG_WIDTH)
                self._set_log_room()
            else:
                raise EndlessInstantError(self._busy_operation())

    def _set_log_room(self) -> None:
        self.m[r.LOG_ROOM] = len(self.log) // r.LOG_WIDTH
        self.m[r.LOG_SAFE] = self.m[r.LOG_ROOM] - 4 * self.m[r.MARGIN]

    def _more_rows(self) -> None:
        rows = (len(self.m) - self.fixed) // r.WIDTH
        if rows > MOST_ROWS:
            raise TooMuchError
        size = self.fixed + (2 * rows + 2 * int(self.m[r.MARGIN])) * r.WIDTH
        self.m, self.x = grown(self.m, size), grown(self.x, size)
        self.h = grown(self.h, 3 * (self._event_rows(size) + 2))
        self.m[r.END] = size
        self.m[r.ROWS_LEFT] += (size - self.fixed) // r.WIDTH - rows

    def _busy_operation(self) -> int:
        first, count = int(self.m[r.OPERATIONS]), int(self.m[r.OPERATIONS + 1])
        runs = self.x[first + r.O_RUNS : first + count * r.O_WIDTH : r.O_WIDTH]
        return int(np.argmax(runs)) if len(runs) else 0

    def settle(self) -> None:
        """Bring the accounts up to the present."""
        self._call(run.SETTLE, 0, 0)

    @property
    def now(self) -> int:
        """The time in ns."""
        return int(self.m[r.NOW])

    @property
    def events(self) -> int:
        """Events that have happened."""
        return int(self.m[r.EVENTS])

    def rows_of(self, kind: int) -> Ints:
        """Bases of the rows of a kind that came while the engine ran: pieces, holds, lots, places at benches."""
        bases = np.arange(self.fixed, int(self.m[r.NEXT_ROW]), r.WIDTH)
        found: Ints = bases[self.m[bases] == kind]
        return found

    def take_log(self) -> Ints:
        """The records written so far [n, 8]; they are taken off."""
        size = int(self.m[r.LOG_SIZE])
        self.m[r.LOG_SIZE] = 0
        found: Ints = self.log[: size * r.LOG_WIDTH].reshape(size, r.LOG_WIDTH).copy()
        return found

    def amounts(self, bases: Ints, column: int) -> Floats:
        """One column of real numbers of several rows."""
        values: Floats = self.x[bases + column]
        return values
