"""A plan is opened, broken and mended and its time changed in the text; the answers follow, and undo takes all back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from selenium.webdriver.common.keys import Keys

MODULES = """
const done = arguments[0];
(async () => {
  const { compared, near } = await import('/static/lines.js');
  const { coloured, openings, tableAt } = await import('/static/toml.js');
  const { offered } = await import('/static/complete.js');
  const { PlanText } = await import('/static/text.js');
  const { Pieces } = await import('/static/pieces.js');
  BODY
})().then(done, (wrong) => done(String(wrong.stack)));
"""


@pytest.fixture
def module(page: Any) -> Callable[[str], Any]:
    """Run lines of JavaScript with the page's own modules at hand."""
    page.driver.get(page.served.address + "/")
    return lambda body: page.driver.execute_async_script(MODULES.replace("BODY", body))


def test_the_plans_of_the_folder_lead_to_their_pages(page: Any) -> None:
    page.driver.get(page.served.address + "/")
    assert {"Luggage trailer", "Cellar cider"} <= {
        b.text for b in page.driver.find_elements("css selector", ".plans b")
    }
    page.click("a[href='/plan/cider']")
    page.until("document.body.dataset.ready === 'yes'")
    assert page.text("#title") == "Cellar cider"
    assert page.said() == []


def test_a_mistake_is_marked_where_it_stands_and_goes_when_mended(page: Any) -> None:
    page.open("broken")
    verdict = page.text("#verdict")
    page.replace('station = "trim_booth"', 'station = "tram_booth"')
    page.until("document.getElementById('count').textContent === '1 error'")
    line = page.js("return document.getElementById('pen').value.split('tram_booth')[0].split('\\n').length")
    assert page.until("document.querySelector('.gutter .number.error')?.textContent") == str(line)
    assert "tram_booth" in page.text(".ink .line.error")
    assert page.js("return document.querySelector('.wave.error').getBoundingClientRect().width") > 50
    assert 'did you mean "trim_booth"' in page.text("#problems li")
    page.until("!document.getElementById('why').hidden")
    assert page.text("#verdict") == verdict, "the last good answer stays in sight"
    page.click("#problems button")
    assert page.until("document.activeElement.id") == "pen"
    page.click("#undo")
    while "tram_booth" in page.plan():
        page.keys(Keys.CONTROL, "z")
    page.until("document.getElementById('count').textContent === 'No problem found'")
    page.until("document.getElementById('why').hidden")
    assert page.said() == []


def test_a_longer_time_lowers_the_rate(page: Any) -> None:
    page.open("slower")
    page.unfold("q-rate")
    first = page.until("document.querySelector('#q-rate .body table td.num')?.textContent")
    page.replace('stand = "14 min"', 'stand = "28 min"')
    page.until("document.querySelector('#q-rate .body table td.num').textContent !== arguments[0]", first)
    now = page.text("#q-rate .body table td.num")
    assert float(now) < float(first)
    page.until("document.querySelector('.figures .moved .was')")
    assert page.said() == []


def test_charts_are_drawn_and_tell_what_the_pointer_rests_on(page: Any) -> None:
    pytest.importorskip("vl_convert", reason="charts need the extra charts")
    page.open("charted")
    page.js("document.getElementById('q-made').open = false")
    page.unfold("q-rate")
    page.until("document.querySelector('[data-chart=bounds] svg')")
    page.js("document.querySelector('[data-chart=bounds]').scrollIntoView({block: 'center'})")
    from selenium.webdriver import ActionChains

    bar = page.one("[data-chart=bounds] svg .mark-rect path")
    ActionChains(page.driver).move_to_element(bar).pause(0.05).move_by_offset(1, 1).perform()
    page.until("document.querySelector('.teller:not([hidden])')?.textContent.includes('Bond frame')")
    ink = page.js("return getComputedStyle(document.querySelector('[data-chart=bounds] svg text')).fill")
    page.look("dark")
    page.until("getComputedStyle(document.querySelector('[data-chart=bounds] svg text')).fill !== arguments[0]", ink)
    assert page.said() == [], "no style or script that the policy refuses"


