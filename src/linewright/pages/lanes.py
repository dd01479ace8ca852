"""Working processes beside the server: what takes time or could go wild is done there and never in the server itself.

A lane is one process that does one thing after the other and lives on, so that its caches stay warm. What does not end
in time is ended with its process, and the next request finds a fresh one.
"""

from __future__ import annotations

import asyncio
import multiprocessing
import threading
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

from linewright.pages.child import settle
from linewright.pages.refused import RefusedError

SUPERSEDED = 200
"""No fault of anybody: the page that asked has already asked again."""
READY = "ready"
BEGINNING = 60.0
"""Seconds that a process has to begin; they do not count against what it is asked to do."""
_SPAWN = multiprocessing.get_context("spawn")


def _live(channel: Connection, root: str, lane: str) -> None:
    """The life of a lane's process: take a request, do it, send the reply; end when the server has gone."""
    settle()
    from linewright.pages import work

    work.confine(root)
    work.get_ready(lane)
    if not _sent(channel, READY):
        return
    while True:
        try:
            name, arguments = channel.recv()
        except (EOFError, KeyboardInterrupt):
            return
        try:
            reply: Any = work.WORKS[name](**arguments)
        except RefusedError as refused:
            reply = refused
        except MemoryError:
            reply = RefusedError(422, "this needs more memory than the pages allow")
        except RecursionError:
            reply = RefusedError(422, "this is nested too deeply")
        except Exception as fault:  # a fault of ours: told, and the lane goes on
            words = str(fault).split("\n")[0][:300]
            reply = RefusedError(500, f"Linewright itself failed: {type(fault).__name__}: {words}")
        if not _sent(channel, reply):
            return


def _sent(channel: Connection, what: Any) -> bool:
    """Send something; False where nobody listens any more."""
    try:
        channel.send(what)
    except OSError:
        return False
    return True


@dataclass(slots=True)
class Lane:
    """One working process for the plans below ``root``, begun when first needed."""

    root: str
    name: str
    _process: BaseProcess | None = None
    _channel: Connection | None = None
    _closed: bool = False
    _turn: asyncio.Lock = field(default_factory=asyncio.Lock)
    _ending: threading.Lock = field(default_factory=threading.Lock)
    _waiting: dict[str, object] = field(default_factory=dict)

    async def do(self, work: str, seconds: float, *, instead: str = "", **arguments: Any) -> Any:
        """The result of a work, done in its turn.

        A request that waits is refused when another with the same ``instead`` comes: nobody looks at it any more.
        Raises RefusedError where the work refuses, takes too long or ends its process.
        """
        ticket = object()
        if instead:
            self._waiting[instead] = ticket
        async with self._turn:
            if instead and self._waiting.get(instead) is not ticket:
                raise RefusedError(SUPERSEDED, "a newer request has taken its place", superseded=True)
            try:
                reply = await asyncio.shield(asyncio.to_thread(self._do, work, arguments, seconds))
            finally:
                if instead and self._waiting.get(instead) is ticket:
                    del self._waiting[instead]
            if isinstance(reply, RefusedError):
                raise reply
            return reply

    def _do(self, work: str, arguments: dict[str, Any], seconds: float) -> Any:
        """What the process replies, a RefusedError where it refuses or ends: nobody may be left to raise it to."""
        try:
            channel = self._begun()
            channel.send((work, arguments))
            if channel.poll(seconds):
                return channel.recv()
        except (EOFError, OSError):
            self.end()
            return RefusedError(503, "its process came to an end, perhaps for want of memory")
        self.end()
        return RefusedError(503, f"this took more than {seconds:.0f} s and was ended; the plan is as it was")

    def _begun(self) -> Connection:
        """The way to the process, which is begun where there is none."""
        process, channel = self._process, self._channel
        if process is not None and channel is not None and process.is_alive():
            return channel
        self.end()
        if self._closed:
            raise OSError("the server ends")
        ours, theirs = _SPAWN.Pipe()
        given = (theirs, self.root, self.name)
        begun = _SPAWN.Process(target=_live, args=given, name=f"linewright-{self.name}", daemon=True)
        begun.start()
        theirs.close()
        self._process, self._channel = begun, ours
        if not ours.poll(BEGINNING) or ours.recv() != READY:
            raise OSError("it did not begin")
        return ours

    def end(self) -> None:
        """End the process, whatever it does."""
        with self._ending:
            process, channel = self._process, self._channel
            self._process = self._channel = None
        if process is not None:
            process.kill()
            process.join(5)
        if channel is not None:
            channel.close()

    def close(self) -> None:
        """End the process for good."""
        self._closed = True
        self.end()
