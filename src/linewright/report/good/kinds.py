"""The quality of each kind of a plan with options as one table: the mean, the worst, the best, and what was counted."""

from __future__ import annotations

from collections.abc import Iterator

from linewright.answer.model import Answer
from linewright.answer.quality.model import KindQuality
from linewright.base.nouns import plural
from linewright.base.results import Interval, Table, show, show_interval
from linewright.report import words
from linewright.report.good.tables import of_million
from linewright.report.tables import item_names

ALL = 6
"""Values of an option that are all told; of more of them the worst, the best and how many there are."""
WORST = 3
ALIKE = 1e-9
Values = tuple[tuple[str, str], ...]


def by_kind(answer: Answer) -> Table:
    """What reaches the customer and what is right first time, by the values of the options; nothing without options."""
    title = "How good is each kind?"
    kinds = answer.quality.kinds
    if not kinds:
        return Table(title, (), ())
    rows = [row for item in dict.fromkeys(k.item for k in kinds) for row in _of_item(answer, item)]
    bound = "At most, for the faults are too many to follow together. " if any(k.any_is_bound for k in kinds) else ""
    same = "".join(f" {said}" for item in dict.fromkeys(k.item for k in kinds) for said in _same(answer, item))
    note = (
        f"Of a million of each kind, those that leave with a fault or several. {bound}Right first time: no loss, no "
        f"fault and no false alarm, in it and in all that is made for it.{same}"
    )
    columns = ("kind", "a day", "leave with a fault", "counted", "right first time", "most often")
    kept = [k for k in range(len(columns)) if any(row[k] for row in rows)]
    shown = tuple(tuple(row[k] for k in kept) for row in rows)
    return Table(title, tuple(columns[k] for k in kept), shown, note if rows else "")


def spread(answer: Answer) -> str:
    """The worst and the best value of the option that makes most difference; nothing where all are alike."""
    found: list[tuple[KindQuality, KindQuality]] = []
    wanted = {w.item for w in answer.capacity.wanted}
    for of in _groups([k for k in answer.quality.kinds if k.item in wanted and len(k.values) == 1]):
        ranked = sorted(of, key=lambda k: k.any_fault)
        if not _alike(ranked[0], ranked[-1]):
            found.append((ranked[0], ranked[-1]))
    if not found:
        return ""
    best, worst = max(found, key=lambda pair: pair[1].any_fault - pair[0].any_fault)
    return (
        f"from {of_million(best.any_fault)} of the {_values(answer, best.values)} to {of_million(worst.any_fault)} of "
        f"the {_values(answer, worst.values)}"
    )


def _groups(kinds: list[KindQuality]) -> list[list[KindQuality]]:
    """Kinds of one item and one option together."""
    found: dict[tuple[str, tuple[str, ...]], list[KindQuality]] = {}
    for k in kinds:
        found.setdefault((k.item, tuple(option for option, _ in k.values)), []).append(k)
    return list(found.values())


def _of_item(answer: Answer, item: str) -> Iterator[tuple[object, ...]]:
    every = [k for k in answer.quality.kinds if k.item == item]
    name = plural(words.in_sentence(item_names(answer).get(item, item)))
    of = [group for group in _groups(every) if group[0].values]
    if not any(k.values == () for k in every):  # a part: only where its kinds differ
        of = [group for group in of if not _all_alike(group)]
    if sum(len(group[0].values) == 1 and not _all_alike(group) for group in of) < 2:
        of = [group for group in of if len(group[0].values) == 1]  # one option decides: its values say all
    for k in every:
        if k.values == ():
            yield _row(answer, k, f"all {name}")
    for group in of:
        yield from _group(answer, group, name)


def _group(answer: Answer, group: list[KindQuality], name: str) -> Iterator[tuple[object, ...]]:
    if _all_alike(group):
        return
    if len(group) <= ALL:
        yield from (_row(answer, k, f"{name}, {_values(answer, k.values)}") for k in group)
        return
    ranked = sorted(group, key=lambda k: -k.any_fault)
    yield from (_row(answer, k, f"{name}, {_values(answer, k.values)}, among the worst") for k in ranked[:WORST])
    yield _row(answer, ranked[-1], f"{name}, {_values(answer, ranked[-1].values)}, the best of {len(group)}")


def _same(answer: Answer, item: str) -> Iterator[str]:
    """A sentence for each option of a product that makes no difference."""
    every = [k for k in answer.quality.kinds if k.item == item]
    if any(k.values == () for k in every):
        name = plural(words.in_sentence(item_names(answer).get(item, item)))
        for group in _groups(every):
            if len(group[0].values) == 1 and _all_alike(group):
                option = _option(answer, group[0].values[0][0])
                yield f"{name[:1].upper()}{name[1:]} are alike in this whatever the {option}."


def _row(answer: Answer, kind: KindQuality, said: str) -> tuple[object, ...]:
    worst = f"{kind.worst} ({of_million(kind.worst_escapes)})" if kind.worst else ""
    return (
        said, show(kind.a_day), of_million(kind.any_fault), _counted(answer, kind),
        f"{100 * kind.right_first_time:.1f} %", worst,
    )  # fmt: skip


def _counted(answer: Answer, kind: KindQuality) -> str:
    """The same counted in the simulation, with its interval."""
    run = answer.simulation.as_planned if answer.simulation is not None else None
    for e in run.kinds if run is not None else ():
        if (e.item, e.values) == (kind.item, kind.values) and e.share.mean == e.share.mean:
            return show_interval(Interval(1e6 * e.share.mean, 1e6 * e.share.half_width))
    return ""


def _alike(a: KindQuality, b: KindQuality) -> bool:
    """Whether nobody could tell two kinds apart."""
    close = abs(a.any_fault - b.any_fault) <= ALIKE * max(a.any_fault, b.any_fault, 1.0)
    return close and abs(a.right_first_time - b.right_first_time) <= ALIKE


def _all_alike(group: list[KindQuality]) -> bool:
    return all(_alike(group[0], k) for k in group)


def _option(answer: Answer, option: str) -> str:
    known = answer.plan.options.get(option)
    return words.in_sentence(words.name_of(option, known.name if known is not None else ""))


def _values(answer: Answer, values: Values) -> str:
    return ", ".join(f"{_option(answer, option)} {value}" for option, value in values)
