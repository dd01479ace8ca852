"""The weeks of a season in a terminal of 80 columns: every heading and date whole, idle weeks left out."""

from __future__ import annotations

import io
from pathlib import Path

from rich.console import Console

from linewright.answer import Answer, answer
from linewright.base.results import Table
from linewright.plan import read_plan
from linewright.report.grid import narrow
from linewright.report.seasonal import tables
from linewright.report.terminal import print_answer

CIDERY = Path(__file__).parents[1] / "examples" / "blank_cidery.toml"


def printed(found: Answer) -> str:
    out = io.StringIO()
    print_answer(found, console=Console(file=out, width=80))
    return out.getvalue()


def test_nothing_of_a_year_is_cut_off() -> None:
    found = answer(read_plan(CIDERY))
    page = printed(found)
    assert "…" not in page
    assert all(len(line.rstrip()) <= 80 for line in page.splitlines())
    assert page.count("2026-09-14") == 2  # what comes, and the vessels
    assert "2027-06-07" not in page  # nothing comes, stands or is finished any more
    season = found.season
    assert season is not None
    goods, vessels = tables.weeks_in_short(found)
    assert sum(row[1] for row in goods.rows) == 16_000  # type: ignore[misc]
    stands = {m for m, used in zip(season.balance.mondays, season.balance.most_in_use, strict=True) if used.max() > 0.1}
    assert stands <= {row[0] for row in vessels.rows}
    assert len(tables.weeks(found).rows) == 51  # the page keeps them all


def test_a_wide_table_in_parts() -> None:
    table = Table(
        "Wide", ("week of", *(f"vessel number {k}" for k in range(20))), (("2026-09-07", *range(20)),), "Note."
    )
    parts = narrow(table, 40)
    assert all(part.columns[0] == "week of" for part in parts)
    assert [cell for part in parts for cell in part.rows[0][1:]] == list(range(20))
    assert [part.note for part in parts if part.note] == ["Note."]
