"""The plan as tables, undo across both views, and saving: drafts, a file that changed meanwhile, both versions kept."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from selenium.webdriver.common.keys import Keys

SAVED = "document.getElementById('state').textContent === 'Saved'"
UNSAVED = "document.getElementById('state').textContent === 'Not saved'"


def cell(page: Any, kind: str, id: str, column: str) -> str:
    """A selector for the cell of a thing in a table."""
    page.click(f"#tab-{kind}")
    page.until(f"document.querySelector('#view-{kind} tr[data-id=\"{id}\"]')")
    heads = f"[...document.querySelectorAll('#view-{kind} thead th')]"
    at = page.js(f"return {heads}.findIndex(h => h.textContent === arguments[0])", column)
    assert at >= 0
    return f'#view-{kind} tr[data-id="{id}"] td[data-column="{at}"]'


def write(page: Any, kind: str, id: str, column: str, text: str) -> None:
    """Go to a cell, write over it, and leave it with Enter."""
    page.click(cell(page, kind, id, column))
    page.keys(Keys.F2)
    page.until("document.activeElement.classList.contains('cellpen')")
    page.keys(Keys.CONTROL, "a")
    page.keys(text)
    page.keys(Keys.ENTER)


def test_a_table_edits_the_text_and_undo_goes_across_both(page: Any) -> None:
    page.open("tabled")
    before = page.plan()
    page.replace('name = "Bond frame"', 'name = "Bonding frame"')
    typed = page.plan()
    write(page, "operations", "drill_shell", "time", "3.1 min")
    page.until("document.getElementById('pen').value.includes('time = \"3.1 min\"')")
    write(page, "stations", "bond_frame", "places", "3")
    page.until("document.getElementById('pen').value.includes('places = 3 ')")
    text = page.plan()
    assert text.count("\n") == before.count("\n"), "layout stays"
    assert "# a third would cost about" in text, "comments stay"
    changed = [(a, b) for a, b in zip(before.split("\n"), text.split("\n"), strict=True) if a != b]
    assert len(changed) == 3
    page.click("#undo")
    assert "places = 3 " not in page.plan()
    page.until("document.querySelector('#view-stations tr[data-id=bond_frame]').textContent.includes('2')")
    page.click("#undo")
    assert page.plan() == typed
    page.click("#tab-text")
    page.click("#undo")
    while page.js("return !document.getElementById('undo').disabled"):
        page.click("#undo")
    assert page.plan() == before
    page.click("#redo")
    assert page.plan() != before
    assert page.said() == []


def test_rows_are_added_moved_and_removed(page: Any) -> None:
    page.open("rows")
    before = page.plan()
    page.click(cell(page, "operations", "drill_shell", "id"))
    page.press("Add a row", "#view-operations")
    page.until("document.getElementById('pen').value.includes('name = \"New step\"')")
    order = "[...document.querySelectorAll('#view-operations tr[data-id]')].map(r => r.dataset.id)"
    after = f"(() => {{ const o = {order}; return o[o.indexOf('drill_shell') + 1] }})()"
    new = page.until(f"{after} !== 'shells_to_prep' && {after}")
    page.until(f"document.querySelector('#view-operations tr[data-id=\"{new}\"].chosen')")
    page.press("Down", "#view-operations")
    page.until(f"(() => {{ const o = {order}; return o.indexOf('{new}') === o.indexOf('shells_to_prep') + 1 }})()")
    page.until(f"document.querySelector('#view-operations tr[data-id=\"{new}\"].chosen')")
    page.press("Remove", "#view-operations")
    page.until(f"!document.querySelector('#view-operations tr[data-id=\"{new}\"]')")
    assert page.plan() == before
    assert page.said() == []


def test_a_value_that_means_nothing_is_marked_not_swallowed(page: Any) -> None:
    page.open("nonsense")
    write(page, "operations", "drill_shell", "time", "soon")
    page.until("document.getElementById('count').textContent === '1 error'")
    assert 'time = "soon"' in page.plan()


def test_what_is_saved_is_on_disk_with_a_backup(page: Any) -> None:
    file = page.open("kept")
    before = file.read_text(encoding="utf-8")
    page.replace('demand = "36 each/day"', 'demand = "38 each/day"')
    page.until(UNSAVED)
    assert file.read_text(encoding="utf-8") == before
    page.keys(Keys.CONTROL, "s")
    page.until(SAVED)
    assert file.read_text(encoding="utf-8") == page.plan()
    assert any(b.read_text(encoding="utf-8") == before for b in file.parent.glob("kept.toml*bak*"))
    assert page.said() == []


def test_a_draft_survives_the_closing_of_the_page(page: Any) -> None:
    file = page.open("draft")
    page.replace('demand = "36 each/day"', 'demand = "39 each/day"')
    page.until(UNSAVED)
    written = page.plan()
    page.go("draft")
    assert page.plan() == written
    assert "39" not in file.read_text(encoding="utf-8").split("[overhead]")[0]
    page.press("Throw them away", "#notices")
    page.until(SAVED)
    assert page.plan() == file.read_text(encoding="utf-8")
    page.click("#undo")
    assert page.plan() == written, "even thrown away it can be had back"


def changed_meanwhile(page: Any, name: str) -> tuple[Path, str, str]:
    file = page.open(name)
    page.replace('demand = "36 each/day"', 'demand = "40 each/day"')
    page.until(UNSAVED)
    mine = page.plan()
    theirs = file.read_text(encoding="utf-8").replace('money = "EUR"', 'money = "GBP"', 1)
    file.write_text(theirs, encoding="utf-8")
    page.keys(Keys.CONTROL, "s")
    page.until("document.getElementById('conflict').open")
    shown = page.text("#conflict .differ")
    assert "GBP" in shown
    assert "40 each/day" in shown
    return file, mine, theirs


def versions(page: Any, name: str) -> list[str]:
    return [v.read_text(encoding="utf-8") for v in (page.served.folder / f"{name}.versions").glob("*.toml")]


@pytest.mark.parametrize("choice", ["Keep mine", "Take theirs", "Save mine beside"])
def test_of_two_versions_none_is_lost(page: Any, axe: Callable[..., list[str]], choice: str) -> None:
    name = f"conflict-{choice.split()[0].lower()}"
    file, mine, theirs = changed_meanwhile(page, name)
    if choice == "Keep mine":
        page.shot("conflict-1366x768")
        assert axe(page, "#conflict") == []
    page.press(choice, "#conflict")
    page.until("!document.getElementById('conflict').open")
    page.until(SAVED)
    page.until("document.querySelector('.notice')")
    if choice == "Keep mine":
        assert file.read_text(encoding="utf-8") == mine == page.plan()
        assert theirs in versions(page, name)
    elif choice == "Take theirs":
        assert file.read_text(encoding="utf-8") == theirs == page.plan()
        assert mine in versions(page, name)
    else:
        assert file.read_text(encoding="utf-8") == theirs == page.plan()
        assert (file.parent / f"{name}-mine.toml").read_text(encoding="utf-8") == mine
    assert all("409" in said for said in page.said()), "the refusal is all that the console knows"


def test_a_server_that_is_gone_loses_nothing(page: Any) -> None:
    page.open("alone")
    page.driver.execute_cdp_cmd("Network.enable", {})
    gone = {"offline": True, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
    page.driver.execute_cdp_cmd("Network.emulateNetworkConditions", gone)
    try:
        page.replace('demand = "36 each/day"', 'demand = "41 each/day"')
        page.until("document.getElementById('why').textContent.includes('does not answer')")
        page.keys(Keys.CONTROL, "s")
        page.until("document.getElementById('notices').textContent.includes('Not saved')")
        page.until(UNSAVED)
    finally:
        page.driver.execute_cdp_cmd("Network.emulateNetworkConditions", {**gone, "offline": False})
    page.keys(Keys.CONTROL, "s")
    page.until(SAVED)
    page.until("document.getElementById('why').hidden")
    assert page.text("#verdict").startswith("Makes 41 trailers a day?")
    assert "41 each/day" in (page.served.folder / "alone.toml").read_text(encoding="utf-8")
    page.said()
