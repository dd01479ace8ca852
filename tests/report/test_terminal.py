"""The terminal page: answers first, whole in 80 columns, and every problem with its place and hint."""

from __future__ import annotations

import io
from dataclasses import replace

from rich.console import Console

from linewright.answer.model import Answer
from linewright.base.cautions import DEFER
from linewright.base.problems import Level, Problem
from linewright.report import tables
from linewright.report.terminal import print_answer, print_problems


def printed(answer: Answer, width: int = 100) -> str:
    out = io.StringIO()
    print_answer(answer, "page.html", Console(file=out, width=width))
    return out.getvalue()


def test_the_answer_comes_first(given: Answer) -> None:
    text = printed(given)
    first = text.index("yes by every bound, with at most 11 % to spare")
    assert first < text.index("What limits the rate")
    assert "What does one cost?" in text
    assert "page.html" in text


def test_nothing_is_wider_than_the_terminal(given: Answer) -> None:
    assert max(len(line) for line in printed(given, 80).split("\n")) <= 80


def test_cautions_are_said_and_deferred(given: Answer) -> None:
    text = " ".join(printed(given).split())
    for caution in given.cautions:
        assert caution.hazard in text
    assert DEFER[1:] in text


def test_texts_with_brackets_are_printed_as_they_are(given: Answer) -> None:
    odd = replace(given, plan=replace(given.plan, name="[red]kit[/red] [/]"))
    assert "[red]kit[/red] [/]" in printed(odd)


def test_problems_show_place_value_and_hint() -> None:
    out = io.StringIO()
    wrong = Problem(
        "a.b", "there is no such station", '"saw"', "a station", 'did you mean "sew"?', file="p.toml", line=7
    )
    later = Problem("c", "assumed", level=Level.WARNING)
    print_problems([later, wrong], Console(file=out, width=100))
    text = out.getvalue()
    assert text.index("p.toml:7") < text.index("assumed")
    assert 'did you mean "sew"?' in text
    assert "1 error, 1 warning" in text


def test_the_next_limit_is_at_another_place(given: Answer) -> None:
    tight = given.capacity.bounds[0]
    twice = (tight, replace(tight, kind="standing", multiple=tight.multiple + 0.01), *given.capacity.bounds[1:])
    odd = replace(given, capacity=replace(given.capacity, bounds=twice))
    rows = tables.ladder(odd).rows
    assert len({row[0] for row in rows}) == len(rows)
    assert rows[0][3] == given.capacity.bounds[1].rate


def test_limits_that_are_alike_are_lifted_together(given: Answer) -> None:
    """One more of either alone would give nothing."""
    first, *others = given.capacity.bounds
    twin = replace(first, where="twin", kind="load")
    both = replace(given, capacity=replace(given.capacity, bounds=(first, twin, *others)))
    text = printed(both, 300)
    said = text[text.index("first lift") : text.index("What can hurt someone?")]
    assert "twin (load)" in said
    assert " together, which allows" in said
