from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("starlette", reason="the pages need the extra pages")
httpx = pytest.importorskip("httpx", reason="the tests of the pages need httpx")

from linewright.pages.app import make_app  # noqa: E402
from linewright.pages.guard import Rules  # noqa: E402

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
TOKEN = "a-token-of-the-tests"
HOST = "127.0.0.1:8750"


@dataclass
class Pages:
    """The pages of a folder, asked without a network."""

    root: Path
    portal: Any
    client: Any

    def ask(self, method: str, path: str, data: Any = None, **more: Any) -> Any:
        headers = {"x-linewright-token": TOKEN, **more.pop("headers", {})}
        if data is not None:
            more["json"] = data
        return self.portal.call(lambda: self.client.request(method, path, headers=headers, **more))

    def get(self, path: str, **more: Any) -> Any:
        return self.ask("GET", path, **more)

    def post(self, path: str, data: Any, **more: Any) -> Any:
        return self.ask("POST", path, data, **more)


@contextmanager
def opened(root: Path, rules: Rules | None = None, host: str = HOST) -> Iterator[Pages]:
    """The pages of a folder, in a loop of their own."""
    from anyio.from_thread import start_blocking_portal

    app = make_app(root, rules or Rules(TOKEN, 8750))
    with start_blocking_portal() as portal:
        client = httpx.AsyncClient(
            transport=httpx.ASGITransport(app, raise_app_exceptions=False), base_url=f"http://{host}", timeout=120
        )
        try:
            yield Pages(root, portal, client)
        finally:
            portal.call(client.aclose)
            portal.call(app.end)


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Pages]:
    root = tmp_path_factory.mktemp("works")
    for file in EXAMPLES.iterdir():
        if file.suffix in (".toml", ".csv"):
            shutil.copy(file, root / file.name)
    with opened(root) as found:
        yield found


@pytest.fixture
def open_pages() -> Iterator[Callable[..., Pages]]:
    """Opens the pages of any folder."""
    with ExitStack() as stack:
        yield lambda *given: stack.enter_context(opened(*given))
