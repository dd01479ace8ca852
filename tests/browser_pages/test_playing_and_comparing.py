"""What takes longer: simulations with partial results and cancel, versions compared, a day played over the map."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from selenium.webdriver.common.keys import Keys

RUNNING = "!document.querySelector('#runbar button').hidden && !document.getElementById('runbar').hidden"
TOLD = "document.querySelector('.runtext').textContent"


def test_a_simulation_is_cancelled_and_run_again(page: Any) -> None:
    page.open("played")
    before = page.text("#verdict")
    page.click("#simulate")
    page.until(RUNNING)
    page.press("Cancel", "#runbar")
    page.until(f"{TOLD} === 'Cancelled.'")
    assert page.text("#verdict") == before
    page.click("#simulate")
    page.until(f"{TOLD} === 'Simulated.'")
    assert "simulated" in page.text("#verdict")
    assert "±" in page.text("#verdict")
    page.until("document.querySelector('#q-rate').textContent.includes('What the simulation shows')")
    page.choose("#mapway", "state")
    legend = page.until("document.querySelector('.legend').textContent")
    assert "working" in legend
    badges = page.js("return [...document.querySelectorAll('text.badge')].map(t => t.textContent)")
    assert {"working", "blocked"} <= set(badges), "the state is written, not only coloured"
    page.replace('demand = "36 each/day"', 'demand = "37 each/day"')
    page.until(f"{TOLD}.startsWith('The text has changed')")
    assert page.said() == []


def test_two_versions_are_compared_under_the_same_luck(page: Any, axe: Callable[..., list[str]]) -> None:
    page.open("compared")
    page.click("#tocompare")
    page.until("document.getElementById('compare').open")
    page.press("Keep", "#compare")
    page.until("document.querySelector('.versions b')?.textContent === 'as it is'")
    page.replace('stand = "14 min"', 'stand = "9 min"')
    page.until("document.querySelector('[data-key=allowed] .was')")
    page.press("Compare with now", "#compare")
    page.until("document.querySelector('.compared table')")
    assert "as it is" in page.text(".compared thead")
    assert 'stand = "9 min"' in page.text(".compared .differ")
    page.press("Simulate both", "#compare")
    page.until("document.querySelector('.compared .said').textContent.includes('±')")
    rows = page.js(
        "return [...document.querySelectorAll('.compared tbody tr')].map(r => [...r.children].map(c => c.textContent))"
    )
    flat_out = next(row for row in rows if row[0].startswith("rate, flat out"))
    assert float(flat_out[2]) > float(flat_out[1])
    assert flat_out[3].startswith("+")
    page.shot("compared-1366x768")
    assert axe(page, "#compare") == []
    page.press("Compare with now", "#compare li:last-child")
    page.until("document.querySelector('.compared thead')?.textContent.includes('as saved')")
    page.press("Open", "#compare")
    page.until("document.getElementById('pen').value.includes('stand = \"14 min\"')")
    page.press("Remove", "#compare")
    page.until("!document.querySelector('.versions b')")
    page.press("Bring it back", "#notices")
    page.until("document.querySelector('.versions b')?.textContent === 'as it is'")
    assert page.said() == []


def test_a_day_is_played_over_the_map(page: Any, axe: Callable[..., list[str]]) -> None:
    page.open("moving")
    page.press("Play a day")
    page.until("document.querySelector('.player')")
    clock = page.text(".clock")
    piles = "document.querySelectorAll('.pieces .waits').length"
    page.until(piles)
    page.press("Play", ".player")
    page.until("document.querySelector('.clock').textContent !== arguments[0]", clock)
    page.until("document.querySelector('.pieces .flies')")
    page.shot("playing-1366x768")
    page.press("Pause", ".player")
    stood = page.text(".clock")
    slider = page.one(".player input")
    slider.send_keys(Keys.END)
    page.until("document.querySelector('.clock').textContent !== arguments[0]", stood)
    assert not page.js("return document.querySelector('.pieces .flies')")
    ends = page.text(".piles")
    assert axe(page, "#q-made > .own") == []
    slider.send_keys(Keys.HOME)
    slider.send_keys(Keys.END)
    assert page.text(".piles") == ends, "a time looks the same whichever way one comes to it"
    page.press("Put away", ".player")
    assert not page.js("return document.querySelector('.pieces')")
    assert page.said() == []


def test_less_motion_is_respected(page: Any) -> None:
    page.driver.execute_cdp_cmd(
        "Emulation.setEmulatedMedia", {"features": [{"name": "prefers-reduced-motion", "value": "reduce"}]}
    )
    page.open("still")
    page.press("Play a day")
    page.until("document.querySelector('.player')")
    clock = page.text(".clock")
    page.js(
        "window.flown = 0; new MutationObserver(l => l.forEach(m => m.addedNodes.forEach("
        "n => { if (n.classList?.contains('flies')) window.flown += 1 }))).observe("
        "document.querySelector('.lw-map'), {childList: true, subtree: true})"
    )
    page.press("Play", ".player")
    page.until("document.querySelector('.clock').textContent !== arguments[0]", clock)
    assert page.js("return window.flown") == 0


def test_a_change_that_would_help_is_tried_in_the_text(page: Any) -> None:
    file = page.open("tried")
    page.unfold("compare")
    page.until("document.querySelector('.versions')")
    seen = page.driver.execute_async_script("""
      const done = arguments[0], said = [], soon = () => new Promise((ready) => setTimeout(ready, 20));
      import('/static/trials.js').then(async ({ trials }) => {
        const aside = async (label) => { said.push(label); return label; };
        const compare = async (label) => said.push('compare ' + label);
        const change = async (edits) => { said.push(edits); return edits.length > 1; };
        const tries = [{ what: 'one more place', gain: '2.1 ± 0.3', verdict: 'helps', assumes: '', edits: [1, 2] },
                       { what: 'less', gain: '', verdict: 'no change', assumes: 'it holds', edits: [3] }];
        const box = trials(tries, { change, versions: { aside, compare } });
        document.body.append(box);
        for (const button of box.querySelectorAll('button')) { button.click(); await soon(); }
        done([said, box.textContent, trials([], {})]);
      }, (wrong) => done(String(wrong)));
    """)
    said, text, nothing = seen
    assert said == ["before one more place", [1, 2], "compare before one more place", "before less", [3]]
    assert "helps, +2.1 ± 0.3 a day" in text
    assert "It holds." in text
    assert nothing is None
    assert file.exists()


def test_what_would_help_and_who_does_what_are_asked_for(page: Any) -> None:
    page.open("helped")
    page.unfold("q-people")
    page.press("Share the work out anew", "#q-people")
    page.until("document.querySelector('#q-people .outcome table')")
    page.unfold("q-helps")
    page.press("Try every single change", "#q-helps")
    page.until(RUNNING)
    page.press("Cancel", "#runbar")
    page.until(f"{TOLD} === 'Cancelled.'")
    assert page.said() == []
