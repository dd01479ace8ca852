"""The sections of a page, each named by the question it answers, with a short answer drawn from the engines."""

from __future__ import annotations

from collections.abc import Callable, Container, Mapping
from dataclasses import dataclass

from linewright.answer.model import Answer
from linewright.answer.sources import sources
from linewright.plan.model import Operation
from linewright.report import energy, followed, lots, parts, tables, variants
from linewright.report.balanced import page as balanced
from linewright.report.blocks import Block, Grid, Note, Picture, ProcessMap, Telling, Warned, listing, warnings
from linewright.report.good import page as proof
from linewright.report.good.short import in_short as good_in_short
from linewright.report.improved import page as improved
from linewright.report.improved import tables as improved_tables
from linewright.report.played import page as played
from linewright.report.seasonal import page as seasonal
from linewright.report.telling import telling

Pictures = Mapping[str, str]
"""Charts by name, as finished figures; a chart that could not be drawn is not there."""


@dataclass(frozen=True, slots=True)
class Section:
    """A question, the short answer to it, and the pieces of the page that stand behind it."""

    id: str
    question: str
    answer: str
    body: tuple[Block, ...]
    wide: bool = False

    def html(self, pictures: Pictures) -> str:
        """The section as HTML."""
        body = (parts.block(block, pictures) for block in self.body)
        return parts.section(self.id, self.question, self.answer, body, wide=self.wide)


def made(answer: Answer) -> Section:
    """How is it made?"""
    told = telling(answer.plan, answer.network)
    steps = sum(len(chapter.steps) for chapter in told)
    short = f"{steps} steps on {len(told)} routes. Symbols after ASME Standard 101; a number leads to its step below."
    body = (ProcessMap(answer.plan, frozenset(limiting(answer))), Telling(told), *followed.bodies(answer))
    return Section("made", "How is it made?", short, body, wide=True)


def limiting(answer: Answer) -> set[str]:
    """Ids of the operations at the bottleneck: at its station, of its crew, with its tool or its carrier."""
    limit = answer.capacity.bottleneck
    if limit is None:
        return set()
    uses: Mapping[str, Callable[[Operation], Container[str]]] = {
        "station": lambda o: o.station, "crew": lambda o: o.crew, "tool": lambda o: o.uses
    }  # fmt: skip
    if limit.kind == "carrier":
        carriers = answer.network.carriers
        joins = carriers.joins.row(carriers.ids.index(limit.id))[0]
        return {answer.network.operations.ids[int(o)] for o in joins}
    every = (o for route in answer.plan.routes.values() for o in route.operations)
    return {o.id for o in every if limit.id in uses[limit.kind](o)}


def flows(answer: Answer) -> Section:
    """What goes in and out?"""
    flow = answer.flow
    bought = int((flow.bought > 0).sum())
    leaves = tables.goes_out(answer)
    short = f"{bought} items go in, {len(leaves.rows)} things come out, for {answer.question}."
    body: tuple[Block, ...] = (
        Picture("mass"),
        Grid(tables.goes_in(answer)),
        Grid(leaves),
        Grid(tables.goes_round(answer)),
        *(Note(said) for said in energy.in_short(answer)),
        *map(Grid, energy.tables(answer)),
    )
    return Section("flows", "What goes in and out?", short, body)


def rate(answer: Answer) -> Section:
    """Will it make the rate?"""
    capacity = answer.capacity
    tightest = capacity.bounds[0].why if capacity.bounds else ""
    if answer.season is not None:
        tightest = answer.season_why
    short = f"{answer.verdict[:1].upper()}{answer.verdict[1:]}. {tightest[:1].upper()}{tightest[1:]}"
    body = (
        *(seasonal.rate(answer) if answer.season is not None else played.rate(answer)),
        Picture("bounds"),
        Grid(tables.bounds(answer)),
        Picture("stations"),
        Grid(tables.resources(answer, "station")),
        Grid(tables.resources(answer, "tool")),
        Grid(tables.resources(answer, "carrier")),
        Grid(tables.waiting(answer)),
        Grid(tables.effectiveness(answer)),
        Grid(variants.mates(answer)),
        *proof.rate(answer),
    )
    return Section("rate", "Will it make the rate?", short, body)


