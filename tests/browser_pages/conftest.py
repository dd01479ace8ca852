"""The pages in a real browser: a server on a copy of the examples, one browser, and what a reader can do."""

from __future__ import annotations

import importlib.util
import shutil
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
SHOTS = ROOT / "artefacts"


def script(name: str) -> ModuleType:
    """A module of scripts/, which is no package."""
    spec = importlib.util.spec_from_file_location(name, ROOT / "scripts" / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


browser = script("page_browser")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)
            if browser.BROWSER is None or browser.DRIVER is None:
                item.add_marker(pytest.mark.skip(reason="no Chromium with driver (Debian: chromium, chromium-driver)"))


@dataclass(frozen=True)
class Served:
    """Where the pages are, and the folder they show."""

    address: str
    folder: Path


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    for needed in ("starlette", "uvicorn", "jinja2"):
        pytest.importorskip(needed, reason="the pages need the extra pages")
    folder = tmp_path_factory.mktemp("pages") / "works"
    shutil.copytree(ROOT / "examples", folder)
    with browser.serving(folder) as address:
        assert address.startswith("http://127.0.0.1:"), "the server says where it is"
        yield Served(address, folder)


@pytest.fixture(scope="session")
def driver(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    pytest.importorskip("selenium.webdriver", reason="the browser tests need selenium")
    made = browser.browser_in(tmp_path_factory.mktemp("profile"))
    made.set_script_timeout(browser.PATIENCE)
    yield made
    made.quit()


class Page(browser.Reader):  # type: ignore[name-defined,misc]
    """A reader with the words of the tests."""

    def __init__(self, driver: Any, served: Served) -> None:
        super().__init__(driver)
        self.served = served

    def open(self, name: str, *, example: str = "trailer") -> Path:
        """Open a fresh copy of an example under a name of its own, and wait until it is answered."""
        file = self.served.folder / f"{name}.toml"
        shutil.copy(ROOT / "examples" / f"{example}.toml", file)
        self.go(name)
        return file

    def go(self, name: str) -> None:
        self.driver.get(f"{self.served.address}/plan/{name}")
        self.until("document.body.dataset.ready === 'yes'")

    def all(self, selector: str) -> Any:
        return self.driver.find_elements("css selector", selector)

    def text(self, selector: str) -> str:
        return str(self.js("return document.querySelector(arguments[0]).textContent", selector))

    def plan(self) -> str:
        return str(self.js("return document.getElementById('pen').value"))

    def keys(self, *keys: str) -> None:
        """Keys to whatever has the focus, all but the last held."""
        from selenium.webdriver import ActionChains

        chain = ActionChains(self.driver)
        for key in keys[:-1]:
            chain.key_down(key)
        chain.send_keys(keys[-1])
        for key in reversed(keys[:-1]):
            chain.key_up(key)
        chain.perform()

    def unfold(self, question: str) -> None:
        self.js("document.getElementById(arguments[0]).open = true", question)

    def shot(self, name: str) -> None:
        """A picture for whoever looks at the run; git does not keep it."""
        SHOTS.mkdir(exist_ok=True)
        self.driver.save_screenshot(str(SHOTS / f"{name}.png"))

    def said(self) -> list[str]:
        """What the console said since it was last asked."""
        return [f"{entry['level']}: {entry['message']}" for entry in self.driver.get_log("browser")]


@pytest.fixture
def page(driver: Any, served: Served) -> Iterator[Page]:
    found = Page(driver, served)
    found.size(1366, 768)
    found.look("light")
    found.said()
    yield found
    driver.execute_script("window.onbeforeunload = null; try { localStorage.clear() } catch {}")
    driver.get("about:blank")


@pytest.fixture(scope="session")
def axe() -> Callable[..., list[str]]:
    """What axe-core finds on the page that is open, or in a part of it, of serious or critical impact."""
    source = pytest.importorskip("axe_core_python", reason="the accessibility test needs axe-core-python")
    script = (Path(source.__file__).parent / "axe.min.js").read_text(encoding="utf-8")

    def run(page: Page, within: str = "html") -> list[str]:
        page.js(script)
        found = page.driver.execute_async_script(
            "const done = arguments[1]; axe.run(arguments[0]).then(r => done([r.violations, r.passes.length]),"
            "e => done([[{id: `${e}`, impact: 'critical', nodes: []}], 0]))",
            within,
        )
        found, passed = found
        assert found or passed > 4, "axe looked at the page"
        return [
            f"{v['id']} ({v['impact']}): " + "; ".join(n["html"][:160] for n in v["nodes"][:3])
            for v in found
            if v["impact"] in ("serious", "critical")
        ]

    return run
