"""Runs: simulations and searches that take their time, each in a process of its own that can be ended at any moment.

A run is asked for, waits its turn, tells how far it is, may hand over parts, and ends with a result, a reason, or on
request. What it told is kept for a while, so a page that was loaded again finds it where it was.
"""

from __future__ import annotations

import asyncio
import json
import multiprocessing
import secrets
import time
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from typing import Any

from linewright.pages.limits import GRACE, LONGEST_RUN, RUNS_AT_ONCE, RUNS_KEPT, RUNS_WAITING
from linewright.pages.refused import RefusedError

_SPAWN = multiprocessing.get_context("spawn")
ALIVE = 10.0
"""Seconds after which a quiet stream says that it is still there."""
OVER = ("done", "failed", "stopped")


@dataclass(frozen=True, slots=True)
class Event:
    """Something that a run told; ``data`` is JSON on one line."""

    number: int
    kind: str
    data: bytes


@dataclass(slots=True)
class Run:
    """One run and all that it told. Of progress and of parts only the last is kept."""

    id: str
    kind: str
    name: str
    state: str = "waiting"
    events: list[Event] = field(default_factory=list)
    stopping: float | None = None
    count: int = 0
    changed: asyncio.Condition = field(default_factory=asyncio.Condition)

    @property
    def over(self) -> bool:
        """Whether it has ended."""
        return self.state in OVER

    def told(self) -> dict[str, Any]:
        """Its state."""
        last = next((e for e in reversed(self.events) if e.kind == "progress"), None)
        progress = json.loads(last.data) if last is not None else None
        return {"run": self.id, "kind": self.kind, "name": self.name, "state": self.state, "progress": progress}

    async def tell(self, kind: str, data: bytes, state: str = "") -> None:
        """Add an event, the last one with the state that it ends in, and wake all who follow."""
        async with self.changed:
            self.state = state or self.state
            if kind in ("progress", "partial"):
                self.events = [event for event in self.events if event.kind != kind]
            self.count += 1
            self.events.append(Event(self.count, kind, data))
            self.changed.notify_all()

    async def follow(self, after: int = 0) -> AsyncIterator[Event | None]:
        """Every event after a number until the run is over; None now and then while nothing happens."""
        while True:
            fresh = [event for event in self.events if event.number > after]
            for event in fresh:
                after = event.number
                yield event
            if fresh:
                continue
            if self.over:
                return
            try:
                async with asyncio.timeout(ALIVE):
                    async with self.changed:
                        await self.changed.wait_for(lambda: self.count > after or self.over)  # noqa: B023
            except TimeoutError:
                yield None


class Runs:
    """All runs of a server."""

    def __init__(self, root: str) -> None:
        self.root = root
        self.runs: dict[str, Run] = {}
        self._turns = asyncio.Semaphore(RUNS_AT_ONCE)
        self._tasks: dict[str, asyncio.Task[None]] = {}
        self._processes: dict[str, Any] = {}

    def get(self, id: str) -> Run:
        """A run. Raises RefusedError where there is none."""
        run = self.runs.get(id)
        if run is None:
            raise RefusedError(404, "there is no such run")
        return run

    def begin(self, kind: str, name: str, **arguments: Any) -> Run:
        """Ask for a run; it begins when it is its turn."""
        open_runs = [run for run in self.runs.values() if not run.over]
        if len(open_runs) >= RUNS_AT_ONCE + RUNS_WAITING:
            raise RefusedError(429, "so many runs wait already; stop some of them first")
        run = Run(secrets.token_urlsafe(9), kind, name)
        self.runs[run.id] = run
        self._forget()
        self._tasks[run.id] = asyncio.create_task(self._live(run, arguments))
        return run

    def _forget(self) -> None:
        """Forget the oldest runs that are over."""
        over = [id for id, run in self.runs.items() if run.over]
        for id in over[: max(len(self.runs) - RUNS_KEPT, 0)]:
            del self.runs[id]

    def stop(self, id: str) -> Run:
        """Ask a run to stop: it has a moment to hand over what is done, then it is ended."""
        run = self.get(id)
        if not run.over and run.stopping is None:
            run.stopping = time.monotonic()
            if run.state == "waiting":
                self._tasks[id].cancel()
        return run

    async def _live(self, run: Run, arguments: dict[str, Any]) -> None:
        try:
            async with self._turns:
                run.state = "running"
                await self._work(run, arguments)
        except asyncio.CancelledError:
            await run.tell("failed", _said("stopped before it began", stopped=True), "stopped")
        finally:
            self._tasks.pop(run.id, None)

    async def _work(self, run: Run, arguments: dict[str, Any]) -> None:
        ours, theirs = _SPAWN.Pipe()
        given = ("linewright.pages.play", theirs, self.root, run.kind, arguments)
        process = _SPAWN.Process(target=_begin, args=given, name=f"linewright-{run.kind}", daemon=True)
        await asyncio.to_thread(process.start)
        theirs.close()
        self._processes[run.id] = process
        try:
            kind, data = await self._listen(run, ours)
        finally:
            self._processes.pop(run.id, None)
            process.kill()
            await asyncio.to_thread(process.join, 5)
            code = process.exitcode
            process.close()
            ours.close()
        if kind == "lost":
            kind, data = "failed", _said(_why(code, stopped=run.stopping is not None), stopped=run.stopping is not None)
        ended = "stopped" if run.stopping is not None else "failed"
        await run.tell(kind, data, "done" if kind == "done" else ended)

    async def _listen(self, run: Run, channel: Connection) -> tuple[str, bytes]:
        """Pass on what the process tells, until its last word; "lost" where there is none."""
        until = time.monotonic() + LONGEST_RUN
        asked = False
        while True:
            now = time.monotonic()
            if now > until:
                return "failed", _said(f"took more than {LONGEST_RUN / 60:.0f} min and was ended")
            if run.stopping is not None:
                if not asked:
                    asked = True
                    _ask_to_stop(channel)
                if now - run.stopping > GRACE:
                    return "failed", _said("stopped", stopped=True)
            try:
                message = await asyncio.to_thread(_next, channel, 0.2)
            except (EOFError, OSError):
                return "lost", b""
            if message is None:
                continue
            kind, data = message
            if kind in ("done", "failed"):
                return kind, data
            await run.tell(kind, data)

    def end(self) -> None:
        """End every process; nothing is left behind, and whoever follows a run is told."""
        for run in self.runs.values():
            self.stop(run.id)
        for process in list(self._processes.values()):
            process.kill()


def _begin(module: str, channel: Connection, root: str, kind: str, arguments: dict[str, Any]) -> None:
    """The first thing that a new process does: settle, and only then import what is heavy."""
    from importlib import import_module

    from linewright.pages.child import settle

    settle(gently=True)
    import_module(module).live(channel, root, kind, arguments)


def _next(channel: Connection, seconds: float) -> tuple[str, bytes] | None:
    if not channel.poll(seconds):
        return None
    kind, data = channel.recv()
    return str(kind), bytes(data)


def _ask_to_stop(channel: Connection) -> None:
    try:
        channel.send("stop")
    except OSError:
        return


def _said(error: str, *, stopped: bool = False) -> bytes:
    return json.dumps({"error": error, "stopped": stopped}).encode()


def _why(code: int | None, *, stopped: bool) -> str:
    if stopped:
        return "stopped"
    return f"its process came to an end (code {code}), perhaps for want of memory"
