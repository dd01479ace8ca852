"""Who does what: the lines of a plan shared out, for the page of an answer."""

from __future__ import annotations

from collections.abc import Mapping

from linewright.answer.balanced import Balanced
from linewright.base.results import Table
from linewright.plan.model import Plan
from linewright.report import parts
from linewright.report.balanced import tables
from linewright.report.balanced.picture import precedence
from linewright.report.balanced.view import view_of_line

HAND_OUT = (
    "The sharing keeps the order of the work, the trades and what the line asks. It knows nothing of reach, of floor "
    "space or of the people themselves: go through it with those who do the work."
)


def people(found: Balanced | None, plan: Plan, pictures: Mapping[str, str]) -> tuple[str, ...]:
    """The pieces of the page; none where no line was balanced."""
    if found is None or not found.lines:
        return ()
    body = [parts.table(tables.lines(found)), parts.note(HAND_OUT)]
    for line in found.lines:
        view = view_of_line(line, plan)
        body.append(parts.note(f"{view.title}: {tables.sentence(line.balance, view)}"))
        if not line.balance.stations:
            body.append(parts.listing("Why", line.balance.honesty.notes))
            continue
        measures = tables.measures(line.balance, view, line, found.played.get(line.line.id))
        body += [
            pictures.get(f"loads-{view.id}", ""),
            parts.table(tables.stations(view)),
            f'<div class="map" tabindex="0">{precedence(view)}</div>',
            parts.table(_titled(measures, view.title)),
            parts.table(_titled(tables.staff(line, plan), view.title)),
            pictures.get(f"stations-{view.id}", ""),
            parts.table(tables.trade_off(line.curve, view)) if line.curve is not None else "",
            parts.listing(f"Counted so: {view.title}", line.line.assumptions),
        ]
    return tuple(body)


def _titled(table: Table, title: str) -> Table:
    return Table(f"{title}: {table.title[:1].lower()}{table.title[1:]}", table.columns, table.rows, table.note)
