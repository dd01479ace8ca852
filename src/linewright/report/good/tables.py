"""Tables of the quality of a plan, in a person's words; every number is the answer's."""

from __future__ import annotations

from collections.abc import Iterator

from linewright.answer.model import Answer
from linewright.answer.quality.model import CheckLoad, FaultStep, FitResult, KitCount
from linewright.base.nouns import plural
from linewright.base.results import Table, show
from linewright.plan.model import Check, Operation
from linewright.report import words
from linewright.report.tables import item_names, operation_names, without_empty

MILLION = 1e6


def product(answer: Answer) -> str:
    """What is delivered, in the plural: the item where there is one, else units."""
    wanted = answer.capacity.wanted
    if len(wanted) != 1:
        return "delivered units"
    return plural(words.in_sentence(item_names(answer).get(wanted[0].item, wanted[0].item)))


def of_million(count: float) -> str:
    """Parts of a million: whole numbers, with digits only where there are few.

    >>> of_million(4149.4), of_million(3.009), of_million(0.0)
    ('4,149', '3', '0')
    """
    return f"{count:,.0f}" if count >= 10 or count == 0 else show(float(f"{count:.2g}"))


def found_in_time(share: float) -> str:
    """The share of a fault that is found, never rounded up to all of it.

    >>> found_in_time(0.9950296), found_in_time(0.0946), found_in_time(1.0), found_in_time(0.0)
    ('99.5 %', '9.5 %', 'all', 'none')
    """
    if share in (0.0, 1.0):
        return "all" if share else "none"
    if share < 0.99:
        return words.share(share)
    digits = 0
    while float(f"{100 * (1 - share):.{digits}f}") == 0:
        digits += 1
    return f"{100 * share:.{max(digits, 1)}f}".removesuffix(".0") + " %"


def quality_plan(answer: Answer) -> Table:
    """Every inspection: what it looks for, by what limits and how, how often, what happens then, and how much a day."""
    names = operation_names(answer)
    load = {c.operation: c for c in answer.quality.checks}
    rows = []
    for _, operation, check in _checks(answer):
        today = load.get(operation.id)
        rows.append(
            (
                names[operation.id],
                words.listed(f"{fault} (finds {found_in_time(p)})" for fault, p in check.finds.items()),
                check.limits,
                check.method,
                _how_often(check),
                _reaction(answer, check),
                None if today is None else _amount(today.looked_at),
                None if today is None else _amount(today.rejected),
                None if today is None else _amount(today.good_rejected),
            )
        )
    columns = (
        "inspection", "looks for", "limits", "method", "how often", "when it fails", "looks a day", "rejects a day",
        "of them good",
    )  # fmt: skip
    note = "At the demand, repeats after rework counted." if rows else ""
    return without_empty(Table("The quality plan", columns, tuple(rows), note))


def quality_plan_short(answer: Answer) -> Table:
    """The same in few columns, for a terminal."""
    table = quality_plan(answer)
    kept = [k for k, c in enumerate(table.columns) if c not in ("looks for", "method", "limits", "when it fails")]
    rows = tuple(tuple(row[k] for k in kept) for row in table.rows)
    return Table(table.title, tuple(table.columns[k] for k in kept), rows, table.note)


def _checks(answer: Answer) -> Iterator[tuple[str, Operation, Check]]:
    for route in answer.plan.routes.values():
        for operation in route.operations:
            if operation.check is not None:
                yield route.id, operation, operation.check


def _how_often(check: Check) -> str:
    often = check.sample or ("every piece" if check.one_in == 1 else f"one in {check.one_in}")
    if check.first_pieces is not None:
        n = check.first_pieces.pieces
        often += f"; first {'piece' if n == 1 else f'{n} pieces'} after a setup"
    return often


def _reaction(answer: Answer, check: Check) -> str:
    names = {**item_names(answer), **operation_names(answer)}
    same = len(set(map(repr, check.then.values()))) == 1
    told = {"*": next(iter(check.then.values()))} if same else check.then
    said = "; ".join(
        (f"{fault}: " if fault != "*" else "else " if len(told) > 1 else "") + words.reaction(reaction, names)
        for fault, reaction in told.items()
    )
    return f"{said}; held back to the last good check" if check.hold_back else said


def _amount(pieces: float) -> float:
    return float(f"{pieces:.3g}")


def faults(answer: Answer) -> Table:
    """Every fault: how often it is made, what of it is found, and what reaches the customer."""
    rows = tuple(
        (w.fault, of_million(w.made), found_in_time(w.found), of_million(w.escapes)) for w in answer.quality.ways
    )
    columns = ("fault", "made", "found in time", "reach the customer")
    quality = answer.quality
    total = f"{'at most ' if quality.any_is_bound else ''}{of_million(quality.any_fault)}"
    what = product(answer)
    note = (
        f"Of a million {what}. Made: every one, in all that goes into them. Reach the customer: {what} that carry one "
        f"or several. With any fault at all: {total}."
    )
    return Table("Faults that are made, found, and reach the customer", columns, rows, note if rows else "")


