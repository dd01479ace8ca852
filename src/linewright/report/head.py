"""What stands at the head of a report, on the page and on paper: the answer first, then the few lines below it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from linewright.answer.model import Answer
from linewright.report import tables, words
from linewright.report.good.short import in_short as good_in_short
from linewright.report.played import tables as played


@dataclass(frozen=True, slots=True)
class Head:
    """The question, the verdict in a word or two, the rest of it, the author's remark, and facts by name."""

    title: str
    asked: str
    kind: Literal["yes", "no", "unsure"]
    verdict: str
    more: str
    remark: str
    facts: tuple[tuple[str, str], ...]


def head_of(answer: Answer) -> Head:
    """The head of the report of an answer."""
    kind: Literal["yes", "no", "unsure"] = "yes" if answer.yes else "no"
    if answer.makes is None and (answer.simulation is not None or answer.unplayed):
        kind = "unsure"
    verdict, _, rest = answer.verdict.partition(", ")
    more = f"{rest[:1].upper()}{rest[1:]}." if rest else ""
    asked = f"Makes {answer.question}?"
    said = f"{verdict.capitalize()}."
    return Head(answer.plan.name, asked, kind, said, more, answer.plan.note, tuple(facts_of(answer)))


def facts_of(answer: Answer) -> list[tuple[str, str]]:
    """The few lines below the answer."""
    capacity, names = answer.capacity, tables.item_names(answer)
    found: list[tuple[str, str]] = []
    limit = capacity.bottleneck
    if answer.season is not None:
        found.append(("What limits it", answer.season_why))
    elif limit is not None:
        name = tables.resource_name(answer, limit)
        found.append(("Bottleneck", f"{name}: a {limit.kind} of {limit.count}, {100 * limit.use:.0f} % used"))
    if answer.season is None:  # a season has no steady rhythm
        found += [
            (f"Takt, {names.get(w.item, w.item)}", f"{words.seconds(w.takt)} of open time") for w in capacity.wanted
        ]
    found += [("Cost of one", tables.one_costs(answer, p)) for p in answer.cost.products]
    if answer.season is None:
        found.append(("Time through", played.time_through(answer)))
    if answer.quality.ways:
        found.append(("Good", good_in_short(answer)))
    if answer.cautions:
        found.append(("Hazards named", words.listed(c.hazard for c in answer.cautions)))
    return found
