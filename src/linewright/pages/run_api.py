"""Comparing and running, as the pages ask for it; what a run tells comes as a stream of events."""

from __future__ import annotations

from collections.abc import AsyncIterator
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import BaseRoute, Route

from linewright.pages.asked import Asked, asked
from linewright.pages.desk import Desk, desk
from linewright.pages.limits import ANSWER_SECONDS
from linewright.pages.refused import RefusedError
from linewright.pages.runs import Run

KINDS = ("simulate", "compare", "improve", "trace", "balance")


def _side(here: Desk, name: str, ask: Asked, key: str) -> dict[str, str]:
    """One side of a comparison: a text that was sent, a version by its label, or what stands on the disk."""
    part = ask.part(key)
    if part.has("text"):
        return {"label": part.text("label", key), "text": part.text("text")}
    if part.has("label"):
        label = part.text("label")
        return {"label": label, "text": here.folder.version(name, label).text}
    return {"label": "as saved", "text": here.folder.read(name).text}


async def compare(request: Request) -> Response:
    """Two texts of a plan side by side, by the fast engines."""
    here, ask = desk(request), await asked(request)
    name = ask.text("name")
    file = str(here.folder.file(name))
    a, b = (_side(here, name, ask, key) for key in ("a", "b"))
    done = await here.slow.do("compare", ANSWER_SECONDS, instead=f"compare {name}", file=file, a=a, b=b)
    return Response(done, media_type="application/json")


async def begin(request: Request) -> Response:
    """GET: every run that is remembered. POST: a new one."""
    here = desk(request)
    if request.method == "GET":
        return JSONResponse([run.told() for run in here.runs.runs.values()])
    ask = await asked(request)
    kind, name = ask.text("kind"), ask.text("name")
    if kind not in KINDS:
        raise RefusedError(400, f"a run is one of {', '.join(KINDS)}")
    told: dict[str, Any] = {"file": str(here.folder.file(name)), "options": ask.table("options")}
    if kind == "compare":
        source = ask if ask.has("a") or ask.has("b") else ask.part("options")
        told |= {key: _side(here, name, source, key) for key in ("a", "b")}
    else:
        told["text"] = ask.text("text")
    return JSONResponse({"run": here.runs.begin(kind, name, **told).id}, 202)


async def run(request: Request) -> Response:
    """GET: how a run is. DELETE: ask it to stop."""
    here, id = desk(request), request.path_params["run"]
    found = here.runs.stop(id) if request.method == "DELETE" else here.runs.get(id)
    return JSONResponse(found.told())


async def events(request: Request) -> Response:
    """What a run tells, as it tells it; a browser that comes back goes on where it was."""
    found = desk(request).runs.get(request.path_params["run"])
    last = request.headers.get("last-event-id", "0")
    after = int(last) if last.isascii() and last.isdigit() and len(last) < 10 else 0
    return StreamingResponse(_stream(found, after), media_type="text/event-stream")


async def _stream(run: Run, after: int) -> AsyncIterator[bytes]:
    yield b"retry: 1000\n\n"
    async for event in run.follow(after):
        if event is None:
            yield b": still here\n\n"
        else:
            yield b"id: %d\nevent: %s\ndata: %s\n\n" % (event.number, event.kind.encode(), event.data)


ROUTES: list[BaseRoute] = [
    Route("/api/compare", compare, methods=["POST"]),
    Route("/api/runs", begin, methods=["GET", "POST"]),
    Route("/api/runs/{run}", run, methods=["GET", "DELETE"]),
    Route("/api/runs/{run}/events", events),
]
