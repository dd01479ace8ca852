"""Journeys against a second, slower way of telling them: every branch of a piece's life played out one by one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.base.problems import ProblemsError
from linewright.network.compile import compile_network
from linewright.network.journeys import journeys
from linewright.network.model import Network
from linewright.plan.build import PlanBuilder

Operations = list[dict[str, Any]]


def build(operations: Operations, **routes: Operations) -> Network:
    """A plan with one item a route: ``part`` routes are taken by the main one."""
    plan = PlanBuilder("Harrow Fen Works, a test", makes="thing", demand="100 each/day", money="EUR")
    plan.item("thing", unit="each")
    plan.item("seconds", unit="each", sell="1 EUR")
    for name, rows in {**routes, "thing": operations}.items():
        if name != "thing":
            plan.item(name, unit="each")
        route = plan.route(f"make_{name}", gives=name)
        for row in rows:
            route.operation(row["id"], **{k: v for k, v in row.items() if k != "id"}, time="1 min")
    return compile_network(plan.build())


class Played:
    """One piece's life, every branch with its probability; faults are names, repeats are remembered as sets."""

    def __init__(self, rows: Operations, incoming: dict[int, dict[frozenset[str], float]] | None = None) -> None:
        self.rows, self.incoming = rows, incoming or {}
        self.runs: dict[int, float] = defaultdict(float)
        self.takes: dict[int, float] = defaultdict(float)
        self.scrap = self.seconds = 0.0
        self.finish: dict[frozenset[str], float] = defaultdict(float)
        self.go(0, 1.0, frozenset(), {}, frozenset(), frozenset(), False)

    def go(
        self,
        p: int,
        weight: float,
        faults: frozenset[str],
        counts: dict[int, int],
        seen: frozenset[int],
        again: frozenset[int],
        reworked: bool,
    ) -> None:
        if p == len(self.rows):
            self.finish[faults] += weight
            return
        row = self.rows[p]
        self.runs[p] += weight
        takes = p not in seen or p in again
        self.takes[p] += weight if takes else 0.0
        survives = row.get("yield_", 1.0)
        self.scrap += weight * (1 - survives)
        states = {faults: weight * survives}
        if takes and p in self.incoming:
            states = self.mixed(states, self.incoming[p])
        for fault, share in row.get("faults", {}).items():
            states = self.mixed(states, {frozenset([fault]): share, frozenset(): 1 - share})
        for now, w in states.items():
            if w > 0:
                self.check(p, w, now, counts, seen | {p}, again - {p}, reworked)

    @staticmethod
    def mixed(states: dict[frozenset[str], float], more: dict[frozenset[str], float]) -> dict[frozenset[str], float]:
        out: dict[frozenset[str], float] = defaultdict(float)
        for a, w in states.items():
            for b, share in more.items():
                out[a | b] += w * share
        return out

    def check(self, p: int, weight: float, faults: Any, counts: Any, seen: Any, again: Any, reworked: bool) -> None:
        check = self.rows[p].get("check")
        if check is None:
            return self.go(p + 1, weight, faults, counts, seen, again, reworked)
        looked = 1.0 if reworked else 1 / check.get("one_in", 1)
        if looked < 1:
            self.go(p + 1, weight * (1 - looked), faults, counts, seen, again, reworked)
        found: dict[frozenset[str], float] = {frozenset(): weight * looked}
        for fault in faults & set(check["finds"]):
            share = check["finds"][fault]
            found = self.mixed(found, {frozenset([fault]): share, frozenset(): 1 - share})
        for which, w in found.items():
            if which:
                reactions = [self.effective(check["then"].get(f, "scrap"), counts.get(p, 0)) for f in which]
                self.react(p, w, min(reactions, key=self.gravity), faults, counts, seen, again)
                continue
            alarm = check.get("false_alarms", 0.0)
            if alarm:
                other = self.effective(check["then"].get("*", "scrap"), counts.get(p, 0))
                self.react(p, w * alarm, other, faults, counts, seen, again)
            self.go(p + 1, w * (1 - alarm), faults, counts, seen, again, reworked)
        return None

    def effective(self, reaction: Any, count: int) -> Any:
        while isinstance(reaction, dict) and "rework" in reaction:
            if count < reaction["at_most"]:
                return reaction
            reaction = reaction.get("else", "scrap")
        return reaction

    def gravity(self, reaction: Any) -> tuple[int, int, bool]:
        if reaction == "scrap":
            return 0, 0, False
        if "seconds" in reaction:
            return 1, 0, False
        return 2, self.position(reaction["rework"]), not reaction.get("takes_again", False)

    def position(self, name: str) -> int:
        return next(k for k, row in enumerate(self.rows) if row["id"] == name)

    def react(self, p: int, weight: float, reaction: Any, faults: Any, counts: Any, seen: Any, again: Any) -> None:
        if reaction == "scrap":
            self.scrap += weight
        elif "seconds" in reaction:
            self.seconds += weight
        else:
            to = self.position(reaction["rework"])
            span = range(to, p + 1)
            cleared = {f for q in span for f in self.rows[q].get("faults", {})}
            if reaction.get("takes_again"):
                again = again | set(span)
                cleared |= {f for q in span for dist in [self.incoming.get(q, {})] for faults_ in dist for f in faults_}
            else:
                again = again - set(span)
            self.go(to, weight, faults - cleared, {**counts, p: counts.get(p, 0) + 1}, seen, again, True)


