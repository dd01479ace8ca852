"""The page in a real browser: it opens from a file with no console message, and charts wake under the pointer."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from linewright.answer.model import Answer
from linewright.report import drawing
from linewright.report.html import write_html
from linewright.report.papers import sheets, sheets_html

BROWSER = next((found for name in ("chromium", "chromium-browser") if (found := shutil.which(name))), None)
DRIVER = shutil.which("chromedriver")

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(
        BROWSER is None or DRIVER is None, reason="no Chromium with driver here (Debian: chromium, chromium-driver)"
    ),
]

QUIET = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--window-size=1300,1000",
)  # fmt: skip


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    webdriver = pytest.importorskip("selenium.webdriver", reason="the browser test needs selenium")
    options = webdriver.ChromeOptions()
    options.binary_location = BROWSER
    for flag in (*QUIET, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(DRIVER))
    yield driver
    driver.quit()


def test_page_opens_with_no_console_message(browser: Any, given: Answer, tmp_path: Path) -> None:
    browser.get(write_html(given, tmp_path / "page.html", live=drawing.can_draw()).as_uri())
    assert given.plan.name in browser.title
    assert browser.get_log("browser") == []
    loaded = browser.execute_script("return performance.getEntriesByType('resource').map(e => e.name)")
    assert loaded == []
    wide = browser.execute_script("return document.documentElement.scrollWidth <= window.innerWidth")
    assert wide, "the page itself does not scroll sideways"


def test_a_number_on_the_map_leads_to_its_step(browser: Any, given: Answer, tmp_path: Path) -> None:
    browser.get(write_html(given, tmp_path / "page.html", live=False).as_uri())
    browser.execute_script(
        "document.querySelector('.lw-map a').dispatchEvent(new MouseEvent('click', {bubbles: true}))"
    )
    first = browser.execute_script("return document.querySelector(':target').id")
    assert first.startswith("step-")


def test_charts_wake_under_the_pointer_and_load_nothing(browser: Any, given: Answer, tmp_path: Path) -> None:
    if not drawing.can_draw():
        pytest.skip("live charts need the extra charts")
    from selenium.webdriver.support.ui import WebDriverWait

    browser.get(write_html(given, tmp_path / "page.html", live=True).as_uri())
    count = browser.execute_script("return document.querySelectorAll('[data-chart]').length")
    assert count >= 4
    wake = "document.querySelectorAll('[data-chart]').forEach(c => c.dispatchEvent(new PointerEvent('pointerenter')))"
    browser.execute_script(wake)
    live = "return document.querySelectorAll('[data-live=yes] svg').length"
    WebDriverWait(browser, 20).until(lambda b: b.execute_script(live) == count)
    assert browser.get_log("browser") == []
    assert browser.execute_script("return document.querySelectorAll('.vega-actions').length") == 0


@pytest.mark.parametrize("wide", [1366, 820])
def test_sheets_open_under_their_own_policy(browser: Any, given: Answer, tmp_path: Path, wide: int) -> None:
    file = tmp_path / "sheets.html"
    file.write_text(sheets_html(given), encoding="utf-8")
    browser.set_window_size(wide, 1000)
    browser.get(file.as_uri())
    assert browser.get_log("browser") == []
    assert browser.execute_script("return document.querySelectorAll('.lw-sheet').length") == len(sheets(given))
    # the style inside the page is taken: its hash is the one that the policy names
    ground = "return getComputedStyle(document.querySelector('.lw-facts')).display"
    assert browser.execute_script(ground) == "flex"
    assert browser.execute_script("return document.documentElement.scrollWidth <= window.innerWidth")
    browser.set_window_size(1300, 1000)