def test_names_are_completed(page: Any) -> None:
    page.open("completed")
    page.replace('station = "prep_bench"', 'station = "bond')
    page.until("!document.getElementById('offers').hidden")
    assert "bond_frame" in page.text("#offers")
    page.one("#pen").send_keys(Keys.ENTER)
    assert page.plan().count('\nstation = "bond_frame"\n') == 6
    assert page.js("return document.getElementById('offers').hidden")
    page.js(
        "const p = document.getElementById('pen'), i = p.value.indexOf('\"wrap_bay\"') + 1;p.setSelectionRange(i, i)"
    )
    page.keys(Keys.CONTROL, " ")
    page.until("!document.getElementById('offers').hidden")
    page.one("#pen").send_keys(Keys.ARROW_DOWN, Keys.ENTER)
    assert 'station = "wrap_bay"' not in page.plan(), "the name that stood there is replaced whole"
    page.until("document.getElementById('count').textContent === 'No problem found'")
    assert page.said() == []


def test_a_new_plan_is_written_and_opened(page: Any) -> None:
    page.driver.get(page.served.address + "/")
    page.one("#newname").send_keys("bench_vice", Keys.ENTER)
    page.until("document.body.dataset.ready === 'yes'")
    assert page.js("return location.pathname") == "/plan/bench_vice"
    assert page.text("#count") == "No problem found"
    assert (page.served.folder / "bench_vice.toml").exists()
    page.driver.get(page.served.address + "/")
    page.one("#newname").send_keys("../elsewhere", Keys.ENTER)
    page.until("document.getElementById('newsaid').textContent")
    assert not (page.served.folder.parent / "elsewhere.toml").exists()


def test_what_a_plan_calls_its_things_is_never_taken_for_markup(page: Any) -> None:
    hostile = "<img src=x onerror=document.title=1><script>document.title=2</script>"
    file = page.served.folder / "hostile.toml"
    text = (page.served.folder / "trailer.toml").read_text(encoding="utf-8")
    for name in ("Luggage trailer", "Bond frame", "Bonder", "Cure in the heated frame"):
        text = text.replace(f'name = "{name}"', f'name = "{hostile}"')
    file.write_text(text.replace('"seam gap"', f'"{hostile}"'), encoding="utf-8")
    page.go("hostile")
    for question in page.all("details.question"):
        page.js("arguments[0].open = true", question)
    page.until("document.querySelectorAll('details.question .body table').length > 12")
    page.press("As a list")
    for kind in ("operations", "stations", "crews", "items"):
        page.click(f"#tab-{kind}")
        page.until(f"document.querySelector('#view-{kind} td')")
    assert page.text("#title") == hostile
    assert page.js("return document.querySelectorAll('img, main script, body > script').length") == 0
    assert page.driver.title.endswith(f"{hostile} · Linewright")
    assert page.said() == []
    page.driver.get(page.served.address + "/")
    assert page.js("return document.querySelectorAll('img, body script').length") == 0
    assert page.said() == []


@pytest.mark.parametrize("look", ["light", "dark"])
def test_nothing_serious_for_whoever_reads_otherwise(page: Any, axe: Callable[..., list[str]], look: str) -> None:
    page.look(look)
    page.driver.get(page.served.address + "/")
    assert axe(page) == []
    page.open("axe")
    for question in page.all("details.question"):
        page.js("arguments[0].open = true", question)
    page.until("document.querySelectorAll('details.question .body table').length > 12")
    assert axe(page) == []
    page.click("#tab-operations")
    page.until("document.querySelector('#view-operations td')")
    assert axe(page, ".plan") == []
    page.size(768, 1024)
    page.click("[data-to=answers]")
    assert axe(page, "header.top") == []
    page.shot(f"answers-768x1024-{look}")
    page.size(1366, 768)
    page.shot(f"bench-1366x768-{look}")


def test_two_texts_are_compared_line_by_line(module: Callable[[str], Any]) -> None:
    rows = module(
        "return near(compared('a\\nb\\nc\\nd\\ne\\nf\\ng\\nh', 'a\\nb\\nc\\nd\\ne\\nf\\nX\\nh'), 1)"
        ".map(r => r.kind + (r.text ?? r.count))"
    )
    assert rows == ["gap5", "samef", "outg", "inX", "sameh"]


def test_the_history_joins_what_is_typed_and_takes_steps_back(module: Callable[[str], Any]) -> None:
    seen = module("""
      const t = new PlanText(), all = [], say = () => all.push(t.text);
      t.begin('rate'); t.change('rate '); t.change('rate 4'); t.change('rate 5', { by: 'table' });
      say(); t.undo(); say(); t.undo(); say(); t.redo(); t.redo(); say(); t.undo(); t.change('other'); t.redo(); say();
      return all;""")
    assert seen == ["rate 5", "rate 4", "rate", "rate 5", "other"]


