"""The map by keyboard and pointer: from operation to operation, to its text, enlarged, coloured, as a list."""

from __future__ import annotations

from typing import Any

from selenium.webdriver.common.keys import Keys

AT = "document.activeElement.closest('g.node')?.dataset.node"
VIEW = "document.querySelector('.lw-map').getAttribute('viewBox')"


def focus_map(page: Any) -> str:
    page.js("document.querySelector('.lw-map g.node[tabindex=\"0\"]').focus()")
    return str(page.until(AT))


def test_the_keyboard_goes_over_the_map_to_the_text(page: Any) -> None:
    page.open("keys")
    first = focus_map(page)
    page.keys(Keys.ARROW_RIGHT)
    second = page.until(f"({AT}) !== arguments[0] && {AT}", first)
    page.keys(Keys.ARROW_DOWN)
    page.until(f"({AT}) !== arguments[0]", second)
    page.keys(Keys.HOME)
    page.until(f"({AT}) === arguments[0]", first)
    seen = [first]
    for _ in range(33):
        page.keys(Keys.ARROW_RIGHT)
        seen.append(page.js(f"return {AT}"))
    assert len(set(seen)) > 20, "arrows go on from band to band"
    page.keys(Keys.HOME)
    page.keys(Keys.ARROW_RIGHT)
    page.keys(Keys.ENTER)
    page.until("document.activeElement.id === 'pen'")
    line = page.js("return document.querySelector('.gutter .here').textContent")
    assert page.plan().split("\n")[int(line) - 1 :][:3][1] == f'id = "{second}"'
    assert page.js("return document.querySelector('.lw-map g.chosen').dataset.node") == second
    assert page.said() == []


def test_every_operation_has_a_name_for_whoever_listens(page: Any) -> None:
    page.open("heard")
    named = page.js(
        "return [...document.querySelectorAll('.lw-map g.node[role=button]')].map(n => n.getAttribute('aria-label'))"
    )
    assert len(named) == 35
    assert all(name and name[0].isdigit() for name in named)
    page.press("As a list")
    assert page.js("return document.querySelectorAll('.maplist tbody tr').length") == 35
    page.click(".maplist button")
    page.until("document.activeElement.id === 'pen'")


def test_the_map_is_moved_enlarged_and_coloured(page: Any) -> None:
    page.open("moved")
    view = page.js(f"return {VIEW}")
    page.click("[aria-label='Enlarge']")
    assert page.until(f"{VIEW} !== arguments[0] && {VIEW}", view)
    from selenium.webdriver import ActionChains

    near = page.js(f"return {VIEW}")
    frame = page.one(".mapframe")
    ActionChains(page.driver).move_to_element(frame).click_and_hold().move_by_offset(-90, -60).release().perform()
    page.until(f"{VIEW} !== arguments[0]", near)
    page.click("[aria-label='Show the whole map']")
    for way, mark in (("use", "%"), ("cost", ".")):
        page.choose("#mapway", way)
        badges = page.js("return [...document.querySelectorAll('text.badge')].map(t => t.textContent)")
        assert len(badges) > 25
        assert all(mark in badge for badge in badges), "a colour never stands alone"
        assert page.js("return document.querySelectorAll('.legend .key').length") == 5
    page.shot("map-cost-1366x768")
