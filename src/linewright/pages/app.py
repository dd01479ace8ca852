"""The application: its routes, the guard around it, and what begins and ends with it."""

from __future__ import annotations

import secrets
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.types import ASGIApp

from linewright.pages import api, print_views, run_api, views
from linewright.pages.desk import Desk, desk_for
from linewright.pages.guard import Guard, Rules
from linewright.pages.refused import RefusedError


class Pages(Guard):
    """The application with the guard around it, and what it holds."""

    def __init__(self, app: ASGIApp, rules: Rules, things: Desk) -> None:
        super().__init__(app, rules)
        self.desk = things

    def end(self) -> None:
        """End every process beside the server."""
        self.desk.end()


def make_app(root: str | Path, rules: Rules | None = None, *, port: int = 8750) -> Pages:
    """The pages for the plans below ``root``; ``rules`` say who may ask (by default whoever is on this machine)."""
    rules = rules if rules is not None else Rules(token="", port=port)
    rules = rules if rules.token else replace(rules, token=secrets.token_urlsafe(24))
    things = desk_for(root, rules.token)

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        things.warm()
        try:
            yield
        finally:
            things.end()

    app = Starlette(
        routes=[*api.ROUTES, *run_api.ROUTES, *print_views.ROUTES, *views.ROUTES],
        exception_handlers={RefusedError: views.refused, HTTPException: _not_here, Exception: _fault},
        lifespan=lifespan,
    )
    app.state.desk = things
    return Pages(app, rules, things)


async def _not_here(request: Request, wrong: Exception) -> Response:
    assert isinstance(wrong, HTTPException)
    said = {404: "there is no such page", 405: "no such method here"}.get(wrong.status_code, str(wrong.detail))
    return await views.refused(request, RefusedError(wrong.status_code, said))


async def _fault(_: Request, fault: Exception) -> Response:
    """A fault of ours: its kind is told, never where it is."""
    return JSONResponse({"error": f"Linewright itself failed: {type(fault).__name__}"}, 500)