def way_of_faults(answer: Answer) -> Table:
    """Each fault step by step: where it is made, brought in and looked for, and how many carry it behind that step."""
    names = operation_names(answer)
    rows: list[tuple[object, ...]] = []
    for way in answer.quality.ways:
        for k, step in enumerate(way.steps):
            rows.append((way.fault if k == 0 else "", names[step.operation], _event(step), of_million(step.after)))
        if of_million(way.steps[-1].after) != of_million(way.escapes):
            rows.append(("", "the customer", "", of_million(way.escapes)))
    columns = ("fault", "step", "what happens", "of a million behind it")
    note = (
        "Of the pieces that leave the step, so many carry the fault: parts where parts are made, units of the product "
        "where those are. "
        "Exact for the shares that the plan writes, rework included."
    )
    return Table("The way of every fault", columns, tuple(rows), note)


def _event(step: FaultStep) -> str:
    share = found_in_time(step.share) if step.event == "looked for" else words.share(step.share)
    return {
        "made": f"made in {share}",
        "brought": f"comes in with parts, {share} of them",
        "looked for": f"looked for, {share} found",
    }[step.event]


def releases(answer: Answer) -> Table:
    """First pieces after a setup, and how far a failed sample holds back."""
    names = operation_names(answer)
    rows = [row for load in answer.quality.checks for row in _release(load, names[load.operation])]
    return Table("Before the run and after a failed sample", ("inspection", "rule", "what it does"), tuple(rows))


def _release(load: CheckLoad, name: str) -> Iterator[tuple[str, str, str]]:
    first, hold = load.first_pieces, load.hold_back
    if first is not None:
        said = (
            f"{words.share(first.released_wrong)} of setups are wrong and still let through; "
            f"{words.share(first.held_right)} are right and held"
        )
        if first.faulty > 0:
            said += f"; {show(first.faulty)} faulty pieces a setup"
        yield name, f"{first.pieces} first pieces must pass", said
    if hold is not None:
        pieces = f"{hold.pieces} pieces, {hold.checks} check{'s' if hold.checks > 1 else ''} back"
        yield name, "hold back when a sample fails", f"{pieces}; it began earlier with {words.share(hold.further)}"


def failure_modes(answer: Answer) -> Table:
    """What can go wrong, the most urgent first; a rank with a star follows from the plan's faults and checks."""
    table = answer.quality.failures
    if table is None:
        return Table("What can go wrong", (), ())
    names = operation_names(answer)
    derived = set(answer.quality.derived)
    rows = []
    for ranked in table.modes:
        m = ranked.failure
        stars = ["*" if (m.operation, m.mode, rank) in derived else "" for rank in ("occurrence", "detection")]
        rows.append(
            (
                m.mode, names[m.operation], m.effect, m.cause, m.severity, f"{m.occurrence}{stars[0]}",
                f"{m.detection}{stars[1]}", ranked.priority, m.action,
            )
        )  # fmt: skip
    columns = (
        "failure", "step", "effect", "cause", "severity", "occurrence", "detection", "priority", "what to do",
    )  # fmt: skip
    star = "* worked out from the faults and checks of the plan. " if derived else ""
    note = (
        f"{star}The priority is by our own rule, severity first, written in docs/quality.md. At severity 9 and 10 "
        "someone may be hurt or the law broken: follow local codes, and have a competent person decide, whatever the "
        "priority says."
    )
    return without_empty(Table("What can go wrong", columns, tuple(rows), note))


def failure_modes_short(answer: Answer) -> Table:
    """The same in few columns, for a terminal."""
    table = failure_modes(answer)
    kept = [k for k, c in enumerate(table.columns) if c not in ("effect", "cause", "what to do")]
    rows = tuple(tuple(row[k] for k in kept) for row in table.rows)
    return Table(table.title, tuple(table.columns[k] for k in kept), rows, table.note)


def one_more_look(answer: Answer) -> Table:
    """Where one more check would pay: what one look may cost at the step that makes the fault."""
    names, money, crews = operation_names(answer), answer.cost.money, answer.plan.crews
    rows = tuple(
        (
            look.fault,
            f"{look.lost:,.3f}",
            names[look.after],
            f"{look.worth:,.3f}",
            "" if look.seconds is None else f"{_time(look.seconds)} of the {_crew(crews, look.crew)}",
        )
        for look in answer.quality.looks
    )
    columns = (
        "fault", f"lost for each delivered [{money}]", "look after", f"a look is worth [{money}]", "as time of people",
    )  # fmt: skip
    finds = words.share(answer.quality.looks[0].finds) if rows else ""
    note = (
        f"For a look that finds {finds}, by what the plan says that one at the customer costs. A look that takes less "
        "pays; what finding it early saves in later work comes on top."
    )
    return Table("Where one more check would pay", columns, rows, note if rows else "")