def agree(rows: Operations) -> None:
    network = build(rows)
    found, played = journeys(network), Played(rows)
    n = len(rows)
    assert found.runs == pytest.approx([played.runs[p] for p in range(n)], rel=1e-11, abs=1e-13)
    assert found.takes == pytest.approx([played.takes[p] for p in range(n)], rel=1e-11, abs=1e-13)
    assert sum(found.scrap.values()) == pytest.approx(played.scrap, rel=1e-10, abs=1e-13)
    assert sum(found.seconds.values()) == pytest.approx(played.seconds, rel=1e-10, abs=1e-13)
    good = sum(played.finish.values())
    assert found.good[0] == pytest.approx(good, rel=1e-11)
    thing = network.items.ids.index("thing")
    for k, fault in enumerate(network.faults):
        share = sum(w for faults, w in played.finish.items() if fault in faults) / good
        assert found.escapes.get((thing, k), 0.0) == pytest.approx(share, rel=1e-9, abs=1e-13)
    assert found.good[0] + sum(found.scrap.values()) + sum(found.seconds.values()) == pytest.approx(1, rel=1e-11)


FAULTS = ("gap", "dent", "stain")


@st.composite
def routes(draw: st.DrawFn) -> Operations:
    rows: Operations = []
    for p in range(draw(st.integers(1, 4))):
        row: dict[str, Any] = {"id": f"step_{p}"}
        if draw(st.booleans()):
            row["yield_"] = draw(st.sampled_from([0.9, 0.99]))
        chosen = draw(st.lists(st.sampled_from(FAULTS), unique=True, max_size=2))
        if chosen:
            row["faults"] = {fault: draw(st.sampled_from([0.02, 0.2])) for fault in chosen}
        if p % 2 == 1 or (p == 0 and draw(st.booleans())):
            row["check"] = draw(checks(p))
        rows.append(row)
    return rows


@st.composite
def checks(draw: st.DrawFn, p: int) -> dict[str, Any]:
    looked_for = draw(st.lists(st.sampled_from(FAULTS), unique=True, min_size=1, max_size=2))
    then = {fault: draw(reactions(p)) for fault in looked_for}
    then["*"] = draw(reactions(p))
    return {
        "finds": {fault: draw(st.sampled_from([0.5, 0.97, 1.0])) for fault in looked_for},
        "then": then,
        "false_alarms": draw(st.sampled_from([0.0, 0.03])),
        "one_in": draw(st.sampled_from([1, 4])),
    }


@st.composite
def reactions(draw: st.DrawFn, p: int) -> Any:
    kind = draw(st.sampled_from(["scrap", "seconds", "rework", "rework"]))
    if kind == "scrap":
        return "scrap"
    if kind == "seconds":
        return {"seconds": "seconds"}
    return {
        "rework": f"step_{draw(st.integers(0, p))}",
        "at_most": draw(st.integers(1, 2)),
        "takes_again": draw(st.booleans()),
        "else": draw(st.sampled_from(["scrap", {"seconds": "seconds"}])),
    }