def people(answer: Answer) -> Section:
    """Who does what?"""
    crews = [r for r in answer.capacity.resources if r.kind == "crew"]
    count = sum(r.count for r in crews)
    fullest = max(crews, key=lambda r: r.use, default=None)
    short = f"{count} people in {len(crews)} crews."
    if fullest is not None:
        short += f" The fullest: {tables.resource_name(answer, fullest)}, {100 * fullest.use:.0f} % of the time."
    body = (
        *played.people(answer),
        Picture("crews"),
        Grid(tables.resources(answer, "crew")),
        Grid(tables.work_of_crews(answer)),
        Grid(tables.crew_costs(answer)),
        *balanced.people(answer.balanced, answer.plan),
    )
    return Section("people", "Who does what?", short, body)


def cost(answer: Answer) -> Section:
    """What does one cost?"""
    names = tables.item_names(answer)
    short = "; ".join(
        f"{names.get(p.item, p.item)}: {p.total:,.2f} {answer.cost.money}"
        + (f", sold at {p.price:,.2f}" if p.price is not None else "")
        for p in answer.cost.products
    )
    body: list[Block] = [Picture("cost"), Grid(tables.cost_parts(answer), total="total")]
    body += [Grid(tables.costly_operations(answer, p.item)) for p in answer.cost.products]
    body += [Grid(variants.by_value(answer)), Grid(variants.table(answer))]
    body += [*(Note(said) for said in lots.in_short(answer)), Picture("lots"), Grid(lots.table(answer))]
    body += seasonal.cost(answer)
    body.append(listing("Counted so", answer.cost.assumptions))
    return Section("cost", "What does one cost?", short, tuple(body))


def good(answer: Answer) -> Section:
    """How do we know it is good?"""
    body = (
        *proof.good(answer),
        Grid(tables.yields(answer)),
        Grid(tables.scrap(answer)),
        *played.good(answer),
    )
    return Section("good", "How do we know it is good?", good_in_short(answer), body)


def helps(answer: Answer) -> Section:
    """What would help most?"""
    first = answer.capacity.bounds[:1]
    short = "Nothing limits the rate."
    if answer.improvement is not None:
        said = improved_tables.in_one_sentence(answer, answer.improvement)
        short = f"{said[:1].upper()}{said[1:]}."
    elif first:
        short = f"First what limits the rate: {tables.place_names(answer, first[0].where)}."
    if answer.season is not None:
        return Section("helps", "What would help most?", seasonal.helps_in_short(answer), tuple(seasonal.helps(answer)))
    body = (
        *improved.section(answer),
        Grid(tables.ladder(answer)),
        Grid(tables.losses(answer)),
    )
    return Section("helps", "What would help most?", short, body)


def hurts(answer: Answer) -> Section:
    """What can hurt someone?"""
    count = len(answer.cautions)
    short = f"{count} hazards are named in the plan. There may be others." if count else "The plan names no hazard."
    body: list[Block] = [Warned(caution) for caution in answer.cautions]
    body += [Note(said) for said in energy.gas(answer)]
    if not body:
        body = [Note("No hazard is named. That says nothing about whether there is one: ask a competent person.")]
    return Section("hurts", "What can hurt someone?", short, tuple(body))


def assumed(answer: Answer) -> Section:
    """What was taken for granted?"""
    body = (
        warnings(answer.problems),
        listing("Taken for granted", answer.assumptions),
        Grid(sources(answer)),
    )
    short = "What the plan does not say, and what was assumed instead."
    return Section("assumed", "What was taken for granted?", short, body)


QUESTIONS: tuple[Callable[[Answer], Section], ...] = (
    made, flows, rate, people, cost, good, helps, hurts, assumed,
)  # fmt: skip
"""The sections in the order of the page; one more function here is one more section."""
