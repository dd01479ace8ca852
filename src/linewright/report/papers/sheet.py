"""The sheets for the floor: what is done at each place of work, step by step, with parts, checks and cautions.

A sheet is data; ``sheets_pdf`` and ``sheets_html`` set the same sheets on paper and on a page.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from linewright.answer.model import Answer
from linewright.answer.posts import Post, full_load, posts
from linewright.base.cautions import Caution
from linewright.base.problems import Problem, ProblemsError, did_you_mean
from linewright.base.results import show
from linewright.report import words
from linewright.report.telling import Step, telling

BENCH = "Bench"
SIGN_OFF = ("Written by", "Checked by", "Released for work by")
"""Who signs a sheet."""
NO_HAZARD = (
    "The plan names no hazard for this place. That says nothing about whether there is one: ask a competent person."
)
"""What a sheet says where the plan names no hazard."""


@dataclass(frozen=True, slots=True)
class SheetStep:
    """A step on a sheet: as told, ``at`` which machine where the sheet is of no single one, and where a piece goes.

    ``parts`` has a line for each thing taken: how much, of what, and for what where that is not one piece. ``hazards``
    are those that not every step of the sheet has; the sheet's cautions tell them all.
    """

    step: Step
    parts: tuple[tuple[str, str, str], ...] = ()
    hazards: tuple[str, ...] = ()
    at: str = ""
    goes_to: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One place of work: its title, facts by name, steps in order, cautions. ``id`` is what ``of`` may name it by."""

    id: str
    title: str
    facts: tuple[tuple[str, str], ...]
    steps: tuple[SheetStep, ...]
    cautions: tuple[Caution, ...]


def sheets(answer: Answer, *, of: Iterable[str] = (), balanced: bool = True) -> tuple[Sheet, ...]:
    """One sheet a place of work, in order of work; ``of`` names those wanted, by id or by title, all where it is empty.

    With ``balanced`` the stations of the plan's balanced lines take the place of its own. Raises ProblemsError where
    ``of`` names none of them.
    """
    told = {step.id: step for chapter in telling(answer.plan, answer.network) for step in chapter.steps}
    found = _in_order(posts(answer, balanced=balanced), told)
    made = tuple(_sheet(answer, post, told, found) for post in found)
    return _wanted(made, tuple(of))


def _in_order(found: tuple[Post, ...], told: dict[str, Step]) -> list[Post]:
    """By the first step of each; the stations of a balanced line together, by their number."""
    first = {id(post): min(told[o].number for o in post.operations) for post in found}
    line = {post.line: min(first[id(other)] for other in found if other.line == post.line) for post in found}
    return sorted(found, key=lambda post: (line[post.line], post.number) if post.line else (first[id(post)], 0))


def _wanted(made: tuple[Sheet, ...], of: tuple[str, ...]) -> tuple[Sheet, ...]:
    if not of:
        return made
    names = {name.casefold(): sheet.id for sheet in made for name in (sheet.title, sheet.id)}
    unknown = [name for name in of if name.casefold() not in names]
    if unknown:
        raise ProblemsError(
            Problem(
                "",
                "no sheet has this name",
                value=name,
                expected="a station",
                hint=did_you_mean(name, [sheet.id for sheet in made]),
            )
            for name in unknown
        )
    wanted = {names[name.casefold()] for name in of}
    return tuple(sheet for sheet in made if sheet.id in wanted)


def _sheet(answer: Answer, post: Post, told: dict[str, Step], every: list[Post]) -> Sheet:
    order = sorted(zip(post.operations, post.a_day, strict=True), key=lambda pair: told[pair[0]].number)
    if post.line:
        order = list(zip(post.operations, post.a_day, strict=True))
    everywhere = set.intersection(*(set(told[operation].hazards) for operation, _ in order))
    if len(order) == 1:
        everywhere = set()
    steps = tuple(
        SheetStep(
            told[operation],
            tuple(_parts(answer, told[operation])),
            tuple(hazard for hazard in told[operation].hazards if hazard not in everywhere),
            _at(answer, post, operation),
            _goes_to(answer, post, operation, told, every),
        )
        for operation, _ in order
    )
    return Sheet(_id(post), _title(answer, post), tuple(_facts(answer, post)), steps, post.cautions)


