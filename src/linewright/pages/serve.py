"""Serving the pages: a free port on this machine, the address said once it answers, everything ended with Ctrl-C."""

from __future__ import annotations

import ipaddress
import secrets
import socket
from collections.abc import Callable
from pathlib import Path

from linewright.pages.app import make_app
from linewright.pages.guard import Rules

PORT = 8750
TRIED = 20


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach a host.

    >>> is_loopback("127.0.0.1"), is_loopback("localhost"), is_loopback("0.0.0.0")
    (True, True, False)
    """
    try:
        return host == "localhost" or ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def listening(host: str, port: int | None) -> socket.socket:
    """A socket at the port, or at the first free one from ``PORT`` on. Raises OSError where there is none."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    wanted = [port] if port is not None else [*range(PORT, PORT + TRIED), 0]
    for number in wanted:
        ear = socket.socket(family, socket.SOCK_STREAM)
        try:
            if number:
                ear.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            ear.bind((host, number))
            ear.listen(64)
        except OSError:
            ear.close()
            if number == wanted[-1]:
                raise
        else:
            return ear
    raise OSError("no port is free")


def serve(
    root: str | Path, *, host: str = "127.0.0.1", port: int | None = None, told: Callable[[str], None] | None = None
) -> None:
    """Serve the plans below ``root`` until interrupted. ``told`` is called with the address once it answers.

    Raises OSError where the port is taken.
    """
    import uvicorn

    host = "127.0.0.1" if host == "localhost" else host
    ear = listening(host, port)
    number = int(ear.getsockname()[1])
    near = is_loopback(host)
    names = frozenset() if near else frozenset({host.lower(), socket.gethostname().lower()})
    rules = Rules(secrets.token_urlsafe(24), number, names, far=not near, key="" if near else secrets.token_urlsafe(16))
    app = make_app(root, rules)
    shown = f"[{host}]" if ":" in host else host
    address = f"http://{shown}:{number}/" + (f"?key={rules.key}" if rules.key else "")

    class Server(uvicorn.Server):
        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            if told is not None and self.started:
                told(address)

        async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
            app.end()  # first, so that streams come to their end and nothing waits for them
            await super().shutdown(sockets)

    config = uvicorn.Config(
        app, log_level="warning", access_log=False, server_header=False, date_header=False, ws="none", http="h11",
        loop="asyncio", lifespan="on", timeout_keep_alive=30, timeout_graceful_shutdown=2, limit_concurrency=100,
        h11_max_incomplete_event_size=32_768,
    )  # fmt: skip
    Server(config).run([ear])
