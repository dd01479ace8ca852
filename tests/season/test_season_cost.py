"""What a season costs in all: by part and by month, against the cost of one and by hand."""

from __future__ import annotations

from pathlib import Path

import pytest
from season_cases import cellar

from linewright.answer import answer
from linewright.base.results import show
from linewright.plan import read_plan
from linewright.report.head import head_of
from linewright.report.html import to_html
from linewright.report.seasonal import tables
from linewright.report.tables import cost_parts

HARVEST = Path(__file__).parents[2] / "examples" / "harvest.toml"


def test_a_season_by_hand() -> None:
    """98 t of fruit at 0.20 EUR, and one hand for 8 h on 79 working days at 20 EUR: 19,600 and 12,640 EUR."""
    found = answer(cellar(vats=4).build()).season_cost
    assert found is not None
    assert found.total == pytest.approx(19_600 + 12_640, rel=1e-4)  # the cost of one is told to a hundredth of a cent
    assert sum(money for _, money in found.parts) == pytest.approx(found.total, rel=1e-9)
    assert found.units == pytest.approx((70_000,))
    assert found.unused == pytest.approx(0, abs=1e-6)
    assert [m.month for m in found.months] == ["2026-09", "2026-10", "2026-11", "2026-12"]
    assert [m.working_days for m in found.months] == [13, 22, 21, 23]
    assert [m.people for m in found.months] == pytest.approx([160 * d for d in (13, 22, 21, 23)])
    assert [m.harvest for m in found.months] == pytest.approx([0.2 * 2800 * 13, 0.2 * 2800 * 22, 0, 0])
    assert sum(m.total for m in found.months) == pytest.approx(found.spent, rel=1e-9)
    assert found.months[0].finished[0] == 0
    assert sum(m.finished[0] for m in found.months) == pytest.approx(70_000, rel=1e-6)


def test_what_is_delivered_and_not_used_is_told() -> None:
    """70 L a working day: 5,530 L of 1.4 kg are used of 98 t."""
    builder = cellar(vats=4)
    builder.document["plan"]["demand"] = "70 L/day"
    found = answer(builder.build()).season_cost
    assert found is not None
    assert found.unused == pytest.approx(0.2 * (98_000 - 70 * 79 * 1.4), rel=1e-6)
    assert sum(m.total for m in found.months) == pytest.approx(found.spent, rel=1e-9)
    assert any(row[0] == "harvest delivered and not used" for row in found.to_table().rows)


def test_the_example_adds_up_to_the_cost_of_one() -> None:
    found = answer(read_plan(HARVEST))
    money = found.season_cost
    assert money is not None
    assert found.season is not None
    assert money.total == pytest.approx(found.cost.products[0].total * found.season.aim, rel=1e-6)
    assert sum(m.total for m in money.months) == pytest.approx(money.spent, rel=1e-9)
    assert len(found.to_dict()["season_cost"]["months"]) == len(money.months)
    page = to_html(found)
    assert "What the season costs" in page
    assert "money by month" in page


def test_no_season_no_such_cost() -> None:
    builder = cellar()
    header = builder.document["plan"]
    for key in ("from", "to"):
        del header[key]
    header["demand"] = "200 L/day"
    del builder.document["intake"]
    assert answer(builder.build()).season_cost is None


def test_the_parts_are_called_as_in_the_cost_of_one() -> None:
    """On page and paper the season's money has the names of the table of one unit, and its items their own."""
    builder = cellar(vats=4)
    builder.document["items"]["cider"]["name"] = "Still cider"
    found = answer(builder.build())
    table, one = tables.costs(found), cost_parts(found)
    parts = {row[0] for row in one.rows}
    assert {"material in good pieces", "labour worked"} <= {row[0] for row in table.rows[:-1]} <= parts
    assert [show(row[2]) for row in table.rows[:-1]] == [
        show(row[1]) for row in one.rows if row[0] in {r[0] for r in table.rows[:-1]}
    ]
    assert "70,000 L of still cider" in table.note
    assert tables.months(found).columns[-1] == "Still cider finished"
    assert sum(float(str(row[-1])) for row in tables.months(found).rows) == pytest.approx(70_000, abs=4)


def test_a_season_says_by_names_what_stops_it() -> None:
    builder = cellar(vats=1)
    builder.document["stations"]["vat"]["name"] = "Oak vats"
    found = answer(builder.build())
    assert "all room in oak vats is taken" in found.season_why
    facts = dict(head_of(found).facts)
    assert facts["What limits it"] == found.season_why
    assert not any(name.startswith("Takt") or name == "Time through" for name in facts)


def test_weeks_and_columns_in_which_nothing_happens_are_left_out_and_counted() -> None:
    weeks = tables.weeks(answer(cellar(vats=8, to="2027-06-30").build()))
    busy = tables.busy_weeks(weeks)
    assert len(busy.rows) + 10 < len(weeks.rows)
    assert sum(len(row) for row in busy.rows) == len(busy.rows) * len(busy.columns)
    assert f"the other {len(weeks.rows) - len(busy.rows)} weeks" in busy.note
    assert all(any(row[k] for row in busy.rows) for k in range(1, len(busy.columns)))
