"""Who does what: the lines of a plan shared out, for the page of an answer."""

from __future__ import annotations

from linewright.answer.balanced import Balanced
from linewright.base.results import Table
from linewright.plan.model import Plan
from linewright.report.balanced import tables
from linewright.report.balanced.picture import precedence, strips
from linewright.report.balanced.view import view_of_line
from linewright.report.blocks import Block, Drawing, Grid, Note, Picture, listing

HAND_OUT = (
    "The sharing keeps the order of the work, the trades and what the line asks. It knows nothing of reach, of floor "
    "space or of the people themselves: go through it with those who do the work."
)


def people(found: Balanced | None, plan: Plan) -> tuple[Block, ...]:
    """The pieces of the page; none where no line was balanced."""
    if found is None or not found.lines:
        return ()
    body: list[Block] = [Grid(tables.lines(found)), Note(HAND_OUT)]
    for line in found.lines:
        view = view_of_line(line, plan)
        body.append(Note(f"{view.title}: {tables.sentence(line.balance, view)}"))
        if not line.balance.stations:
            body.append(listing("Why", line.balance.honesty.notes))
            continue
        measures = tables.measures(line.balance, view, line, found.played.get(line.line.id))
        body += [
            Picture(f"loads-{view.id}"),
            Grid(tables.stations(view)),
            Drawing(precedence(view), strips(view), f"The order of the work of {view.title}"),
            Grid(_titled(measures, view.title)),
            Grid(_titled(tables.staff(line, plan), view.title)),
            Picture(f"stations-{view.id}"),
            *([Grid(tables.trade_off(line.curve, view))] if line.curve is not None else []),
            listing(f"Counted so: {view.title}", line.line.assumptions),
        ]
    return tuple(body)


def _titled(table: Table, title: str) -> Table:
    return Table(f"{title}: {table.title[:1].lower()}{table.title[1:]}", table.columns, table.rows, table.note)
