"""The pages in a real browser: a server on a copy of the examples, one browser, and what a reader can do."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
SHOTS = ROOT / "artefacts"
BROWSER = next((found for name in ("chromium", "chromium-browser") if (found := shutil.which(name))), None)
DRIVER = shutil.which("chromedriver")
QUIET = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--hide-scrollbars",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--window-size=1366,768",
)  # fmt: skip
PATIENCE = 30.0
SERVE = """
import sys
from linewright.pages.serve import serve
serve(sys.argv[1], port=0, told=lambda address: print(address, flush=True))
"""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)
            if BROWSER is None or DRIVER is None:
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
    environment = {"PYTHONPATH": str(ROOT / "src"), **os.environ}
    command = [sys.executable, "-c", SERVE, str(folder)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as server:
        assert server.stdout is not None
        address = server.stdout.readline().strip().rstrip("/")
        try:
            assert address.startswith("http://127.0.0.1:"), "the server says where it is"
            yield Served(address, folder)
        finally:
            server.terminate()


@pytest.fixture(scope="session")
def driver(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    webdriver = pytest.importorskip("selenium.webdriver", reason="the browser tests need selenium")
    options = webdriver.ChromeOptions()
    options.binary_location = BROWSER
    for flag in (*QUIET, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    made = webdriver.Chrome(options=options, service=webdriver.ChromeService(DRIVER))
    made.set_script_timeout(PATIENCE)
    yield made
    made.quit()


class Page:
    """The browser with the words of the tests. Every wait ends as soon as what it waits for is there."""

    def __init__(self, driver: Any, served: Served) -> None:
        self.driver, self.served = driver, served

    def open(self, name: str, *, example: str = "trailer") -> Path:
        """Open a fresh copy of an example under a name of its own, and wait until it is answered."""
        file = self.served.folder / f"{name}.toml"
        shutil.copy(ROOT / "examples" / f"{example}.toml", file)
        self.go(name)
        return file

    def go(self, name: str) -> None:
        self.driver.get(f"{self.served.address}/plan/{name}")
        self.until("document.body.dataset.ready === 'yes'")

    def js(self, text: str, *given: Any) -> Any:
        return self.driver.execute_script(text, *given)

    def until(self, condition: str, *given: Any) -> Any:
        """Wait for a condition in JavaScript, and give its value."""
        from selenium.common.exceptions import TimeoutException
        from selenium.webdriver.support.ui import WebDriverWait

        try:
            return WebDriverWait(self.driver, PATIENCE, poll_frequency=0.05).until(
                lambda b: b.execute_script(f"return {condition}", *given)
            )
        except TimeoutException:
            raise AssertionError(f"this never came true: {condition}") from None

    def one(self, selector: str) -> Any:
        return self.driver.find_element("css selector", selector)

    def all(self, selector: str) -> Any:
        return self.driver.find_elements("css selector", selector)

    def text(self, selector: str) -> str:
        return str(self.js("return document.querySelector(arguments[0]).textContent", selector))

    def click(self, selector: str) -> None:
        """Click where a reader could: the element must be in sight and not covered."""
        from selenium.webdriver.support.ui import WebDriverWait

        def clicked(browser: Any) -> bool:
            element = browser.find_element("css selector", selector)
            browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", element)
            element.click()
            return True

        WebDriverWait(self.driver, PATIENCE, poll_frequency=0.05, ignored_exceptions=[Exception]).until(clicked)

    def press(self, words: str, within: str = "body") -> None:
        """Press the button with these words."""
        mark = "data-pressed-by-test"
        found = self.until(
            "(() => { const b = [...document.querySelectorAll(arguments[0] + ' button')]"
            ".find(b => b.textContent.trim() === arguments[1] && b.offsetParent); "
            f"document.querySelectorAll('[{mark}]').forEach(e => e.removeAttribute('{mark}'));"
            f" b?.setAttribute('{mark}', ''); return Boolean(b) }})()",
            within,
            words,
        )
        assert found
        self.click(f"[{mark}]")

    def replace(self, old: str, new: str) -> None:
        """Choose a text in the editor with the caret and type over it, as a reader does."""
        self.js(
            "const p = document.getElementById('pen'); const i = p.value.indexOf(arguments[0]);"
            "if (i < 0) throw new Error('the text is not there');"
            "p.focus(); p.setSelectionRange(i, i + arguments[0].length)",
            old,
        )
        self.one("#pen").send_keys(new)

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

    def choose(self, selector: str, value: str) -> None:
        """Choose from a list."""
        from selenium.webdriver.support.ui import Select

        Select(self.one(selector)).select_by_value(value)

    def size(self, width: int, height: int) -> None:
        metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)

    def look(self, look: str) -> None:
        feature = {"name": "prefers-color-scheme", "value": look}
        still = {"name": "prefers-reduced-motion", "value": "no-preference"}
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [feature, still]})

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