def _parts(answer: Answer, step: Step) -> Iterator[tuple[str, str, str]]:
    """What a step takes; where a load goes together also how much a full load takes."""
    whole = full_load(answer, step.id)
    for part in step.parts:
        if part.per == "load":
            yield part.much, part.item, "a load"
        elif part.id in whole:
            amount, unit = whole[part.id]
            yield part.much, part.item, f"{show(amount)} {unit} for a full load"
        else:
            yield part.much, part.item, ""


def _id(post: Post) -> str:
    return f"{post.line} {post.number}" if post.line else post.station or BENCH.lower()


def _title(answer: Answer, post: Post) -> str:
    if post.line:
        return f"{post.line}, station {post.number}"
    if not post.station:
        return BENCH
    return words.name_of(post.station, answer.plan.stations[post.station].name)


def _facts(answer: Answer, post: Post) -> Iterable[tuple[str, str]]:
    plan = answer.plan
    yield "For", answer.question
    if post.line:
        crew = plan.crews.get(post.crew)
        name = words.in_sentence(words.name_of(post.crew, crew.name if crew is not None else ""))
        copies = f", {post.places} alike" if post.places > 1 else ""
        yield "Station", f"{post.number} of {post.count}{copies}"
        yield "People", f"{post.people} ({name})"
        if post.load is not None and post.takt is not None and post.use is not None:
            yield (
                "Work for one",
                f"{words.seconds(post.load)} of {words.seconds(post.takt)} takt, {100 * post.use:.0f} %",
            )
    elif post.station:
        yield "Places", f"{post.places}"
        if post.use is not None:
            when = "Busy at the demand" if answer.season is None else "Busy over the season"
            yield when, f"{100 * post.use:.0f} % of its hours"
    else:
        yield "Places", "no station is named for this work"
    most = max((pieces for pieces in post.a_day if pieces > 0), default=0.0)
    if most > 0 and answer.season is None:  # of a season a day on average says nothing
        yield "A day", f"up to {show(most)} pieces, rework counted"


def _at(answer: Answer, post: Post, operation: str) -> str:
    """The machines of a step at a station of a balanced line; nothing elsewhere: the sheet is the machine's own."""
    if not post.line:
        return ""
    every = (o for route in answer.plan.routes.values() for o in route.operations if o.id == operation)
    stations = answer.plan.stations
    return words.listed((words.name_of(key, stations[key].name) for key in next(every).station), "or")


def _goes_to(answer: Answer, post: Post, operation: str, told: dict[str, Step], every: list[Post]) -> str:
    """The sheet and step that comes next on the route, where that is not here."""
    for route in answer.plan.routes.values():
        ids = [o.id for o in route.operations]
        if operation not in ids:
            continue
        at = ids.index(operation)
        if at + 1 == len(ids):
            item = answer.plan.items.get(route.gives)
            return f"done: {words.name_of(route.gives, item.name if item is not None else '')}"
        after = ids[at + 1]
        if after in post.operations:
            return ""
        where = words.listed((_title(answer, other) for other in every if after in other.operations), "or")
        return f"{where}, step {told[after].number}"
    return ""


def check_rows(shown: SheetStep) -> tuple[tuple[str, str], ...]:
    """The lines of a step's check: what to look for, limits, how, how often, and what to do where it fails."""
    check = shown.step.check
    if check is None:
        return ()
    return (
        ("Look for", check.looks_for), ("Limits", check.limits), ("How", check.method),
        ("How often", check.often), ("If it fails", " ".join(check.reactions)),
    )  # fmt: skip
