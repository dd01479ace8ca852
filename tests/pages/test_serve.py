"""The server itself, as a person starts it: it answers at once, tells runs as they go, and leaves nothing behind."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from linewright.pages.serve import listening

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
pytestmark = pytest.mark.skipif(os.name != "posix", reason="the test counts processes as POSIX systems do")


class Served:
    """A server that runs, asked over the network of this machine."""

    def __init__(self, folder: Path, *more: str) -> None:
        code = "from linewright.cli.main import main; main()"
        command = [sys.executable, "-c", code, "serve", str(folder), "--no-browser", *more]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        found = re.match(r"(http://127\.0\.0\.1:\d+)/ ", line)
        assert found is not None, f"{line} {self.process.stderr.read() if self.process.stderr else ''}"
        self.address = found[1]
        page = self.ask("GET", "/").decode()
        token = re.search(r'name="linewright-token" content="([^"]+)"', page)
        assert token is not None
        self.token = token[1]

    def open(self, method: str, path: str, data: Any = None) -> Any:
        headers = {"content-type": "application/json"}
        if method != "GET":
            headers["x-linewright-token"] = self.token
        body = json.dumps(data).encode() if data is not None else None
        return urllib.request.urlopen(
            urllib.request.Request(self.address + path, body, headers, method=method), timeout=60
        )

    def ask(self, method: str, path: str, data: Any = None) -> bytes:
        with self.open(method, path, data) as reply:
            read: bytes = reply.read()
            return read

    def below(self) -> list[int]:
        """Every process that the server began and that still runs."""
        found, waiting = [], [self.process.pid]
        while waiting:
            here = waiting.pop()
            lists = Path(f"/proc/{here}/task").glob("*/children")  # each thread has its own
            children = [int(child) for own in lists for child in own.read_text().split()]
            found += children
            waiting += children
        return found


@pytest.fixture
def served() -> Iterator[Served]:
    server = Served(EXAMPLES)
    try:
        yield server
    finally:
        server.process.kill()
        server.process.communicate()


def runs(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def gone(pids: list[int], seconds: float) -> bool:
    until = time.monotonic() + seconds
    while any(runs(pid) for pid in pids):
        if time.monotonic() > until:
            return False
        time.sleep(0.1)
    return True


def long_run(served: Served) -> str:
    text = json.loads(served.ask("GET", "/api/plan/trailer"))["text"]
    asked = {"name": "trailer", "text": text, "kind": "simulate", "options": {"seconds": 300, "half_width": 0.0005}}
    run: str = json.loads(served.ask("POST", "/api/runs", asked))["run"]
    return run


def test_events_come_as_they_happen_and_others_are_served_meanwhile(served: Served) -> None:
    run = long_run(served)
    with served.open("GET", f"/api/runs/{run}/events") as stream:
        seen = ""
        while "event: progress" not in seen:
            seen += stream.readline().decode()
        began = time.monotonic()
        assert json.loads(served.ask("GET", "/api/plans"))
        assert time.monotonic() - began < 5
        assert json.loads(served.ask("GET", f"/api/runs/{run}"))["state"] == "running"
        served.ask("DELETE", f"/api/runs/{run}")
        rest = stream.read().decode()
    assert "event: done" in rest or "event: failed" in rest


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="needs the process list of Linux")
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_nothing_is_left_behind(served: Served, how: signal.Signals) -> None:
    run = long_run(served)
    with served.open("GET", f"/api/runs/{run}/events") as stream:
        while b"event: progress" not in stream.readline():
            pass
        children = served.below()
        assert len(children) >= 2
        served.process.send_signal(how)
        assert gone([served.process.pid, *children], 15)
    out, err = served.process.communicate(timeout=10)
    assert "Traceback" not in out + err


def test_a_taken_port_is_told() -> None:
    ear = listening("127.0.0.1", None)
    try:
        code = "from linewright.cli.main import main; main()"
        port = str(ear.getsockname()[1])
        command = [sys.executable, "-c", code, "serve", str(EXAMPLES), "--no-browser", "--port", port]
        done = subprocess.run(command, capture_output=True, text=True, timeout=60)
    finally:
        ear.close()
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert "cannot listen" in done.stderr


def test_a_wrong_request_on_the_wire_ends_no_server(served: Served) -> None:
    import socket

    host, port = "127.0.0.1", int(served.address.rpartition(":")[2])
    for raw in (
        b"GET / HTTP/1.1\r\n\r\n", b"\x00\xff" * 50, b"GET /" + b"a" * 100_000 + b" HTTP/1.1\r\n\r\n",
        b"POST /api/check HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n",
        b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n",
        b"GET http://evil.example/ HTTP/1.1\r\nHost: evil.example\r\n\r\n",
        b"POST /api/check HTTP/1.1\r\nHost: x\r\nContent-Length: -5\r\n\r\n",
    ):  # fmt: skip
        with socket.create_connection((host, port), timeout=10) as line:
            line.sendall(raw)
            line.shutdown(socket.SHUT_WR)
            reply = line.recv(4000)
            assert b" 200 " not in reply.split(b"\r\n")[0]
    assert served.ask("GET", "/")
    served.token = "wrong"
    with pytest.raises(urllib.error.HTTPError, match="403"):
        served.ask("POST", "/api/check", {"name": "trailer", "text": ""})
