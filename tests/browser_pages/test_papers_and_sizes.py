"""Papers from the page, the page on paper, and the page on a tablet: everything in reach, nothing sideways."""

from __future__ import annotations

import base64
from collections.abc import Callable
from typing import Any

import pytest

WIDE = "return document.documentElement.scrollWidth <= innerWidth && document.body.scrollWidth <= innerWidth"


@pytest.mark.parametrize("look", ["light", "dark"])
def test_sheets_and_report_open_to_be_printed(page: Any, axe: Callable[..., list[str]], look: str) -> None:
    page.look(look)
    page.open("papers")
    page.click("#papers summary")
    links = page.js("return [...document.querySelectorAll('#papers a')].map(a => a.href)")
    assert [link.rpartition("papers")[2] for link in links] == ["", ".pdf", "", ".pdf", ".xlsx"]
    page.driver.get(links[0])
    assert "Trim booth" in page.text("h1, h2")
    assert axe(page) == []
    page.shot(f"sheets-{look}")
    if look == "light":
        page.driver.get(links[2])
        assert "36 trailers a day" in page.text("main")
        assert axe(page, "main > :not(section)") == []
    assert page.said() == []


def test_papers_say_that_they_are_made_from_what_is_saved(page: Any) -> None:
    page.open("unsaved")
    page.click("#papers summary")
    assert page.js("return document.getElementById('unsaved-note').hidden")
    page.click("#papers summary")
    page.replace('demand = "36 each/day"', 'demand = "35 each/day"')
    page.click("#papers summary")
    page.until("!document.getElementById('unsaved-note').hidden")


def test_the_page_itself_can_be_printed(page: Any) -> None:
    page.open("printed")
    page.unfold("q-cost")
    page.until("document.querySelector('#q-cost .body table')")
    page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    tall = {part: page.one(part).size["height"] for part in (".plan", ".maptools", ".answers", ".mapframe")}
    assert tall[".plan"] == tall[".maptools"] == 0, "only the answers are printed"
    assert min(tall[".answers"], tall[".mapframe"]) > 100
    page.shot("on-paper")
    made = page.driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    assert base64.b64decode(made["data"]).startswith(b"%PDF-")
    page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


@pytest.mark.parametrize(("width", "height"), [(1024, 768), (768, 1024), (1366, 768)])
def test_on_a_tablet_everything_is_in_reach(page: Any, width: int, height: int) -> None:
    page.size(width, height)
    page.driver.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": width < 1366})
    try:
        page.open("tablet")
        assert page.js(WIDE)
        if width < 900:
            assert not page.one("#answers").is_displayed()
            page.click("[data-to=answers]")
            assert page.one("#answers").is_displayed()
            assert not page.one("#editor").is_displayed()
            page.click("[data-node=cure]")
            page.until("document.getElementById('editor').offsetHeight > 100")
        page.click("#tab-operations")
        assert page.js(WIDE)
        if width < 1366:
            buttons = "button, summary, select, input:not([type=range]), [role=tab]"
            low = page.js(
                "return [...document.querySelectorAll(arguments[0])].filter(b => b.offsetParent)"
                ".filter(b => b.getBoundingClientRect().height < 40).map(b => b.outerHTML.slice(0, 80))",
                buttons,
            )
            assert low == [], "a finger needs 40 pixels"
        page.shot(f"tables-{width}x{height}")
    finally:
        page.driver.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": False})
