"""How quantities, times and names of a plan read in a sentence, in a table cell or under a symbol."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from linewright.base.nouns import plural
from linewright.base.results import show
from linewright.plan.model import Amount, Duration, Operation, Reaction, Symbol, Varies

_STEPS = ((86_400.0, "days"), (3_600.0, "h"), (60.0, "min"), (1.0, "s"))


def seconds(value: float) -> str:
    """A time in the largest unit of which there are two or more.

    >>> seconds(240), seconds(5400), seconds(40), seconds(200_000)
    ('4 min', '90 min', '40 s', '2.31 days')
    """
    factor, unit = step_of(value)
    return f"{value / factor:,.3g} {unit}" if abs(value) / factor < 1000 else f"{show(value / factor)} {unit}"


def step_of(value: float) -> tuple[float, str]:
    """The unit in which a time in s is said: the seconds in it, and its name."""
    return next((step for step in _STEPS if abs(value) >= 2 * step[0]), (1.0, "s"))


def share(value: float) -> str:
    """A share as a percentage with two digits where it is small, and never rounded up to all of it.

    >>> share(0.113), share(0.02), share(1.4), share(0.0034), share(0.999), share(1.0)
    ('11 %', '2 %', '140 %', '0.34 %', '99.9 %', '100 %')
    """
    if abs(value) < 0.995:
        return f"{value * 100:.2g} %"
    digits = 0
    while value < 1 and digits < 6 and float(f"{value * 100:.{digits}f}") == 100:
        digits += 1
    return f"{value * 100:.{digits % 6}f} %"


def name_of(identity: str, name: str = "") -> str:
    """The name the author gave, else the identity with its underscores read as spaces."""
    return name or identity.replace("_", " ")


def in_sentence(name: str) -> str:
    """A name in the middle of a sentence: its first letter small, unless the word is written in capitals.

    >>> in_sentence("Fermenter, 5,000 L"), in_sentence("CNC mill")
    ('fermenter, 5,000 L', 'CNC mill')
    """
    return name if name[1:2].isupper() else name[:1].lower() + name[1:]


def article(name: str) -> str:
    """``a`` or ``an`` before a name, by its first letter.

    >>> article("trailer"), article("insole"), article("unit")
    ('a', 'an', 'a')
    """
    small = name.lower()
    return "an" if small[:1] in set("aeiou") and not small.startswith(("uni", "use", "eu", "one")) else "a"


def duration(value: Duration | None) -> str:
    """A duration as one short phrase; empty for none."""
    if value is None:
        return ""
    if value.rate is not None:
        return f"at {value.rate.text}"
    if value.physics is not None:
        return f"time of {value.physics} model"
    if value.study is not None:
        return f"time from study {value.study}"
    parts = []
    if value.fixed is not None and (value.fixed.value or value.each is None):
        parts.append(value.fixed.text)
    if value.mean is not None:
        parts.append(f"about {value.mean.text}")
    if value.least is not None and value.most is not None:
        parts.append(f"{value.least.text} to {value.most.text}")
    if value.each is not None:
        parts.append(f"{value.each.text} each")
    return " + ".join(parts)


def amount(value: Amount, names: dict[str, str]) -> str:
    """How much of what, as ``2 lids`` or ``0.42 kg adhesive`` or ``68 % must``."""
    if value.varies is not None:
        return f"{between([amount(one, names) for one in entries(value.varies)])} by {told_by(value.varies)}"
    return _amount(value, names) + _belonging(value)


def told_by(varies: Varies) -> str:
    """The options that a field differs by, in a sentence."""
    return listed(in_sentence(name_of(option)) for option in varies.options)


def entries(varies: Varies) -> list[Any]:
    """What a table by an option may give, each entry once and in order."""
    every = [*varies.table.values(), *([varies.otherwise] if varies.otherwise is not None else [])]
    return [one for k, one in enumerate(every) if one not in every[:k]]


def between(said: list[str]) -> str:
    """The first and the last of several phrases.

    >>> between(["3 min", "3.1 min", "3.2 min"])
    '3 min to 3.2 min'
    """
    return said[0] if said[0] == said[-1] else f"{said[0]} to {said[-1]}"


def _belonging(value: Amount) -> str:
    """What is said of the options of an item: `` of the same size``."""
    said = [f"of the same {listed(in_sentence(option) for option in value.same)}"] if value.same else []
    said += list(value.chosen.values())
    said += [listed(f"{show(n)} {name}" for name, n in counts.items()) for counts in value.made_of.values()]
    return f" ({', '.join(said)})" if said else ""


def _amount(value: Amount, names: dict[str, str]) -> str:
    if value.any_of:
        item = " or ".join(names.get(one, one) for one in value.any_of)
    else:
        item = names.get(value.item, value.item)
    if value.rest:
        return f"{item} (the rest)"
    if value.share is not None:
        return f"{share(value.share)} {item}"
    if value.model:
        return f"{item} (as the model says)"
    if value.quantity is None:
        return item
    plain_count = value.quantity.dimension in ("number", "count")
    if plain_count and value.quantity.value == 1:
        return item
    if plain_count:
        many = plural(item) if value.quantity.value > 1 and not value.any_of else item
        return f"{show(value.quantity.value)} {many}"
    return f"{value.quantity.text} {item}"


def part(value: Amount, names: dict[str, str]) -> tuple[str, str]:
    """An amount in two cells: the item, and how much of it."""
    if value.varies is not None:
        return names.get(value.item, value.item), f"by {told_by(value.varies)}"
    item = " or ".join(names.get(one, one) for one in value.any_of) or names.get(value.item, value.item)
    if value.varies is not None:
        each = {", ".join(key): part(one, names)[1] for key, one in value.varies.table.items()}
        return item, f"by {value.varies.by}: {listed(f'{key} {much}' for key, much in each.items())}"
    if value.made_of:
        many = (f"{show(n)} {key}" for values in value.made_of.values() for key, n in values.items())
        return item, listed(many)
    if value.rest:
        return item, "the rest"
    if value.share is not None:
        return item, share(value.share)
    if value.model:
        return item, "as the model says"
    if value.quantity is None:
        return item, "1"
    plain_count = value.quantity.dimension in ("number", "count")
    return item, show(value.quantity.value) if plain_count else value.quantity.text


def listed(words: Iterable[str], last: str = "and") -> str:
    """Words joined as in a sentence.

    >>> listed(["a", "b", "c"]), listed(["a"])
    ('a, b and c', 'a')
    """
    every = [word for word in words if word]
    if len(every) < 2:
        return "".join(every)
    return f"{', '.join(every[:-1])} {last} {every[-1]}"


def reaction(value: Reaction, names: dict[str, str]) -> str:
    """What happens to a rejected piece, in words."""
    if value.kind == "scrap":
        return "scrapped"
    if value.kind == "seconds":
        return f"sold as {names.get(value.seconds or '', value.seconds or 'seconds')}"
    times = "once" if value.at_most == 1 else f"at most {value.at_most} times"
    after = reaction(value.otherwise, names) if value.otherwise is not None else "scrapped"
    return f"sent back to {names.get(value.rework or '', value.rework or '')} {times}, then {after}"


def symbol_of(operation: Operation) -> Symbol:
    """The process-chart symbol of an operation: the one written, else told from what it does.

    An inspection has a check, a transport a move; what only stands is a delay; anything else is an operation.
    """
    if operation.symbol is not None:
        return operation.symbol
    if operation.check is not None:
        return "inspection"
    if operation.move is not None:
        return "transport"
    works = operation.time is not None or operation.crew or operation.takes or operation.gives or operation.loses
    return "delay" if operation.stand is not None and not works else "operation"


def cycle(operation: Operation) -> tuple[str, ...]:
    """The times of an operation under its symbol: ``5.5 min``, ``15 min stand``, ``load 12``."""
    moved = operation.move.time if operation.move is not None else None
    parts = [duration(operation.time if operation.time is not None else moved)]
    if operation.stand is not None:
        parts.append(f"{duration(operation.stand)} stand")
    load = operation.load
    if load is not None and load.most is not None and load.most.text != "1":
        parts.append(f"load {load.most.text}")
    elif load is not None and load.height is not None:
        parts.append(f"load {load.height.text} high")
    return tuple(part for part in parts if part)
