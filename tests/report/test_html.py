"""The page: whole in itself, escaped, with every question, and with or without the extra for charts."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from linewright.answer.model import Answer
from linewright.base.cautions import DEFER
from linewright.base.results import Table
from linewright.report import drawing, parts
from linewright.report.html import to_html, write_html

QUESTIONS = [
    "How is it made?", "What goes in and out?", "Will it make the rate?", "Who does what?", "What does one cost?",
    "How do we know it is good?", "What would help most?", "What can hurt someone?",
]  # fmt: skip

VOID = {"meta", "link", "img", "br", "hr", "input"}


class Reader(HTMLParser):
    """Collects addresses, ids and whether every element is closed where it was opened."""

    def __init__(self) -> None:
        super().__init__()
        self.addresses: list[str] = []
        self.ids: list[str] = []
        self.open: list[str] = []
        self.scripts = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in VOID:
            self.open.append(tag)
        self.scripts += tag == "script"
        for name, value in attrs:
            if name in ("src", "href", "xlink:href", "action", "data", "poster", "srcset"):
                self.addresses.append(value or "")
            if name == "id":
                self.ids.append(value or "")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            assert self.open
            assert self.open.pop() == tag


def read(page: str) -> Reader:
    reader = Reader()
    reader.feed(page)
    reader.close()
    assert reader.open == []
    return reader


@pytest.mark.parametrize("live", [True, False])
def test_page_needs_nothing_else(given: Answer, live: bool) -> None:
    if live and not drawing.can_draw():
        pytest.skip("live charts need the extra charts")
    page = to_html(given, live=live)
    reader = read(page)
    assert all(address.startswith("#") for address in reader.addresses)
    inside = {address[1:] for address in reader.addresses}
    assert inside <= set(reader.ids)
    assert len(reader.ids) == len(set(reader.ids))
    assert "default-src 'none'" in page
    style = "".join(re.findall(r"<style>(.*?)</style>", page, flags=re.S))
    assert "url(http" not in style
    assert "@import" not in style
    assert reader.scripts == (2 if live else 0)


def test_every_question_is_there(given: Answer) -> None:
    page = to_html(given, live=False)
    for question in QUESTIONS:
        assert f"<h2>{question}</h2>" in page


def test_texts_of_the_plan_are_escaped(given: Answer) -> None:
    item = next(iter(given.plan.items.values()))
    items = {**given.plan.items, item.id: replace(item, name="<script>alert(1)</script>")}
    bad = replace(given, plan=replace(given.plan, items=items, name='"><img src=x onerror=alert(1)>'))
    page = to_html(bad, live=drawing.can_draw())
    assert "<script>alert" not in page
    assert "<img src=x" not in page
    read(page)


def test_cautions_end_by_deferring_and_nothing_is_called_safe(given: Answer) -> None:
    page = to_html(given, live=False)
    assert page.count(DEFER.replace("'", "&#x27;")) == len(given.cautions) > 0
    text = re.sub(r"<[^>]+>", " ", page)
    assert not re.search(r"\b(is|are) safe\b", text)


def test_no_hazard_named_is_not_called_safe(given: Answer) -> None:
    page = to_html(replace(given, cautions=()), live=False)
    assert "ask a competent person" in page


def test_a_no_is_said_first(given: Answer) -> None:
    bad = replace(given, capacity=replace(given.capacity, makes=False, multiple=0.84))
    page = to_html(bad, live=False)
    assert 'class="answer no"' in page
    assert "at most 84 % of it" in page


def test_without_the_extra_the_page_says_so(given: Answer, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(drawing, "can_draw", lambda: False)
    page = to_html(given)
    assert "linewright[charts]" in page
    assert "data-chart" not in page.split("</style>")[1]
    read(page)


def test_written_as_utf8(given: Answer, tmp_path: Path) -> None:
    path = write_html(given, tmp_path / "page.html", live=False)
    assert "Taken for granted" in path.read_text(encoding="utf-8")


def test_columns_of_a_table_keep_intervals_whole_and_give_long_texts_room() -> None:
    why = "One place can make one visit in twenty working days, because a place waits for the crew to come back."
    drawn = parts.table(Table("Limits", ("limit", "use", "rate", "why"), (("tank", 3, "53 ± 0", why),)))
    assert '<td>tank</td><td class="num">3</td><td class="whole">53 ± 0</td><td class="long">' in drawn
