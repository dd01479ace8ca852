"""Makes the pictures of docs/tour.md: the pages on a copy of the examples, driven in a browser as a reader would.

Run: make pictures (needs chromium with its driver, and the extras pages, charts and test)
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import Any

from page_browser import ROOT, Reader, browser_in, serving
from selenium.webdriver.common.keys import Keys

PICTURES = ROOT / "docs" / "pictures"


class Camera(Reader):
    """A reader who takes pictures."""

    patience = 120.0

    def __init__(self, driver: Any) -> None:
        super().__init__(driver)
        self.size(1366, 768)
        self.look("light")

    def show(self, selector: str) -> None:
        """Bring something to the top of its side."""
        self.js("document.querySelector(arguments[0]).scrollIntoView()", selector)

    def take(self, name: str) -> None:
        """Take a picture once the page is at rest."""
        self.until("document.getAnimations().length === 0 && !document.querySelector('[aria-busy=true]')")
        self.driver.execute_async_script("requestAnimationFrame(() => requestAnimationFrame(arguments[0]))")
        self.driver.save_screenshot(str(PICTURES / f"page_{name}.png"))


def take_all() -> None:
    """Take every picture of the tour."""
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as work:
        folder = Path(work) / "examples"
        shutil.copytree(ROOT / "examples", folder)
        camera = Camera(browser_in(Path(work) / "profile"))
        try:
            with serving(folder) as address:
                _tour(camera, address)
        finally:
            camera.driver.quit()


def _tour(camera: Camera, address: str) -> None:
    camera.driver.get(f"{address}/plan/trailer")
    camera.until("document.body.dataset.ready === 'yes'")
    camera.take("open")
    camera.replace('station = "trim_booth"', 'station = "tram_booth"')
    camera.until("document.querySelector('#count').className.includes('error')")
    camera.until("!document.querySelector('#why').hidden")
    camera.js("document.querySelector('#problems button').click()")
    camera.take("mistake")
    while "tram_booth" in camera.js("return document.getElementById('pen').value"):
        camera.one("#pen").send_keys(Keys.CONTROL, "z")
    camera.until("document.querySelector('#why').hidden")
    camera.choose("#mapway", "use")
    camera.show("#q-made")
    camera.take("use")
    camera.choose("#mapway", "kind")
    camera.press("Play a day")
    camera.until("document.querySelector('.player')")
    camera.show("#q-made")
    camera.take("day")
    camera.press("Put away", ".player")
    _compared(camera)
    camera.driver.get(f"{address}/print/sheets/trailer")
    camera.js("localStorage.clear()")
    camera.driver.save_screenshot(str(PICTURES / "page_sheet.png"))
    camera.driver.get(f"{address}/plan/trailer")
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
