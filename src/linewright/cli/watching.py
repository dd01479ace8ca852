"""While a simulation runs: a bar on the terminal, and Ctrl-C that keeps what is done instead of losing it.

The first Ctrl-C asks the engine to stop and to answer with the replications that are finished; a second one ends the
program at once. The bar goes to the standard error and only where that is a terminal, so that output can be piped.
"""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from linewright.base.results import Interval

FIRST_TIME = 1.5
"""Seconds without a replication after which the bar explains itself: the engine is compiled once on every machine."""


class Watch:
    """What a running simulation calls: ``progress`` after each replication, ``stop`` whenever it can end."""

    def __init__(self, doing: str = "simulating") -> None:
        self.doing = doing
        self.stopped = False
        self._bar: Any = None
        self._task: Any = None
        self._way = ""

    def stop(self) -> bool:
        """Whether the user asked to stop."""
        return self.stopped

    def progress(self, way: str, done: int, wanted: int, rate: Interval | None) -> None:
        """Show how far it is."""
        if self._bar is None:
            return
        from linewright.base.results import show_interval

        self._way = way
        said = f"{show_interval(rate)} a day" if rate is not None and done > 1 else ""
        self._bar.update(self._task, description=f"simulating, {way}", completed=done, total=wanted, rate=said)

    def step(self, what: str, done: int, wanted: int) -> None:
        """Show how far one step of several is."""
        self._way = what
        if self._bar is not None:
            self._bar.update(self._task, description=f"{self.doing}, {what}", completed=done, total=wanted, rate="")

    def say(self, doing: str) -> None:
        """Show what is being done, where there is nothing to count."""
        self._way = doing
        if self._bar is not None:
            self._bar.update(self._task, description=doing)

    def asked_to_stop(self, _signal: int, _frame: FrameType | None) -> None:
        """Ctrl-C: once to keep what is done, twice to leave."""
        if self.stopped:
            raise KeyboardInterrupt
        self.stopped = True
        if self._bar is not None:
            self._bar.update(self._task, description="stopping, keeping what is done")

    def _explain(self, over: threading.Event) -> None:
        if not over.wait(FIRST_TIME) and not self._way and not self.stopped:
            self._bar.update(self._task, description="making the engine ready (once on every machine)")

    @contextmanager
    def _shown(self) -> Iterator[None]:
        if not sys.stderr.isatty():
            yield
            return
        from rich.console import Console
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, SpinnerColumn, TextColumn

        columns = (
            SpinnerColumn(), TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(),
            TextColumn("{task.fields[rate]}", style="dim"),
        )  # fmt: skip
        over = threading.Event()
        with Progress(*columns, console=Console(stderr=True), transient=True) as self._bar:
            self._task = self._bar.add_task(self.doing, total=None, rate="")
            threading.Thread(target=self._explain, args=(over,), daemon=True).start()
            try:
                yield
            finally:
                over.set()
                self._way = self._way or "done"
        self._bar = None


@contextmanager
def watching(doing: str = "simulating") -> Iterator[Watch]:
    """A watch that is on while the block runs; signals are caught in the main thread only.

    Raises KeyboardInterrupt where it was stopped before there was anything to keep.
    """
    from linewright.base.problems import ProblemsError

    watch = Watch(doing)
    catches = threading.current_thread() is threading.main_thread()
    before = signal.signal(signal.SIGINT, watch.asked_to_stop) if catches else None
    try:
        with watch._shown():
            yield watch
    except ProblemsError:
        if watch.stopped:  # before anything was done
            raise KeyboardInterrupt from None
        raise
    finally:
        if catches:
            signal.signal(signal.SIGINT, before)
