"""How long does a person wait for the pages, and how much memory do they take?

A server is started as a person starts it, on a copy of the examples, and asked over the network of this machine: the
first page and the first answer after the start, then a check, an edit and an answer to a plan of 145 operations, each
with a text that was not seen before. Beside the check stands the parse of the same text by tomllib, which nobody can
be faster than; beside the edit the parse by tomlkit, which keeps comments. A run is a simulation of one second asked
for, from the request to the first progress and to the end.
Run: python benchmarks/pages.py [--quick] [--json]
"""

from __future__ import annotations

import itertools
import json
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
import tomllib
import urllib.request
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))
from common import Measured, median, run

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
PLAN = "boot"


class Client:
    """Asks a server as the page does."""

    def __init__(self, address: str) -> None:
        self.address, self.token = address, ""
        found = re.search(r'name="linewright-token" content="([^"]+)"', self.get("/").decode())
        assert found is not None
        self.token = found[1]

    def get(self, path: str) -> bytes:
        return self.open("GET", path).read()

    def post(self, path: str, data: Any) -> Any:
        return json.loads(self.open("POST", path, data).read())

    def open(self, method: str, path: str, data: Any = None) -> Any:
        headers = {"content-type": "application/json", "x-linewright-token": self.token}
        body = json.dumps(data).encode() if data is not None else None
        return urllib.request.urlopen(urllib.request.Request(self.address + path, body, headers, method=method))


def megabytes(pid: int) -> float:
    """Memory held by a process and all below it, shared pages counted once (Linux; 0 elsewhere)."""
    total, waiting = 0.0, [pid]
    while waiting:
        here = Path(f"/proc/{waiting.pop()}")
        try:
            found = re.search(r"^Pss:\s+(\d+)", (here / "smaps_rollup").read_text(), re.MULTILINE)
            total += int(found[1]) / 1024 if found else 0.0
            waiting += [int(child) for own in here.glob("task/*/children") for child in own.read_text().split()]
        except OSError:
            continue
    return total


def measure(quick: bool) -> Measured:
    """All timings."""
    times = 5 if quick else 25
    with tempfile.TemporaryDirectory() as folder:
        for file in EXAMPLES.iterdir():
            if file.suffix in (".toml", ".csv"):
                shutil.copy(file, folder)
        begun = time.perf_counter()
        code = "from linewright.cli.main import main; main()"
        command = [sys.executable, "-c", code, "serve", folder, "--no-browser"]
        server = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        try:
            assert server.stdout is not None
            address = server.stdout.readline().split()[0].rstrip("/")
            ready = time.perf_counter() - begun
            return {"start_seconds": ready, **asked(address, server.pid, times)}
        finally:
            server.terminate()
            server.wait()


def asked(address: str, pid: int, times: int) -> Measured:
    """What a page waits for."""
    import tomlkit

    begun = time.perf_counter()
    client = Client(address)
    first_page = time.perf_counter() - begun
    text = json.loads(client.get(f"/api/plan/{PLAN}"))["text"]
    number = itertools.count()

    def new() -> dict[str, Any]:
        wanted = f'demand = "{120 + next(number)} pair/day"'
        return {"name": PLAN, "text": text.replace('demand = "120 pair/day"', wanted)}

    begun = time.perf_counter()
    found = client.post("/api/answer", new())
    first_answer = time.perf_counter() - begun
    assert found["sections"]
    change = {"path": "routes.boot.operations[11].time", "text": "43 s"}
    timings: dict[str, list[float]] = {}
    for _ in range(times):
        for name, work in (
            ("check", lambda: client.post("/api/check", new())),
            ("edit", lambda: client.post("/api/edit", {**new(), "change": change})),
            ("answer", lambda: client.post("/api/answer", {**new(), "open": ["rate"]})),
            ("whole_answer", lambda: client.post("/api/answer", new())),
            ("plans", lambda: client.get("/")),
        ):
            begun = time.perf_counter()
            work()
            timings.setdefault(name, []).append(time.perf_counter() - begun)
    middle = {f"{name}_seconds": statistics.median(found) for name, found in timings.items()}
    parse, keep = median(lambda: tomllib.loads(text), times), median(lambda: tomlkit.parse(text), times)
    at_rest = megabytes(pid)
    return {
        "operations": 145,
        "first_page_seconds": first_page,
        "first_answer_seconds": first_answer,
        **middle,
        "slowest_check_seconds": max(timings["check"]),
        "check_over_tomllib": middle["check_seconds"] / parse,
        "edit_over_tomlkit": middle["edit_seconds"] / keep,
        "megabytes": at_rest,
        **run_of(client, text),
    }


def run_of(client: Client, text: str) -> Measured:
    """A simulation in a process of its own."""
    begun = time.perf_counter()
    given = {"name": PLAN, "text": text, "kind": "simulate", "options": {"seconds": 1}}
    run = client.post("/api/runs", given)["run"]
    first = 0.0
    with client.open("GET", f"/api/runs/{run}/events") as stream:
        for line in stream:
            if line == b"event: progress\n" and not first:
                first = time.perf_counter() - begun
    return {"run_first_progress_seconds": first, "run_seconds": time.perf_counter() - begun}


if __name__ == "__main__":
    run(measure, __doc__)
