"""Measured feeds of declared shares are mixed load by load; counted ones, and what goes round, stay one feed a lot."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.base.calendar import MINUTE
from linewright.flow import solve_flow
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import Simulation, simulate
from linewright.simulate.engine import Engine
from linewright.simulate.kernel import rows as r
from linewright.simulate.simulate import prepare


def blending(parts: dict[str, int], *, made: bool = True, load: Any = "100 L", unit: str = "L") -> PlanBuilder:
    """A vat of 100 L mixed in 10 minutes of wines in parts of a hundred; each is drawn 100 L at a time, the first in
    5 minutes, the second in 10, and so on."""
    p = PlanBuilder("Mix", money="EUR", makes="cuvee", demand="2000 L/day", release="flat out", open_pieces=4)
    p.item("cuvee", unit="L", mass="1 kg").item("grapes", unit="kg", buy="1 EUR").station("vat")
    for k, name in enumerate(parts):
        p.item(name, unit=unit, mass="1 kg", **({} if made else {"buy": "2 EUR"}))
        if made:
            p.station(f"tap_{name}")
            p.route(name, gives=name).operation(
                f"draw_{name}", station=f"tap_{name}", load=load, time=f"{5 * (k + 1)} min", takes={"grapes": "1 kg"}
            )
    shares = {name: f"{part} %" for name, part in parts.items()}
    base = {"any_of": list(parts), "shares": shares, "amount": "1 L" if unit == "L" else 1}
    p.route("c", gives="cuvee").operation("mix", station="vat", load=load, time="10 min", takes={"base": base})
    return p


def network(builder: PlanBuilder) -> Network:
    return compile_network(builder.build())


def starts(result: Simulation, operation: str) -> list[float]:
    assert result.trace is not None
    found = result.trace.records
    return [one.time / MINUTE for one in found if one.operation == operation and one.event == "starts"]


def books(made: Network, hours: int) -> tuple[dict[str, float], dict[str, float]]:
    """Units used of every item after so many hours, and made less used less on hand of what is made."""
    prepared = prepare(made)
    engine = Engine(prepared.template, seed=0, replication=0)
    assert engine.advance(hours * 60 * MINUTE)
    used, open_now = {}, {}
    for name, row in zip(prepared.network.items.ids, prepared.layout.items, strict=True):
        used[name] = float(engine.x[row + r.I_USED])
        open_now[name] = float(engine.x[row + r.I_MADE_UNITS]) - used[name] - float(engine.x[row + r.I_POOL])
    return used, open_now


def test_a_load_takes_its_share_of_every_feed() -> None:
    made = network(blending({"strong": 30, "light": 70}))
    assert made.choices == ()
    index, units = made.operations.takes.row(made.operations.ids.index("mix"))
    assert {made.items.ids[i]: u for i, u in zip(index.tolist(), units.tolist(), strict=True)} == pytest.approx(
        {"strong": 0.3, "light": 0.7}
    )
    used, _ = books(made, 1000)
    assert used["strong"] > 10_000
    assert used["strong"] / used["light"] == pytest.approx(3 / 7, rel=1e-9)


def test_a_load_waits_until_every_feed_has_its_share() -> None:
    """The first 100 L of the slower feed come after 10 minutes, although 100 L of the other are there after 5."""
    result = simulate(network(blending({"strong": 30, "light": 70})), days=7, replications=1, trace=True)
    assert starts(result, "mix")[0] == pytest.approx(10, abs=1e-6)


def test_averages_are_those_of_the_shares() -> None:
    """2,000 L a day, 30 to 70."""
    flow = solve_flow(network(blending({"strong": 30, "light": 70})))
    names = {name: k for k, name in enumerate(flow.items)}
    assert flow.used[names["strong"]] == pytest.approx(600, rel=1e-9)
    assert flow.used[names["light"]] == pytest.approx(1400, rel=1e-9)


def test_counted_feeds_stay_a_choice() -> None:
    """A sheet is of one maker or the other; in the long run 30 to 70."""
    p = PlanBuilder("Sheets", money="EUR", makes="panel", demand="100 each/day", release="flat out", open_pieces=4)
    p.item("panel", unit="each").item("near", unit="sheet", buy="2 EUR").item("far", unit="sheet", buy="1 EUR")
    feed = {"any_of": ["near", "far"], "shares": {"near": "30 %", "far": "70 %"}, "amount": 1}
    p.station("saw").route("p", gives="panel").operation("cut", station="saw", time="1 min", takes={"sheet": feed})
    made = network(p)
    assert len(made.choices) == 1
    used, _ = books(made, 100)
    assert used["near"] == round(used["near"])
    assert used["near"] / used["far"] == pytest.approx(3 / 7, rel=1e-3)


def recycle(back: int) -> PlanBuilder:
    """A mill of 100 kg loads and a screen from which ``back`` per cent return, which are its declared share."""
    p = PlanBuilder("Mill", money="EUR", makes="fine", demand="500 kg/day", release="flat out", open_pieces=400)
    p.item("grain", unit="kg", buy="0.1 EUR").item("milled", unit="kg").item("coarse", unit="kg").item(
        "fine", unit="kg"
    )
    feed = {"any_of": ["coarse", "grain"], "shares": {"coarse": f"{back} %", "grain": f"{100 - back} %"}}
    p.station("mill").station("screen").route("m", gives="milled").operation(
        "grind", station="mill", load="100 kg", time="10 min", takes={"feed": {"amount": "1 kg", **feed}}
    )
    p.route("s", gives="fine").operation(
        "screen", station="screen", load="100 kg", time="10 min", takes={"milled": "1 kg"},
        gives={"fine": f"{(100 - back) / 100} kg", "coarse": f"{back / 100} kg"},
    )  # fmt: skip
    return p


@pytest.mark.parametrize("back", [20, 50, 80])
def test_what_goes_round_does_not_lock_the_works_from_empty(back: int) -> None:
    made = network(recycle(back))
    assert len(made.choices) == 1
    assert any("coarse goes round: grind takes every lot of one feed" in said for said in made.assumptions)
    result = simulate(made, days=14, replications=1)
    assert result.rate.mean == pytest.approx(14400 * (100 - back) / 100, rel=0.02)


def test_a_mix_beside_the_same_item_taken_plainly_is_one_amount() -> None:
    p = blending({"strong": 30, "light": 70}, made=False)
    p.document["items"]["cuvee"]["mass"] = "1.5 kg"
    p.document["routes"]["c"]["operations"][0]["takes"]["strong"] = "0.5 L"
    made = network(p)
    index, units = made.operations.takes.row(0)
    assert {made.items.ids[i]: u for i, u in zip(index.tolist(), units.tolist(), strict=True)} == pytest.approx(
        {"strong": 0.8, "light": 0.7}
    )


@settings(max_examples=15, deadline=None)
@given(parts=st.lists(st.integers(1, 20), min_size=2, max_size=4), hours=st.integers(5, 90))
def test_nothing_is_lost_of_any_feed(parts: list[int], hours: int) -> None:
    """What was made is used or on hand, and what is used keeps the shares, to 1e-9."""
    whole = sum(parts)
    shares = [100 * part / whole for part in parts]
    builder = blending({f"wine{k}": 1 for k in range(len(parts))})
    takes = builder.document["routes"]["c"]["operations"][0]["takes"]["base"]
    takes["shares"] = {f"wine{k}": f"{share!r} %" for k, share in enumerate(shares)}
    made = network(builder)
    used, lost = books(made, hours)
    wines = [f"wine{k}" for k in range(len(parts))]
    total = sum(used[w] for w in wines)
    assert total > 0
    assert [lost[w] / total for w in wines] == pytest.approx([0] * len(wines), abs=1e-9)
    assert [used[w] for w in wines] == pytest.approx([total * share / 100 for share in shares], rel=1e-9)


def test_compiled_and_not(monkeypatch: pytest.MonkeyPatch) -> None:
    made = network(blending({"strong": 30, "light": 30, "keeved": 40}))
    monkeypatch.delenv("LINEWRIGHT_NO_JIT", raising=False)
    one = simulate(made, days=7, replications=1, seed=5)
    monkeypatch.setenv("LINEWRIGHT_NO_JIT", "1")
    other = simulate(made, days=7, replications=1, seed=5)
    assert one.rate == other.rate
    assert np.array_equal(one.stock.mean, other.stock.mean)
    assert one.events == other.events