def _time(seconds: float) -> str:
    return words.seconds(seconds) if seconds >= 1 else "less than a second"


def _crew(crews: object, crew: str) -> str:
    assert isinstance(crews, dict)
    return words.in_sentence(words.name_of(crew, crews[crew].name if crew in crews else ""))


def kit(answer: Answer, count: KitCount) -> Table:
    """What a scale sees of a part missing or too many."""
    return kit_table(item_names(answer), operation_names(answer), count)


def kit_table(names: dict[str, str], steps: dict[str, str], count: KitCount) -> Table:
    """The same by the names of items and steps, with the window and what to weigh apart in words."""
    kit_ = count.kit
    passes = {(f.part, f.fault): f.passes for f in kit_.faults}
    rows = tuple(
        (
            words.name_of(part, names.get(part, "")), number, mean, sd or None,
            found_in_time(1 - passes[(part, "one missing")]), found_in_time(1 - passes[(part, "one extra")]),
            "hidden" if part in kit_.hidden else "seen",
        )
        for part, number, mean, sd in count.names
    )  # fmt: skip
    columns = ("part", "in a kit", "mass [g]", "spread [g]", "one missing is seen", "one extra is seen", "")
    title = f"Counted by weight: {words.in_sentence(steps[count.operation])} {count.variant}".strip()
    return Table(title, columns, rows, kit_in_words(names, count))


def kit_in_words(names: dict[str, str], count: KitCount) -> str:
    """Window, spread, hidden parts, and what to weigh apart."""
    kit_ = count.kit
    hidden = [names.get(p, p) for p in kit_.hidden]
    part, of_it = kit_.spread_from[0]
    said = (
        f"A good kit weighs {kit_.mean:,.1f} g with a spread of {kit_.sd:.2f} g; {words.share(of_it)} of its variance "
        f"comes from the {words.in_sentence(names.get(part, part))}. Accept {kit_.low:,.1f} to {kit_.high:,.1f} g: "
        f"{words.share(kit_.false_rejects)} of good kits are refused. "
    )
    if not hidden:
        return f"{said}Every missing part is seen at least {words.share(1 - kit_.allowed)} of the time."
    said += f"Hidden: {words.listed(hidden)}."
    if count.apart is not None:
        best, worst = count.apart.choices[0]
        apart = words.in_sentence(names.get(best, best))
        said += (
            f" One part weighed apart helps most with the {apart}: the least visible fault then passes "
            f"{words.share(worst)} of the time, now {words.share(count.apart.now)}."
        )
    bare = [names.get(p, p) for p in count.missing_spread]
    return f"{said} No spread is written for {words.listed(bare)}: taken as none." if bare else said


def fits(answer: Answer) -> Table:
    """Every fit: the gap, its limits, whether it always fits, and which dimension the spread comes from."""
    names = operation_names(answer)
    rows = tuple(_fit(fit, names) for fit in answer.quality.fits)
    columns = (
        "fit", "step", "good from [mm]", "to [mm]", "middle [mm]", "worst case [mm]", "nearly all [mm]",
        "does not fit", "most of the spread from",
    )  # fmt: skip
    note = (
        "Worst case: every dimension at a limit. Nearly all: root of the sum of squares. The share is from 200,000 "
        "draws, with its 95 % interval."
    )
    return without_empty(Table("Does it fit?", columns, rows, note if rows else ""))


def _fit(fit: FitResult, names: dict[str, str]) -> tuple[object, ...]:
    s = fit.stack
    worst = max(s.parts, key=lambda p: p.share)
    outside = ""
    if s.outside is not None:
        share, low, high = s.outside
        outside = (
            "always fits" if s.always_fits else f"{words.share(share)} ({words.share(low)} to {words.share(high)})"
        )
    return (
        words.name_of(fit.id, fit.name), names.get(fit.operation, ""), fit.least, fit.most, s.middle,
        f"{show(s.worst[0])} to {show(s.worst[1])}", f"{show(s.rss[0])} to {show(s.rss[1])}", outside,
        f"{worst.name}, {words.share(worst.share)}",
    )  # fmt: skip


def learning(answer: Answer) -> Table:
    """The operations that are learned."""
    ramp = answer.quality.ramp
    if ramp is None:
        return Table("What is still learned", (), ())
    names = operation_names(answer)
    rows = tuple(
        (names[x.operation], words.share(x.rate), f"{x.first:.1f} times", f"piece {x.standard_at:,}",
         f"after week {len(ramp.rates)}" if x.week is None else f"in week {x.week}")
        for x in ramp.learners
    )  # fmt: skip
    columns = ("step", "learning rate", "the first piece takes", "as written from", "which is reached")
    note = "Pieces are counted for each person. The bounds, the cost and the simulation are those of learned work."
    return Table("What is still learned", columns, rows, note)
