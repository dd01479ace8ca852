"""The tables of what would help most, with the interval of every gain and what it means."""

from __future__ import annotations

import math

from linewright.answer.model import Answer
from linewright.base.nouns import plural
from linewright.base.results import Interval, Table, show_interval
from linewright.improve.model import Effect, Improvement
from linewright.report import tables, words

SAID = {
    "helps": "helps",
    "hurts": "hurts",
    "no change": "changes nothing",
    "cannot be told from nothing": "cannot be told from nothing",
}
"""Verdicts as they are said."""


def gains(answer: Answer, found: Improvement, effects: tuple[Effect, ...], title: str) -> Table:
    """What every change brings and what it makes one cost, the greatest gain first."""
    takt = any(e.gain_at_takt is not None for e in effects)
    names = tables.item_names(answer)
    money = [f"cost of one {words.in_sentence(names.get(item, item))} [{found.money}]" for item in found.items]
    columns = ("change", "more a day", *(("more by takt",) if takt else ()), *money, "so it")
    rows = tuple(
        (
            words.in_sentence(e.candidate.what),
            gain(e.gain, found.rate.mean),
            *((gain(e.gain_at_takt, found.rate.mean),) if takt else ()),
            *(f"{change:+,.2f}" if abs(change) >= 0.005 else "" for change in e.cost_changes),
            e.problem.what if e.problem is not None else _so_it(e, found),
        )
        for e in effects
    )
    method = f"{found.method[:1].upper()}{found.method[1:]}"
    note = f"More a day of {show_interval(found.rate)} {unit(answer, found)}, let in flat out. {method}."
    return Table(title, columns, rows, note)


VAGUE = 0.25
"""A half-width above this part of the rate says nothing: it was played too little."""


def gain(interval: Interval | None, rate: float = math.inf) -> str:
    """A gain with its interval and sign; without the interval where it is so wide beside the ``rate`` that it is none.

    >>> gain(Interval(6.0, 2.0), 144.0), gain(Interval(6.0, 153.0), 144.0), gain(Interval(-2.0, 0.5))
    ('+6 ± 2', 'about +6', '-2.0 ± 0.5')
    """
    if interval is None or not math.isfinite(interval.mean):
        return "not known"
    sign = "+" if interval.mean > 0 else ""
    if interval.half_width > VAGUE * rate:
        return f"about {sign}{float(f'{interval.mean:.2g}'):g}"
    return f"{sign}{show_interval(interval)}"


def _so_it(effect: Effect, found: Improvement) -> str:
    """The verdict; where hardly anything was played, that."""
    vague = effect.gain is not None and effect.gain.half_width > VAGUE * found.rate.mean
    return "was played too little to tell" if vague and effect.verdict == TOO_WIDE else SAID[effect.verdict]


TOO_WIDE = "cannot be told from nothing"


def unit(answer: Answer, found: Improvement) -> str:
    """What the rate counts, in the plural."""
    if len(found.items) != 1:
        return "units of all items"
    name = tables.item_names(answer).get(found.items[0], found.items[0])
    return plural(words.in_sentence(name))


def confirmed(answer: Answer, found: Improvement) -> Table:
    """The best, played again on fresh luck."""
    return gains(answer, found, found.confirmed, "What would help most, played again with fresh luck")


def first_round(answer: Answer, found: Improvement) -> Table:
    """All that were played, in the first round."""
    return gains(answer, found, found.simulated, "Every change that was played")


def promised(found: Improvement) -> Table:
    """What the bounds promise, where play found nothing that surely helps; nothing elsewhere."""
    if found.best is not None:
        return Table("What the bounds promise", (), ())
    table = found.promised_table()
    rows = tuple((words.in_sentence(str(what)), more if more else "nothing") for what, more in table.rows)
    return Table(table.title, table.columns, rows, table.note)


def edits(found: Improvement) -> Table:
    """How each change is written into the plan; a change of several fields is named once."""
    table = found.edits_table()
    said: set[object] = set()
    rows = []
    for change, *rest in table.rows:
        rows.append(("" if change in said else words.in_sentence(str(change)), *rest))
        said.add(change)
    return Table("How each is written in the plan", table.columns, tuple(rows))


def edits_of(effect: Effect) -> list[str]:
    """The edits of one change, one line each."""
    return [edit.text for edit in effect.candidate.edits]


def in_one_sentence(answer: Answer, found: Improvement) -> str:
    """The best change that surely helps, with its gain; else what can be said."""
    best = found.best
    if best is None or best.gain is None:
        return found.headline
    more = f"{gain(best.gain)} {unit(answer, found)} a day"
    return f"{words.in_sentence(best.candidate.what)}: {more}, from {show_interval(found.rate)} flat out"


def notes(found: Improvement) -> tuple[str, ...]:
    """What a reader must know to use the numbers, and what was not tried."""
    looked = f"{found.considered} changes were looked at; {found.screened_out} of them were not played"
    assumed = tuple(f"{e.candidate.what}: {e.candidate.assumes}" for e in found.confirmed if e.candidate.assumes)
    stopped = ("stopped early: what was done by then is told",) if found.stopped else ()
    return (*stopped, looked, *found.assumptions, *assumed, *found.left_out, *found.honesty.notes)
