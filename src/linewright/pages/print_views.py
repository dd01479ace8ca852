"""The papers of a plan as it is saved: pages to print, PDF and workbook. None of them can run a script."""

from __future__ import annotations

import base64
import hashlib
import re
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from linewright.pages.desk import desk
from linewright.pages.limits import PAPER_SECONDS
from linewright.pages.printed import PAPERS
from linewright.pages.refused import RefusedError

KINDS = {
    "": "text/html; charset=utf-8",
    ".pdf": "application/pdf",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


async def paper(request: Request) -> Response:
    """One paper: /print/report/NAME, /print/sheets/NAME.pdf, /print/tables/NAME.xlsx."""
    here, kind, name = desk(request), request.path_params["kind"], request.path_params["name"]
    ending = next((end for end in (".pdf", ".xlsx") if name.endswith(end)), "")
    name = name.removesuffix(ending)
    if kind + ending not in PAPERS:
        raise RefusedError(404, "there is no such paper")
    text = here.folder.read(name).text
    file = str(here.folder.file(name))
    made = await here.papers.do("paper", PAPER_SECONDS, file=file, text=text, what=kind + ending)
    title = quote(f"{name.rpartition('/')[2]} {kind}{ending}")
    shown = "attachment" if ending == ".xlsx" else "inline"
    headers = {"content-disposition": f"{shown}; filename*=UTF-8''{title}"} if ending else {}
    headers["content-security-policy"] = policy_of(made.decode()) if not ending else "frame-ancestors 'none'"
    return Response(made, headers=headers, media_type=KINDS[ending])


def policy_of(page: str) -> str:
    """The policy of a page that stands alone: its own style sheets by their digest, no script, nothing loaded."""
    sheets = re.findall(r"<style>(.*?)</style>", page, re.DOTALL)
    digests = {base64.b64encode(hashlib.sha256(sheet.encode()).digest()).decode() for sheet in sheets}
    styles = " ".join(f"'sha256-{digest}'" for digest in sorted(digests)) or "'none'"
    return (
        f"default-src 'none'; style-src {styles}; img-src data:; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'"
    )


ROUTES: list[BaseRoute] = [Route("/print/{kind}/{name:path}", paper)]
