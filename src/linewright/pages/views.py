"""The pages themselves: the plans of the folder, one plan, and the style that both take from the report."""

from __future__ import annotations

from dataclasses import asdict
from functools import lru_cache

from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from linewright.pages.desk import HERE, desk
from linewright.pages.limits import ANSWER_SECONDS
from linewright.pages.refused import RefusedError


async def index(request: Request) -> Response:
    """The plans of the folder."""
    found = desk(request)
    plans = [asdict(one) for one in found.folder.listed()]
    return HTMLResponse(found.page("index.html", title="Plans", plans=plans, folder=found.folder.root.name))


async def plan(request: Request) -> Response:
    """One plan: text, tables, map and answers."""
    found, name = desk(request), request.path_params["name"]
    if name.endswith(".toml"):
        return RedirectResponse(request.url_for("plan", name=name.removesuffix(".toml")).path)
    found.folder.file(name)
    title = name.rpartition("/")[2].replace("_", " ")
    return HTMLResponse(found.page("plan.html", title=title, name=name, folder=found.folder.root.name))


@lru_cache(maxsize=1)
def _palette() -> str:
    from linewright.report.map import map_style
    from linewright.report.palette import variables

    return variables() + map_style()


async def palette(_: Request) -> Response:
    """The colours of both sets and the style of the map."""
    return Response(_palette(), media_type="text/css", headers={"cache-control": "no-cache"})


async def report_style(_: Request) -> Response:
    """The style sheet of the report."""
    from linewright.report.style import style_sheet

    return Response(style_sheet(), media_type="text/css", headers={"cache-control": "no-cache"})


async def charting(request: Request) -> Response:
    """The charting library, kept on disk after its first making; the browser keeps it for the day."""
    made = await desk(request).slow.do("charting", ANSWER_SECONDS)
    kept = {"cache-control": "private, max-age=86400"}
    return Response(made, media_type="text/javascript", headers=kept)


async def nothing(_: Request) -> Response:
    """What a browser asks for of itself."""
    return Response(status_code=204)


async def refused(request: Request, wrong: Exception) -> Response:
    """A refusal: words on a page, JSON below /api/."""
    assert isinstance(wrong, RefusedError)
    if request.url.path.startswith("/api/"):
        return JSONResponse(wrong.body(), wrong.status)
    page = desk(request).page("refused.html", title="Not here", error=wrong.error, status=wrong.status)
    return HTMLResponse(page, wrong.status)


class OwnFiles(StaticFiles):
    """Our own scripts and styles; the browser asks each time whether they are still the same."""

    def file_response(self, *given: object, **more: object) -> Response:
        """A file, never kept without asking."""
        response = super().file_response(*given, **more)  # type: ignore[arg-type]
        response.headers["cache-control"] = "no-cache"
        return response

    async def get_response(self, path: str, scope: Scope) -> Response:
        """A file, or a plain refusal."""
        try:
            return await super().get_response(path, scope)
        except (ValueError, OSError):
            raise RefusedError(404, "there is no such file") from None


ROUTES: list[BaseRoute] = [
    Route("/", index),
    Route("/plan/{name:path}", plan, name="plan"),
    Route("/palette.css", palette),
    Route("/report.css", report_style),
    Route("/vendor/vega.js", charting),
    Route("/favicon.ico", nothing),
    Mount("/static", OwnFiles(directory=HERE / "static", follow_symlink=False), name="static"),
]
