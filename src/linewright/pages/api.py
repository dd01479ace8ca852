"""What the pages ask of the server, in JSON: plans, checks, edits, answers, versions."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from linewright.pages.asked import asked
from linewright.pages.desk import desk
from linewright.pages.limits import CHECK_SECONDS
from linewright.pages.refused import RefusedError
from linewright.plan.scaffold import new_plan

JSON = "application/json"


def _sent(data: bytes) -> Response:
    return Response(data, media_type=JSON)


async def plans(request: Request) -> Response:
    """GET: every plan of the folder. POST: a new one, with a text or to begin with."""
    folder = desk(request).folder
    if request.method == "GET":
        return JSONResponse([asdict(one) for one in folder.listed()])
    ask = await asked(request)
    name = ask.text("name")
    text = ask.text("text") if ask.has("text") else new_plan(name.rpartition("/")[2].replace("_", " "))
    return JSONResponse({"name": name, **folder.begin(name, text)}, 201)


async def plan(request: Request) -> Response:
    """GET: the text of a plan. PUT: save it."""
    folder, name = desk(request).folder, request.path_params["name"]
    if request.method == "GET":
        found = folder.read(name)
        return JSONResponse({"text": found.text, "stamp": found.stamp, "versions": folder.versions(name)})
    ask = await asked(request)
    return JSONResponse(folder.save(name, ask.text("text"), ask.text("stamp", ""), force=ask.yes("force")))


async def check(request: Request) -> Response:
    """Problems, tables and names of a text."""
    ask = await asked(request)
    return _sent(await desk(request).check("check", ask.text("name"), ask.text("text")))


async def edit(request: Request) -> Response:
    """A text after one change, and the line of it."""
    ask = await asked(request)
    change = ask.table("change")
    return _sent(await desk(request).check("edit", ask.text("name"), ask.text("text"), change=change))


async def fields(request: Request) -> Response:
    """What may be written where; the same for every plan."""
    return _sent(await desk(request).quick.do("fields", CHECK_SECONDS))


async def answer(request: Request) -> Response:
    """What the fast engines answer to a text; with ``open`` only these sections are drawn in full."""
    ask = await asked(request)
    opened = ask.words("open") if ask.has("open") else None
    return _sent(await desk(request).answer("answer", ask.text("name"), ask.text("text"), opened=opened))


async def versions(request: Request) -> Response:
    """GET: the versions of a plan, or the text of the one that ``label`` names. POST: keep one more. DELETE: take one
    out.
    """
    folder, name = desk(request).folder, request.path_params["name"]
    label = request.query_params.get("label")
    if request.method == "DELETE":
        folder.drop(name, label or "")
        return JSONResponse({"label": label})
    if request.method == "POST":
        ask = await asked(request)
        return JSONResponse(folder.keep(name, ask.text("label"), ask.text("text"), force=ask.yes("force")), 201)
    if label is None:
        return JSONResponse(folder.versions(name))
    found = folder.version(name, label)
    return JSONResponse({"label": label, "text": found.text, "stamp": found.stamp})


async def refused(_: Request, wrong: Exception) -> Response:
    """A refusal as JSON."""
    assert isinstance(wrong, RefusedError)
    data: dict[str, Any] = wrong.body()
    return JSONResponse(data, wrong.status)


ROUTES: list[BaseRoute] = [
    Route("/api/plans", plans, methods=["GET", "POST"]),
    Route("/api/plan/{name:path}", plan, methods=["GET", "PUT"]),
    Route("/api/check", check, methods=["POST"]),
    Route("/api/edit", edit, methods=["POST"]),
    Route("/api/fields", fields),
    Route("/api/answer", answer, methods=["POST"]),
    Route("/api/versions/{name:path}", versions, methods=["GET", "POST", "DELETE"]),
]
