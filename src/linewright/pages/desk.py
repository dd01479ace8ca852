"""What every request needs: the folder, the working processes, the runs and the templates, made once for a server."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from starlette.requests import Request

from linewright import __version__
from linewright.pages.folder import Folder
from linewright.pages.lanes import Lane
from linewright.pages.limits import ANSWER_SECONDS, CHECK_SECONDS
from linewright.pages.refused import RefusedError
from linewright.pages.runs import Runs

HERE = Path(__file__).resolve().parent


@dataclass(slots=True)
class Desk:
    """One server's things. Quick work has a lane of its own, so that no answer keeps a check waiting."""

    folder: Folder
    token: str
    quick: Lane
    slow: Lane
    papers: Lane
    templates: Environment
    runs: Runs
    ready: list[asyncio.Task[Any]] = field(default_factory=list)

    def warm(self) -> None:
        """Begin both lanes beside the first page, so that the first answer need not wait for them."""
        for lane in (self.quick, self.slow):
            self.ready.append(asyncio.create_task(_quietly(lane)))

    def end(self) -> None:
        """End every process."""
        for task in self.ready:
            task.cancel()
        self.runs.end()
        for lane in (self.quick, self.slow, self.papers):
            lane.close()

    async def check(self, work: str, name: str, text: str, **more: Any) -> bytes:
        """Quick work on a text of the plan ``name``."""
        file = str(self.folder.file(name))
        done: bytes = await self.quick.do(work, CHECK_SECONDS, file=file, text=text, **more)
        return done

    async def answer(self, work: str, name: str, text: str, seconds: float = ANSWER_SECONDS, **more: Any) -> bytes:
        """Slower work on a text of the plan ``name``; a newer answer takes the place of one that still waits."""
        file = str(self.folder.file(name))
        instead = f"{work} {name}" if work == "answer" else ""
        done: bytes = await self.slow.do(work, seconds, instead=instead, file=file, text=text, **more)
        return done

    def page(self, template: str, **told: Any) -> str:
        """A page from its template."""
        return self.templates.get_template(template).render(token=self.token, version=__version__, **told)


async def _quietly(lane: Lane) -> None:
    try:
        await lane.do("ready", 60.0)
    except RefusedError:
        return


def desk_for(root: str | Path, token: str) -> Desk:
    """A desk for the plans below ``root``."""
    folder = Folder(root)
    where = str(folder.root)
    templates = Environment(
        loader=FileSystemLoader(HERE / "templates"), autoescape=select_autoescape(("html",), default=True),
        undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    return Desk(folder, token, Lane(where, "quick"), Lane(where, "slow"), Lane(where, "papers"), templates, Runs(where))


def desk(request: Request) -> Desk:
    """The desk of the server that has the request."""
    found: Desk = request.app.state.desk
    return found