def test_a_line_is_coloured_as_toml(module: Callable[[str], Any]) -> None:
    seen = module("""
      return [
        coloured('time = { mean = "5 # min", cv = 0.15 } # five').filter(([k]) => k !== 'plain' && k !== 'mark'),
        coloured('[stations.press]')[0], coloured('x = ["a", 1]').filter(([k]) => k === 'table').length,
        openings(['note = \"\"\"', 'long', 'end\"\"\"', 'x = 1']),
        tableAt(['[[routes.shell.operations]]', 'id = "a"'], 1),
      ]""")
    kinds = [["key", "time"], ["key", "mean"], ["string", '"5 # min"'], ["key", "cv"], ["number", "0.15"]]
    assert seen[0] == [*kinds, ["comment", "# five"]]
    assert seen[1:] == [["table", "[stations.press]"], 0, ["", '"""', '"""', ""], ["routes", "shell", "operations"]]


def test_what_is_offered_fits_the_place(module: Callable[[str], Any]) -> None:
    seen = module("""
      const known = { names: { stations: ['press', 'oven'], crews: ['fitter'], items: ['lid'], faults: ['seam gap'] },
                      fields: { operations: [{ name: 'time' }, { name: 'takes' }], '': [{ name: 'stations' }] } };
      const at = (line, after = '') => offered(['[[routes.r.operations]]', line + after], 1, line.length, known, true)
        ?.options.map(o => o.put) ?? null;
      return [at('station = "p', '"'), at('station = "p'), at('station = p'), at('crew = { f'), at('ti'), at('[st'),
              at('# t'), at('takes = { lid = 1, l'), at('faults = { s')];""")
    assert seen == [
        ["press"], ['press"'], ['"press"'], ["fitter"], ["time"], ["stations"], None, ["lid"], ['"seam gap"']
    ]  # fmt: skip


def test_pieces_stand_where_the_trace_says(module: Callable[[str], Any]) -> None:
    seen = module("""
      const names = { item: ['board', 'flakes'], operation: ['saw', 'glue', 'mill'], station: ['bench'],
                      event: ['enters', 'starts', 'ends', 'finished', 'stops', 'mended', 'runs at', 'scrapped'] };
      const rows = (...all) => ({ time: all.map(r => r[0]), lot: all.map(r => r[1]), item: all.map(r => r[2]),
        operation: all.map(r => r[3]), station: all.map(r => r[4]), event: all.map(r => names.event.indexOf(r[5])) });
      const before = rows([-5, 1, 0, 0, 0, 'starts'], [-4, 9, 1, 2, -1, 'starts']);
      const trace = rows([10, 1, 0, 0, 0, 'ends'], [15, 2, 0, 0, 0, 'enters'], [20, 1, 0, 1, 0, 'starts'],
        [25, 9, 1, 2, -1, 'runs at'], [30, 2, 0, 0, 0, 'starts'], [32, -1, -1, -1, 0, 'stops'],
        [40, 2, 0, 0, 0, 'ends'], [41, -1, -1, -1, 0, 'mended'], [50, 1, 0, 1, 0, 'ends'],
        [55, 1, 0, 1, 0, 'finished'], [60, 9, 1, 2, -1, 'ends'], [70, 2, 0, 1, 0, 'scrapped']);
      const pieces = new Pieces({ names, begin: 0, end: 100, before, trace });
      const told = () => [pieces.counts().map(c => c.join('')).join(' '), pieces.down.size];
      const at = (time) => { pieces.go(time); return told(); };
      return [at(0), at(12), at(16), at(26), at(33), at(42), at(52), at(56), at(80), at(16), pieces.finished];""")
    waits, works, runs, idle = "100", "010", "010", "000"  # waiting, in work, done and still there
    assert seen == [
        [f"{works} 000 {runs}", 0],
        [f"000 {waits} {runs}", 0],
        [f"{waits} {waits} {runs}", 0],
        [f"{waits} {works} {runs}", 0],
        [f"{works} {works} {runs}", 1],
        ["000 110 010", 0],
        [f"000 101 {runs}", 0],
        [f"000 {waits} {runs}", 0],
        [f"000 000 {idle}", 0],
        [f"{waits} {waits} {runs}", 0],
        0,
    ]
