"""The pages in a real browser, used as a reader uses them: what the pictures of the tour and the tests share."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
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
PRESSED = "data-pressed"
FIND_BUTTON = f"""(() => {{
    const b = [...document.querySelectorAll(arguments[0] + ' button')]
        .find(b => b.textContent.trim() === arguments[1] && b.offsetParent);
    document.querySelectorAll('[{PRESSED}]').forEach(e => e.removeAttribute('{PRESSED}'));
    b?.setAttribute('{PRESSED}', '');
    return Boolean(b);
}})()"""


@contextmanager
def serving(folder: Path) -> Iterator[str]:
    """The address of the pages for a folder, while they are served."""
    command = [sys.executable, "-c", SERVE, str(folder)]
    environment = {"PYTHONPATH": str(ROOT / "src"), **os.environ}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as server:
        assert server.stdout is not None
        try:
            yield server.stdout.readline().strip().rstrip("/")
        finally:
            server.terminate()


def browser_in(profile: Path) -> Any:
    """A browser that keeps its things in a folder of its own; it can be asked what the console said."""
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = BROWSER or ""
    for flag in (*QUIET, f"--user-data-dir={profile}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    return webdriver.Chrome(options=options, service=webdriver.ChromeService(DRIVER))


class Reader:
    """Somebody before the browser. Every wait ends as soon as what it waits for is there."""

    patience = PATIENCE

    def __init__(self, driver: Any) -> None:
        self.driver = driver

    def js(self, text: str, *given: Any) -> Any:
        """What a line of JavaScript gives."""
        return self.driver.execute_script(text, *given)

    def until(self, condition: str, *given: Any) -> Any:
        """Wait for a condition in JavaScript, and give its value."""
        from selenium.common.exceptions import TimeoutException
        from selenium.webdriver.support.ui import WebDriverWait

        try:
            return WebDriverWait(self.driver, self.patience, poll_frequency=0.05).until(
                lambda b: b.execute_script(f"return {condition}", *given)
            )
        except TimeoutException:
            raise AssertionError(f"this never came true: {condition}") from None

    def one(self, selector: str) -> Any:
        """The first element that fits."""
        return self.driver.find_element("css selector", selector)

    def click(self, selector: str) -> None:
        """Click where a reader could: the element must be in sight and not covered."""
        from selenium.webdriver.support.ui import WebDriverWait

        def clicked(browser: Any) -> bool:
            element = browser.find_element("css selector", selector)
            browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", element)
            element.click()
            return True

        WebDriverWait(self.driver, self.patience, poll_frequency=0.05, ignored_exceptions=[Exception]).until(clicked)

    def press(self, words: str, within: str = "body") -> None:
        """Press the button with these words."""
        assert self.until(FIND_BUTTON, within, words)
        self.click(f"[{PRESSED}]")

    def replace(self, old: str, new: str) -> None:
        """Choose a text in the editor with the caret and type over it."""
        self.js(
            "const p = document.getElementById('pen'); const i = p.value.indexOf(arguments[0]);"
            "if (i < 0) throw new Error('the text is not there');"
            "p.focus(); p.setSelectionRange(i, i + arguments[0].length)",
            old,
        )
        self.one("#pen").send_keys(new)

    def choose(self, selector: str, value: str) -> None:
        """Choose from a list."""
        from selenium.webdriver.support.ui import Select

        Select(self.one(selector)).select_by_value(value)

    def size(self, width: int, height: int) -> None:
        """The size of the window."""
        metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)

    def look(self, look: str) -> None:
        """Light or dark, with all that moves."""
        feature = {"name": "prefers-color-scheme", "value": look}
        still = {"name": "prefers-reduced-motion", "value": "no-preference"}
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [feature, still]})
