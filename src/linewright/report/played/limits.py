"""What holds pieces up or spoils them, simulated: carriers that are elsewhere, windows that close, what goes off."""

from __future__ import annotations

from linewright.answer.model import Answer
from linewright.base.results import Interval, Table, show, show_interval
from linewright.plan.called import kind_called
from linewright.report import tables
from linewright.simulate import Simulation


def carriers(answer: Answer, run: Simulation) -> Table:
    """Where the carriers are, and for how much of the time one is wanted and not there."""
    rows = []
    for k, kind in enumerate(run.carriers):
        in_use, back, mended, wanted = (run.carrier_use.interval(k, c) for c in range(4))
        short = show_interval(Interval(100 * wanted.mean, 100 * wanted.half_width))
        counts = (show_interval(in_use), show_interval(back), show_interval(mended) if mended.mean > 0 else "")
        name = kind_called(answer.plan.carriers, kind)
        there = show(float(answer.network.carriers.count[k]))
        rows.append((f"{name[:1].upper()}{name[1:]}", there, *counts, f"{short} %"))
    columns = ("carrier", "there are", "in use", "on the way back", "to be mended", "wanted and none free")
    note = "Means over all time, nights too; the last is a share of the time."
    return tables.without_empty(Table("Where the carriers are, simulated", columns, tuple(rows), note))


def closed(answer: Answer, run: Simulation) -> Table:
    """Windows that closed before the operation began."""
    names = tables.operation_names(answer)
    rows = tuple((names.get(o, o), show_interval(run.closed.interval(k))) for k, o in enumerate(run.windows))
    return Table("Windows that closed, simulated", ("operation", "too late, pieces a day"), rows)


def cares(answer: Answer, run: Simulation) -> Table:
    """Work during stands: how often in a working day it was done, of it late, and missed."""
    names = tables.operation_names(answer)
    rows = tuple(
        (names.get(one.operation, one.operation), one.name, show_interval(one.done), show_interval(one.late),
         show_interval(one.missed), show(one.delay) if one.delay else "")
        for one in run.cares
    )  # fmt: skip
    columns = ("while", "what", "done a day", "of it late", "missed a day", "mean lateness [h]")
    note = "In times a working day. Late is what was begun after it was due; the stand goes on whatever happens."
    return Table("Work while it stands, simulated", columns, rows, note)


def spoiled(answer: Answer, run: Simulation) -> Table:
    """What went off on hand, beside what was used of it."""
    names, flow = tables.item_names(answer), answer.flow
    rows = tuple(
        (names.get(item, item), show_interval(run.spoiled.interval(k)), flow.units[k], show(float(flow.used[k])))
        for k, item in enumerate(run.all_items)
        if float(run.spoiled.mean[k]) > 0
    )
    return Table("What went off on hand, simulated", ("item", "spoiled a day", "unit", "used a day"), rows)