@settings(max_examples=60, deadline=None)
@given(routes())
def test_walk_agrees_with_playing_every_branch(rows: Operations) -> None:
    agree(rows)


def test_faults_of_parts_enter_their_user() -> None:
    """Two parts of 5 % each: the pair has the fault with 1 - 0.95 squared; half are found and cannot be mended."""
    part = [{"id": "cast", "faults": {"crack": 0.05}}]
    main = [
        {"id": "join", "takes": {"part": 2}},
        {"id": "test", "check": {"finds": {"crack": 0.5}, "then": {"crack": {"rework": "join", "at_most": 1}}}},
    ]
    network = build(main, part=part)
    found = journeys(network)
    played = Played(
        main, {0: {frozenset(): 0.95**2, frozenset(["crack"]): 1 - 0.95**2}}
    )  # a redo without new parts keeps the crack
    good = sum(played.finish.values())
    thing, crack = network.items.ids.index("thing"), network.faults.index("crack")
    make = network.routes.ids.index("make_thing")
    assert found.good[make] == pytest.approx(good)
    assert good == pytest.approx(1 - (1 - 0.95**2) * 0.5 * 0.5)
    assert found.escapes[(thing, crack)] == pytest.approx(
        sum(w for faults, w in played.finish.items() if faults) / good
    )


def test_new_parts_bring_new_faults() -> None:
    part = [{"id": "cast", "faults": {"crack": 0.05}}]
    rework = {"rework": "join", "at_most": 1, "takes_again": True}
    main = [{"id": "join", "takes": {"part": 1}, "check": {"finds": {"crack": 1.0}, "then": {"crack": rework}}}]
    network = build(main, part=part)
    found = journeys(network)
    make = network.routes.ids.index("make_thing")
    assert found.good[make] == pytest.approx(1 - 0.05**2)
    assert found.takes[network.operations.ids.index("join")] == pytest.approx(1.05)


def test_a_fault_nobody_looks_for_reaches_the_customer_through_two_routes() -> None:
    part = [{"id": "cast", "faults": {"crack": 0.05, "burr": 0.2}}]
    main = [
        {"id": "join", "takes": {"part": 3}, "faults": {"gap": 0.1}},
        {"id": "test", "check": {"finds": {"gap": 1.0}, "then": {"gap": {"rework": "join", "at_most": 1}}}},
    ]
    network = build(main, part=part)
    found = journeys(network)
    thing = network.items.ids.index("thing")
    assert found.escapes[(thing, network.faults.index("crack"))] == pytest.approx(1 - 0.95**3)
    assert found.escapes[(thing, network.faults.index("burr"))] == pytest.approx(1 - 0.8**3)


def test_thirty_faults_looked_for_at_once_stay_small() -> None:
    """Each fault is found where it arises: no state remembers more than one."""
    rows = [
        {"id": f"s{k}", "faults": {f"f{k}": 0.01}, "check": {"finds": {f"f{k}": 0.9}, "then": "scrap"}}
        for k in range(30)
    ]
    found = journeys(build(rows))
    assert found.good[0] == pytest.approx((1 - 0.009) ** 30)
    assert found.states < 200


def test_too_many_states_are_refused_with_a_way_out() -> None:
    rows: Operations = [{"id": f"s{k}", "faults": {f"f{k}": 0.01}} for k in range(18)]
    rows.append({"id": "last", "check": {"finds": {f"f{k}": 0.9 for k in range(18)}, "then": "scrap"}})
    with pytest.raises(ProblemsError, match=r"make_thing.*65,536 states.*nearer"):
        journeys(build(rows))


def test_rework_across_a_split_is_refused(network: Callable[[str], Network]) -> None:
    with pytest.raises(ProblemsError, match="cannot go back across"):
        network(
            """
[plan]
name = "Split"
money = "EUR"
makes = "side"
demand = "10 each/day"
[items.side]
unit = "each"
[items.sheet]
unit = "sheet"
buy = "1 EUR"
[routes.side]
gives = "side"
[[routes.side.operations]]
id = "saw"
time = "1 min"
takes = { sheet = 1 }
gives = { side = 12 }
faults = { chip = "1 %" }
[[routes.side.operations]]
id = "look"
time = "1 min"
check = { finds = { chip = "90 %" }, then = { rework = "saw", at_most = 1 } }
"""
        )
