"""The sections of a page, each named by the question it answers, with a short answer drawn from the engines."""

from __future__ import annotations

from collections.abc import Callable, Container, Mapping
from dataclasses import dataclass

from linewright.answer.model import Answer
from linewright.plan.model import Operation
from linewright.report import energy, followed, parts, tables
from linewright.report.balanced import page as balanced
from linewright.report.good import page as proof
from linewright.report.good import tables as proved
from linewright.report.improved import page as improved
from linewright.report.improved import tables as improved_tables
from linewright.report.map import process_map
from linewright.report.played import page as played
from linewright.report.telling import telling


@dataclass(frozen=True, slots=True)
class Section:
    """A question, the short answer to it, and the pieces of the page that stand behind it."""

    id: str
    question: str
    answer: str
    body: tuple[str, ...]
    wide: bool = False

    def html(self) -> str:
        """The section as HTML."""
        return parts.section(self.id, self.question, self.answer, self.body, wide=self.wide)


Pictures = Mapping[str, str]
"""Charts by name, as finished figures; a chart that could not be drawn is not there."""


def made(answer: Answer, pictures: Pictures) -> Section:
    """How is it made?"""
    told = telling(answer.plan, answer.network)
    steps = sum(len(chapter.steps) for chapter in told)
    picture = f'<div class="map" tabindex="0">{process_map(answer.plan, limits=limiting(answer), link="#step-")}</div>'
    short = f"{steps} steps on {len(told)} routes. Symbols after ASME Standard 101; a number leads to its step below."
    body = (picture, parts.chapters(told), *followed.bodies(answer, pictures))
    return Section("made", "How is it made?", short, body, wide=True)


def limiting(answer: Answer) -> set[str]:
    """Ids of the operations at the bottleneck: those at its station, of its crew, or with its tool."""
    limit = answer.capacity.bottleneck
    if limit is None:
        return set()
    uses: Mapping[str, Callable[[Operation], Container[str]]] = {
        "station": lambda o: o.station, "crew": lambda o: o.crew, "tool": lambda o: o.uses
    }  # fmt: skip
    every = (o for route in answer.plan.routes.values() for o in route.operations)
    return {o.id for o in every if limit.id in uses[limit.kind](o)}


def flows(answer: Answer, pictures: Pictures) -> Section:
    """What goes in and out?"""
    flow = answer.flow
    bought = int((flow.bought > 0).sum())
    leaves = tables.goes_out(answer)
    short = f"{bought} items go in, {len(leaves.rows)} things come out, for {answer.question}."
    body = (
        pictures.get("mass", ""),
        parts.table(tables.goes_in(answer)),
        parts.table(leaves),
        parts.table(tables.goes_round(answer)),
        *(parts.note(said) for said in energy.in_short(answer)),
        *map(parts.table, energy.tables(answer)),
    )
    return Section("flows", "What goes in and out?", short, body)


def rate(answer: Answer, pictures: Pictures) -> Section:
    """Will it make the rate?"""
    capacity = answer.capacity
    tightest = capacity.bounds[0].why if capacity.bounds else ""
    short = f"{answer.verdict[:1].upper()}{answer.verdict[1:]}. {tightest[:1].upper()}{tightest[1:]}"
    body = (
        *played.rate(answer, pictures),
        pictures.get("bounds", ""),
        parts.table(tables.bounds(answer)),
        pictures.get("stations", ""),
        parts.table(tables.resources(answer, "station")),
        parts.table(tables.resources(answer, "tool")),
        parts.table(tables.waiting(answer)),
        parts.table(tables.effectiveness(answer)),
        *proof.rate(answer, pictures),
    )
    return Section("rate", "Will it make the rate?", short, body)


def people(answer: Answer, pictures: Pictures) -> Section:
    """Who does what?"""
    crews = [r for r in answer.capacity.resources if r.kind == "crew"]
    count = sum(r.count for r in crews)
    fullest = max(crews, key=lambda r: r.use, default=None)
    short = f"{count} people in {len(crews)} crews."
    if fullest is not None:
        short += f" The fullest: {tables.resource_name(answer, fullest)}, {100 * fullest.use:.0f} % of the time."
    body = (
        *played.people(answer),
        pictures.get("crews", ""),
        parts.table(tables.resources(answer, "crew")),
        parts.table(tables.work_of_crews(answer)),
        parts.table(tables.crew_costs(answer)),
        *balanced.people(answer.balanced, answer.plan, pictures),
    )
    return Section("people", "Who does what?", short, body)


def cost(answer: Answer, pictures: Pictures) -> Section:
    """What does one cost?"""
    names = tables.item_names(answer)
    short = "; ".join(
        f"{names.get(p.item, p.item)}: {p.total:,.2f} {answer.cost.money}"
        + (f", sold at {p.price:,.2f}" if p.price is not None else "")
        for p in answer.cost.products
    )
    body = [pictures.get("cost", ""), parts.table(tables.cost_parts(answer), total="total")]
    body += [parts.table(tables.costly_operations(answer, p.item)) for p in answer.cost.products]
    body.append(parts.listing("Counted so", answer.cost.assumptions))
    return Section("cost", "What does one cost?", short, tuple(body))


def good(answer: Answer, pictures: Pictures) -> Section:
    """How do we know it is good?"""
    body = (
        *proof.good(answer, pictures),
        parts.table(tables.yields(answer)),
        parts.table(tables.scrap(answer)),
        *played.good(answer),
    )
    return Section("good", "How do we know it is good?", proved.in_short(answer), body)


def helps(answer: Answer, pictures: Pictures) -> Section:
    """What would help most?"""
    first = answer.capacity.bounds[:1]
    short = "Nothing limits the rate."
    if answer.improvement is not None:
        said = improved_tables.in_one_sentence(answer, answer.improvement)
        short = f"{said[:1].upper()}{said[1:]}."
    elif first:
        short = f"First what limits the rate: {tables.place_names(answer, first[0].where)}."
    body = (
        *improved.section(answer, pictures),
        parts.table(tables.ladder(answer)),
        parts.table(tables.losses(answer)),
    )
    return Section("helps", "What would help most?", short, body)


def hurts(answer: Answer, _: Pictures) -> Section:
    """What can hurt someone?"""
    count = len(answer.cautions)
    short = f"{count} hazards are named in the plan. There may be others." if count else "The plan names no hazard."
    body = [parts.caution(caution) for caution in answer.cautions]
    body += [parts.note(said) for said in energy.gas(answer)]
    if not body:
        body = [parts.note("No hazard is named. That says nothing about whether there is one: ask a competent person.")]
    return Section("hurts", "What can hurt someone?", short, tuple(body))


def assumed(answer: Answer, _: Pictures) -> Section:
    """What was taken for granted?"""
    came = answer.provenance
    body = (
        parts.problems(answer.problems),
        parts.listing("Taken for granted", answer.assumptions),
        parts.note(f"Rate: {answer.capacity.honesty.status}. Plan {came.fingerprint[:16]}, Linewright {came.version}."),
    )
    short = "What the plan does not say, and what was assumed instead."
    return Section("assumed", "What was taken for granted?", short, body)


QUESTIONS: tuple[Callable[[Answer, Pictures], Section], ...] = (
    made, flows, rate, people, cost, good, helps, hurts, assumed,
)  # fmt: skip
"""The sections in the order of the page; one more function here is one more section."""
