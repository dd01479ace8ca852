"""How is it made? The operations told in order: what goes in, how long, what is checked, what to mind.

The words come from the plan. Where the compiled network is at hand, a time that follows from a study or a physics model
is told as it was worked out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from linewright.base.nouns import plural
from linewright.network.model import Network
from linewright.plan.model import Amount, Check, Duration, Operation, Plan, Route, Setup, Symbol
from linewright.report import words
from linewright.report.story import told_order


@dataclass(frozen=True, slots=True)
class Part:
    """What a step takes: the item by name and id, how much of it, and for what (``piece`` or ``load``)."""

    item: str
    much: str
    per: str = "piece"
    id: str = ""


@dataclass(frozen=True, slots=True)
class CheckTold:
    """A check in words: what it looks for, by which limits and how, how often, and what happens to what it rejects."""

    looks_for: str
    limits: str
    method: str
    often: str
    reactions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Step:
    """One operation told: its ``number`` on the map, a title, sentences, what to ``mind`` and its hazards.

    The same in pieces for the sheets: ``time``, ``people``, ``tools``, ``parts``, ``check``, and ``also`` for the rest.
    """

    number: int
    id: str
    symbol: Symbol
    title: str
    sentences: tuple[str, ...]
    mind: str = ""
    hazards: tuple[str, ...] = ()
    time: str = ""
    people: str = ""
    tools: str = ""
    parts: tuple[Part, ...] = ()
    check: CheckTold | None = None
    also: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Chapter:
    """One route told: its title, an opening sentence and its steps."""

    id: str
    title: str
    opening: str
    steps: tuple[Step, ...]


def telling(plan: Plan, network: Network | None = None) -> tuple[Chapter, ...]:
    """The whole plan told, makers before users, steps numbered as on the process map."""
    return tuple(_Teller(plan, network).chapters())


@dataclass(slots=True)
class _Teller:
    plan: Plan
    network: Network | None
    number: int = 0

    @property
    def items(self) -> dict[str, str]:
        return {key: words.name_of(key, item.name) for key, item in self.plan.items.items()}

    @property
    def operations(self) -> dict[str, str]:
        return {o.id: words.name_of(o.id, o.name) for r in self.plan.routes.values() for o in r.operations}

    @property
    def numbered(self) -> dict[str, str]:
        """Operation id to its number and name."""
        every, called = (o.id for route in told_order(self.plan) for o in route.operations), self.operations
        return {key: f"step {k} ({called[key]})" for k, key in enumerate(every, start=1)}

    def chapters(self) -> Iterator[Chapter]:
        for route in told_order(self.plan):
            steps = tuple(self.step(route, operation) for operation in route.operations)
            yield Chapter(route.id, words.name_of(route.id, route.name), self.opening(route), steps)

    def opening(self, route: Route) -> str:
        item = self.items.get(route.gives, route.gives)
        users = [
            self.operations[o.id]
            for other in self.plan.routes.values()
            for o in other.operations
            if any(route.gives in (a.any_of or (a.item,)) for a in (*o.takes, *o.takes_per_load))
        ]
        wanted = [d.rate.text for d in self.plan.demand if d.item == route.gives]
        to = f" for {words.listed(dict.fromkeys(users))}" if users else ""
        asked = f", {wanted[0]} asked for" if wanted else ""
        part = f" {words.share(route.share)} of it comes this way." if route.share is not None else ""
        count = len(route.operations)
        return f"{count} step{'s' if count != 1 else ''} to make {item}{to}{asked}.{part}"

    def step(self, route: Route, operation: Operation) -> Step:
        self.number += 1
        said = [
            *self.only(operation), *self.window(operation), *self.takes(operation), *self.carried(operation),
            *self.works(operation), *self.waits(operation), *self.meanwhile(operation), *self.prepares(operation),
            *self.gives(route, operation), *self.checks(operation), *self.goes(operation),
        ]  # fmt: skip
        title = words.name_of(operation.id, operation.name)
        hazards = tuple(dict.fromkeys((*operation.hazards, *self.station_hazards(operation))))
        tools = words.listed(self.tool(tool, count) for tool, count in operation.uses.items())
        moved = words.name_of(operation.move.by) if operation.move is not None and operation.move.by else ""
        also = (
            *self.only(operation),
            *self.window(operation),
            *self.carried(operation),
            *self.minds(operation),
            *self.meanwhile(operation),
            *self.prepares(operation),
            *self.gives(route, operation),
            *self.goes(operation),
        )
        return Step(
            self.number, operation.id, words.symbol_of(operation), title, tuple(said), operation.telling, hazards,
            self.times(operation), words.listed(self.people(operation.crew)), words.listed([tools, moved]),
            tuple(self.parts(operation)), self.check(operation), also,
        )  # fmt: skip

    def times(self, operation: Operation) -> str:
        """Its time and its stand, as a phrase."""
        time = operation.time or (operation.move.time if operation.move is not None else None)
        said = self.time(operation, time, "time").partition(" (from")[0] if time is not None else ""
        stood = operation.stand
        stand = f"{self.time(operation, stood, 'stand').partition(' (from')[0]} stand" if stood is not None else ""
        return ", then ".join(part for part in (said, stand) if part)

    def parts(self, operation: Operation) -> Iterator[Part]:
        names = self.items
        for per, amounts in (("piece", operation.takes), ("load", operation.takes_per_load)):
            for amount in amounts:
                yield Part(*words.part(amount, names), per, amount.item)

    def check(self, operation: Operation) -> CheckTold | None:
        check = operation.check
        if check is None:
            return None
        finds = words.listed(check.finds) or "anything wrong"
        often = check.sample or ("every piece" if check.one_in == 1 else f"one piece in {check.one_in}")
        return CheckTold(finds, check.limits, check.method, often, tuple(self.reactions(check)))

    def station_hazards(self, operation: Operation) -> tuple[str, ...]:
        known = (self.plan.stations.get(station) for station in operation.station)
        return tuple(hazard for station in known if station is not None for hazard in station.hazards)

    def only(self, operation: Operation) -> Iterator[str]:
        """For which variants."""
        for option, values in operation.only_if.items():
            yield f"Only where the {self.option(option)} is {words.listed(values, 'or')}."

    def window(self, operation: Operation) -> Iterator[str]:
        """When it may begin, and what happens to a piece that comes too late."""
        wait = operation.wait
        if wait is None:
            return
        least = f"at least {wait.least.text}" if wait.least is not None else ""
        most = f"at most {wait.most.text}" if wait.most is not None else ""
        after = self.numbered.get(wait.after, wait.after)
        late = (
            f"; what is too late is {words.reaction(wait.otherwise, {**self.items, **self.numbered})}" if most else ""
        )
        yield f"Begins {words.listed([least, most])} after {after}{late}."

    def carried(self, operation: Operation) -> Iterator[str]:
        """What a piece gets on here, and what it comes off."""
        for key, carrier in self.plan.carriers.items():
            name = words.in_sentence(words.name_of(key, carrier.name))
            options = words.listed(self.option(option) for option in carrier.options)
            if operation.id in carrier.joins:
                one = f"{carrier.holds} together go on one {name}" if carrier.holds > 1 else f"Goes on {_a(name)}"
                yield f"{one}{f' of its {options}' if options else ''}."
            if operation.id in carrier.leaves:
                back = f", which is back {words.duration(carrier.way_back)} later" if carrier.way_back else ""
                yield f"Comes off the {name}{back}."

    def takes(self, operation: Operation) -> Iterator[str]:
        if operation.takes:
            yield f"Takes {words.listed(self.amounts(operation.takes))}."
        if operation.takes_per_load:
            yield f"Once a load takes {words.listed(self.amounts(operation.takes_per_load))}."

    def amounts(self, amounts: tuple[Amount, ...]) -> list[str]:
        names = self.items
        return [words.amount(amount, names) for amount in amounts]

    def works(self, operation: Operation) -> Iterator[str]:
        move = operation.move
        time = operation.time if operation.time is not None else move.time if move is not None else None
        who = words.listed(self.people(operation.crew))
        where = words.listed((self.station(s) for s in operation.station), "or")
        parts = []
        if time is not None:
            parts.append(self.time(operation, time, "time"))
        if where:
            parts.append(f"at {where}")
        if who:
            parts.append(f"by {who}")
        if operation.uses:
            tools = (self.tool(tool, count) for tool, count in operation.uses.items())
            parts.append(f"with {words.listed(tools)}")
        if move is not None and move.by:
            parts.append(f"by {words.name_of(move.by)}")
        if parts:
            yield _sentence(", ".join(parts))
        yield from self.minds(operation)

    def minds(self, operation: Operation) -> Iterator[str]:
        hands = operation.hands_on
        if hands is not None and (hands.start is not None or hands.end is not None):
            start = f"{hands.start.text} at the start" if hands.start is not None else ""
            end = f"{hands.end.text} at the end" if hands.end is not None else ""
            yield f"Hands are needed for {words.listed([start, end])}; between, it runs alone."
        if operation.tends > 1:
            yield f"One person minds up to {operation.tends} at once."
        load = operation.load
        if load is not None and load.height is not None:
            yield f"As many go together as stand {load.height.text} high."
        elif load is not None and load.most is not None:
            least = f" (at least {load.least.text})" if load.least is not None and load.least != load.most else ""
            counted = load.most.dimension in ("count", "number")
            yield f"{load.most.text} go together{least}." if counted else f"In loads of {load.most.text}{least}."

    def people(self, crew: Mapping[str, float]) -> list[str]:
        out = []
        for key, count in crew.items():
            known = self.plan.crews.get(key)
            out.append(_counted(count, words.in_sentence(words.name_of(key, known.name if known is not None else ""))))
        return out

    def option(self, key: str) -> str:
        known = self.plan.options.get(key)
        return words.in_sentence(words.name_of(key, known.name if known is not None else ""))

    def station(self, key: str) -> str:
        known = self.plan.stations.get(key)
        return f"the {words.in_sentence(words.name_of(key, known.name if known is not None else ''))}"

    def tool(self, key: str, count: int) -> str:
        known = self.plan.tools.get(key)
        return _counted(count, words.in_sentence(words.name_of(key, known.name if known is not None else "")))

    def time(self, operation: Operation, time: Duration, which: str) -> str:
        """A duration in words; with a network, the mean that a study or a model came to."""
        varies = operation.by_option.get(which)
        if varies is not None:
            said = words.between([words.duration(one) for one in words.entries(varies)])
            return f"{said} by {words.listed(self.option(option) for option in varies.options)}"
        if self.network is not None and (time.study is not None or time.physics is not None):
            rows = self.network.operations
            at = rows.ids.index(operation.id)
            source = f"study {time.study}" if time.study is not None else f"{time.physics} model"
            if which != "stand" and rows.continuous[at]:
                said = _rate(float(rows.piece_mass[at]), float(rows.each[at]) / 1e9)
            else:
                said = words.seconds(float((rows.stand if which == "stand" else rows.time).mean[at]) / 1e9)
            return f"{said} (from the {source})"
        return words.duration(time)

    def waits(self, operation: Operation) -> Iterator[str]:
        if operation.stand is not None:
            yield f"Then it stands for {self.time(operation, operation.stand, 'stand')} and keeps its place."

    def meanwhile(self, operation: Operation) -> Iterator[str]:
        """Work that comes again and again while it stands, and what is lost by standing."""
        for care in operation.during:
            who = words.listed(self.people(care.crew))
            said = f"{words.duration(care.time)}{f', by {who}' if who else ''}"
            yield f"While it stands, every {care.every.text}: {care.name} ({said})."
        if operation.ullage is not None:
            yield f"Loses {operation.ullage.text} by ullage while it stands."

    def prepares(self, operation: Operation) -> Iterator[str]:
        setup = operation.setup
        if setup is not None:
            yield _sentence(self.setup(setup))
        clean = operation.clean
        if clean is not None:
            often = f"every {clean.every.text}" if clean.every is not None else f"after every {clean.after}"
            yield f"Cleaned {often}: {words.duration(clean.time)}."
        start = operation.start
        if start is not None:
            when = "the start of a shift" if start.after == "shift" else "a stop"
            time = words.duration(start.time)
            lost = f"{start.scrap.text} scrapped" if start.scrap is not None else ""
            yield f"After {when}: {words.listed([time, lost])}."

    def setup(self, setup: Setup) -> str:
        time = words.duration(setup.time)
        if setup.when == "item changes":
            what = self.option(setup.option) if setup.option else "item"
            return f"setup when the {what} changes{': ' + time if time else ', by table'}"
        often = f" every {setup.every.text}" if setup.every is not None else ""
        return f"setup{often}: {time}" if time else f"setup{often}"

    def gives(self, route: Route, operation: Operation) -> Iterator[str]:
        own = [a for a in operation.gives if a.item == route.gives]
        others = tuple(a for a in operation.gives if a.item != route.gives)
        if own:
            yield f"From here on: {words.listed(self.amounts(tuple(own)))}."
        if others:
            yield f"Gives {words.listed(self.amounts(others))} beside it."
        if operation.loses:
            yield f"Loses {words.listed(self.amounts(operation.loses))}."
        if operation.yields < 1.0:
            yield f"{words.share(1.0 - operation.yields)} does not survive."
        if operation.faults:
            faults = words.listed(f"{fault} ({words.share(p)})" for fault, p in operation.faults.items())
            yield f"What goes wrong here: {faults}{' of loads' if operation.faults_per == 'load' else ''}."

    def checks(self, operation: Operation) -> Iterator[str]:
        check = operation.check
        if check is None:
            return
        finds = words.listed(f"{fault} (finds {words.share(p)})" for fault, p in check.finds.items())
        often = "" if check.one_in == 1 else f", one in {check.one_in}"
        how = f" {_sentence(check.method.rstrip('. '))}" if check.method else ""
        yield f"Checked for {finds or 'anything wrong'}{often}.{how}"
        if check.limits:
            yield f"Limits: {check.limits}."
        yield from self.reactions(check)
        if check.false_alarms > 0:
            yield f"{words.share(check.false_alarms)} of good pieces are rejected by mistake."

    def reactions(self, check: Check) -> Iterator[str]:
        names = {**self.items, **self.numbered}
        for fault, reaction in check.then.items():
            what = "A rejected piece" if fault == "*" else f"With {fault} a piece"
            yield f"{what} is {words.reaction(reaction, names)}."

    def goes(self, operation: Operation) -> Iterator[str]:
        if operation.then_to == "next":
            yield "Handed over directly to the next step."
        elif operation.then_to is not None:
            store = self.plan.stores.get(operation.then_to)
            name = words.name_of(operation.then_to, store.name if store is not None else "")
            room = f" (room for {store.room.text})" if store is not None else ""
            yield f"Waits in the {words.in_sentence(name)}{room}."


def _a(name: str) -> str:
    return f"{words.article(name)} {name}"


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + "."


_NUMBERS = {1: "one", 2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}


def _counted(count: float, noun: str) -> str:
    """``one fitter``, ``two fitters``, ``0.5 fitter``."""
    number = _NUMBERS.get(int(count), f"{count:g}") if count == int(count) else f"{count:g}"
    noun = noun.partition(" (")[0]
    return f"{number} {plural(noun) if count > 1 else noun}"


def _rate(kg: float, each: float) -> str:
    """How fast a continuous operation goes: by mass where a piece of ``kg`` taking ``each`` s has one.

    >>> _rate(1.0, 1.8), _rate(float("nan"), 30.0)
    ('at 2 t/h', '30 s for each')
    """
    hourly = 3600 * kg / each if each > 0 else math.nan
    if math.isnan(hourly):
        return f"{words.seconds(each)} for each"
    return f"at {hourly / 1000:.3g} t/h" if hourly >= 1000 else f"at {hourly:.3g} kg/h"
