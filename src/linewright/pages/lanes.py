"""Working processes beside the server: what takes time or could go wild is done there and never in the server itself.

A lane is one process that does one thing after the other and lives on, so that its caches stay warm. What does not end
in time is ended with its process, and the next request finds a fresh one.
"""

from __future__ import annotations

import asyncio
import multiprocessing
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
    channel.send(READY)
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
        try:
            channel.send(reply)
        except (BrokenPipeError, OSError):
            return


@dataclass(slots=True)
class Lane:
    """One working process for the plans below ``root``, begun when first needed."""

    root: str
    name: str
    _process: BaseProcess | None = None
    _channel: Connection | None = None
    _turn: asyncio.Lock = field(default_factory=asyncio.Lock)
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
                return await asyncio.shield(asyncio.to_thread(self._do, work, arguments, seconds))
            finally:
                if instead and self._waiting.get(instead) is ticket:
                    del self._waiting[instead]

    def _do(self, work: str, arguments: dict[str, Any], seconds: float) -> Any:
        try:
            channel = self._begun()
            channel.send((work, arguments))
            if not channel.poll(seconds):
                self.end()
                raise RefusedError(503, f"this took more than {seconds:.0f} s and was ended; the plan is as it was")
            reply = channel.recv()
        except (EOFError, OSError):
            self.end()
            raise RefusedError(503, "its process came to an end, perhaps for want of memory") from None
        if isinstance(reply, RefusedError):
            raise reply
        return reply

    def _begun(self) -> Connection:
        if self._process is None or not self._process.is_alive() or self._channel is None:
            self.end()
            self._channel, theirs = _SPAWN.Pipe()
            self._process = _SPAWN.Process(
                target=_live, args=(theirs, self.root, self.name), name=f"linewright-{self.name}", daemon=True
            )
            self._process.start()
            theirs.close()
            if not self._channel.poll(BEGINNING) or self._channel.recv() != READY:
                raise OSError("it did not begin")
        return self._channel

    def end(self) -> None:
        """End the process, whatever it does."""
        if self._process is not None:
            self._process.kill()
            self._process.join(5)
            self._process.close()
        if self._channel is not None:
            self._channel.close()
        self._process = self._channel = None
