"""Makes the pictures of docs/tour.md: the pages on a copy of the examples, driven in a browser as a reader would.

Run: make pictures (needs chromium with its driver, and the extras pages, charts and test)
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from selenium import webdriver
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import Select, WebDriverWait

ROOT = Path(__file__).resolve().parent.parent
PICTURES = ROOT / "docs" / "pictures"
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--hide-scrollbars",
)  # fmt: skip
SERVE = """
import sys
from linewright.pages.serve import serve
serve(sys.argv[1], port=0, told=lambda address: print(address, flush=True))
"""


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """The address of the pages for a folder, while they are served."""
    command = [sys.executable, "-c", SERVE, str(folder)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        assert server.stdout is not None
        try:
            yield server.stdout.readline().strip().rstrip("/")
        finally:
            server.terminate()


class Camera:
    """A browser that takes pictures."""

    def __init__(self, profile: Path) -> None:
        options = webdriver.ChromeOptions()
        options.binary_location = shutil.which("chromium") or ""
        for flag in (*FLAGS, f"--user-data-dir={profile}"):
            options.add_argument(flag)
        self.browser = webdriver.Chrome(options=options, service=webdriver.ChromeService(shutil.which("chromedriver")))
        self.size(1366, 768)
        self.look("light")

    def js(self, text: str, *given: Any) -> Any:
        """What a line of JavaScript gives."""
        return self.browser.execute_script(text, *given)

    def until(self, condition: str) -> None:
        """Wait for a condition."""
        WebDriverWait(self.browser, 120).until(lambda b: b.execute_script(f"return {condition}"))

    def size(self, width: int, height: int) -> None:
        """The size of the window."""
        metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
        self.browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)

    def look(self, look: str) -> None:
        """Light or dark."""
        feature = {"name": "prefers-color-scheme", "value": look}
        self.browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [feature]})

    def press(self, words: str, within: str = "body") -> None:
        """Press the button with these words."""
        button = self.js(
            "return [...document.querySelectorAll(arguments[0] + ' button')]"
            ".find(b => b.textContent.trim() === arguments[1] && b.offsetParent)",
            within,
            words,
        )
        self.js("arguments[0].scrollIntoView({block: 'center'})", button)
        button.click()

    def replace(self, old: str, new: str) -> None:
        """Write over a text of the plan."""
        self.js(
            "const p = document.getElementById('pen'), i = p.value.indexOf(arguments[0]);"
            "p.focus(); p.setSelectionRange(i, i + arguments[0].length)",
            old,
        )
        self.browser.find_element("id", "pen").send_keys(new)

    def show(self, selector: str) -> None:
        """Bring something to the top of its side."""
        self.js("document.querySelector(arguments[0]).scrollIntoView()", selector)

    def take(self, name: str) -> None:
        """Take a picture once the page is at rest."""
        self.until("document.getAnimations().length === 0 && !document.querySelector('[aria-busy=true]')")
        self.browser.execute_async_script("requestAnimationFrame(() => requestAnimationFrame(arguments[0]))")
        self.browser.save_screenshot(str(PICTURES / f"page_{name}.png"))


def take_all() -> None:
    """Take every picture of the tour."""
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as work:
        folder = Path(work) / "examples"
        shutil.copytree(ROOT / "examples", folder)
        camera = Camera(Path(work) / "profile")
        try:
            with served(folder) as address:
                _tour(camera, address)
        finally:
            camera.browser.quit()


def _tour(camera: Camera, address: str) -> None:
    camera.browser.get(f"{address}/plan/trailer")
    camera.until("document.body.dataset.ready === 'yes'")
    camera.take("open")
    camera.replace('station = "trim_booth"', 'station = "tram_booth"')
    camera.until("document.querySelector('#count').className.includes('error')")
    camera.until("!document.querySelector('#why').hidden")
    camera.js("document.querySelector('#problems button').click()")
    camera.take("mistake")
    while "tram_booth" in camera.js("return document.getElementById('pen').value"):
        camera.browser.find_element("id", "pen").send_keys(Keys.CONTROL, "z")
    camera.until("document.querySelector('#why').hidden")
    Select(camera.browser.find_element("id", "mapway")).select_by_value("use")
    camera.show("#q-made")
    camera.take("use")
    Select(camera.browser.find_element("id", "mapway")).select_by_value("kind")
    camera.press("Play a day")
    camera.until("document.querySelector('.player')")
    camera.show("#q-made")
    camera.take("day")
    camera.press("Put away", ".player")
    _compared(camera)
    camera.browser.get(f"{address}/print/sheets/trailer")
    camera.js("localStorage.clear()")
    camera.browser.save_screenshot(str(PICTURES / "page_sheet.png"))
    camera.browser.get(f"{address}/plan/trailer")
    camera.until("document.body.dataset.ready === 'yes'")
    camera.size(768, 1024)
    camera.look("dark")
    camera.press("Answers", ".sides")
    camera.take("tablet")


def _compared(camera: Camera) -> None:
    camera.js("document.getElementById('q-made').open = false; document.getElementById('compare').open = true")
    camera.press("Keep", "#compare")
    camera.until("document.querySelector('.versions b')")
    camera.replace('stand = "14 min"', 'stand = "9 min"')
    camera.until("document.querySelector('[data-key=allowed] .was')")
    camera.press("Compare with now", "#compare")
    camera.until("document.querySelector('.compared table')")
    camera.press("Simulate both", "#compare")
    camera.until("document.querySelector('.compared .said').textContent.includes('±')")
    camera.until("!document.querySelector('.notice')")
    camera.show(".compared")
    camera.take("compare")


if __name__ == "__main__":
    take_all()
