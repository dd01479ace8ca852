"""Bad seasons, each with its path and its words."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from linewright.base.problems import Problems
from linewright.plan.read import read_document


def document() -> dict[str, Any]:
    """A sound season."""
    return {
        "plan": {"name": "Season", "money": "EUR", "makes": "cider", "from": "2026-09-14", "to": "2026-12-31"},
        "intake": [{"item": "fruit", "from": "2026-09-14", "to": "2026-10-31", "weekly": "14 t"}],
        "items": {"fruit": {"unit": "kg", "buy": "0.2 EUR"}, "cider": {"unit": "L", "mass": "1 kg"}},
        "routes": {
            "press": {
                "gives": "cider",
                "operations": [{"id": "press", "takes": {"fruit": "1.4 kg"}, "time": {"rate": "900 L/h"},
                                "loses": {"pomace": "rest"}}],
            }
        },
    }  # fmt: skip


def errors(change: Callable[[dict[str, Any]], object]) -> list[tuple[str, str]]:
    written = document()
    change(written)
    problems = Problems()
    read_document(written, Path(), problems)
    return [(p.path, p.what) for p in problems.errors]


def test_a_sound_season_has_no_errors() -> None:
    assert errors(lambda _: None) == []


CASES: list[tuple[Callable[[dict[str, Any]], object], str, str]] = [
    (lambda d: d["intake"][0].update({"from": "2026-02-30"}), "intake[0].from", "there is no such day"),
    (lambda d: d["plan"].update({"to": "31.12.2026"}), "plan.to", "this is not a date"),
    (lambda d: d["intake"][0].update({"to": "2026-09-01"}), "intake[0].to", "ends before it begins"),
    (lambda d: d["plan"].update({"to": "2026-09-01"}), "plan.to", "the horizon ends before it begins"),
    (lambda d: d["plan"].update({"to": "2036-09-01"}), "plan.to", "the horizon has 3641 days"),
    (lambda d: d["plan"].pop("to"), "plan.to", "`from` and `to` belong together"),
    (lambda d: [d["plan"].pop(k) for k in ("from", "to")], "plan.from", "no steady state"),
    (
        lambda d: d["intake"][0].update({"from": "2027-09-14", "to": "2027-10-01"}),
        "intake[0].from", "outside the horizon",
    ),
    (lambda d: d["intake"][0].update({"weekly": "14 L"}), "intake[0].weekly", "is a volume"),
    (lambda d: d["intake"][0].update({"weekly": ["1 t", "2 t"]}), "intake[0].weekly", "2 weekly amounts are written"),
    (lambda d: d["intake"][0].update({"weekly": "0 t"}), "intake[0].weekly", "nothing ever comes"),
    (lambda d: d["intake"][0].update({"item": "frut"}), "intake[0].item", 'no item is called "frut"'),
    (lambda d: d["intake"][0].update({"item": "cider"}), "items.cider", "makes it too"),
    (lambda d: d.pop("intake"), "plan.makes", "no harvest says how much"),
    (lambda d: d["plan"].update({"closed": "2027-01-02..2026-12-24"}), "plan.closed", "ends before it begins"),
    (lambda d: d.update({"intake": {"item": "fruit"}}), "intake", "this is a table"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "path", "what"), CASES)
def test_every_problem_is_named(change: Callable[[dict[str, Any]], object], path: str, what: str) -> None:
    found = errors(change)
    assert any(where == path and what in said for where, said in found), found


def test_dates_without_quotes_are_dates(tmp_path: Path) -> None:
    """TOML has dates of its own."""
    import tomllib

    read = tomllib.loads('[plan]\nname = "S"\nfrom = 2026-09-14\nto = 2026-12-31')
    written = document()
    written["plan"].update({"from": read["plan"]["from"], "to": read["plan"]["to"]})
    problems = Problems()
    plan = read_document(written, tmp_path, problems)
    assert plan is not None
    assert str(plan.begins) == "2026-09-14"
