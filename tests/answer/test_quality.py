"""How do we know it is good? The answer's quality agrees with the balance, with the simulation, and with plain sums."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats

from linewright.answer import Answer, answer
from linewright.network.way import way_of_faults
from linewright.plan import PlanBuilder, read_plan
from linewright.quality.chain import Step, follow
from linewright.simulate import simulate

EXAMPLES = sorted((Path(__file__).resolve().parents[2] / "examples").glob("*.toml"))


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda path: path.stem)
def works(request: pytest.FixtureRequest) -> Answer:
    return answer(read_plan(request.param))


def read(name: str) -> Answer:
    return answer(read_plan(next(path for path in EXAMPLES if path.stem == name)))


def line(*operations: dict[str, Any], demand: str = "100 each/day") -> PlanBuilder:
    build = PlanBuilder("Line", makes="part", demand=demand, money="EUR")
    build.item("part", unit="each").item("raw", unit="each", buy="1 EUR")
    build.shift("day", hours="06:00-14:00").crew("fitter", people=4, shift="day", wage="30 EUR/h")
    route = build.route("main", gives="part")
    for k, fields in enumerate(operations):
        takes = {"takes": {"raw": 1}} if k == 0 else {}
        route.operation(fields.pop("id"), crew={"fitter": 1}, time="1 min", **takes, **fields)
    return build


def test_what_reaches_the_customer_is_what_flow_says(works: Answer) -> None:
    flow, quality = works.flow, works.quality
    for way in quality.ways:
        fault = flow.faults.index(way.fault)
        share = sum(flow.delivered[e.item] * e.share for e in flow.escapes if e.fault == fault) / flow.demand
        assert way.escapes == pytest.approx(1e6 * share, rel=1e-12, abs=1e-9)


def test_every_route_ends_with_its_escapes(works: Answer) -> None:
    network, flow = works.network, works.flow
    way = way_of_faults(network, flow.mix, flow.choice_mix)
    for escape in flow.escapes:
        ends = [
            float(way.carried[last, escape.fault])
            for last, item in zip(network.routes.last.tolist(), network.routes.item.tolist(), strict=True)
            if item == escape.item
        ]
        if len(ends) == 1:
            assert ends[0] == pytest.approx(escape.share, abs=1e-12)


def test_faults_followed_together_and_one_by_one_agree(works: Answer, monkeypatch: pytest.MonkeyPatch) -> None:
    network, flow = works.network, works.flow
    together = way_of_faults(network, flow.mix, flow.choice_mix)
    monkeypatch.setattr("linewright.network.way.TOGETHER", 0)
    apart = way_of_faults(network, flow.mix, flow.choice_mix)
    np.testing.assert_allclose(apart.carried, together.carried, atol=1e-13)
    assert not network.faults or np.isnan(apart.any_fault).all()


def test_any_fault_lies_between_the_worst_and_the_sum(works: Answer) -> None:
    escapes = [w.escapes for w in works.quality.ways]
    rounds = 1e-9  # of a million: 1 - (1 - p) rounds at 1e-16
    assert max(escapes, default=0.0) <= works.quality.any_fault + rounds
    assert works.quality.any_fault <= sum(escapes) * (1 + 1e-12) + 1e-9


def test_rejects_of_a_day_balance_with_flow(works: Answer) -> None:
    flow = works.flow
    for load in works.quality.checks:
        o = flow.operations.index(load.operation)
        reasons = ("yield", "start-up")
        scrapped = sum(s.pieces for s in flow.scrap if s.operation == o and s.reason not in reasons)
        assert load.scrapped == pytest.approx(scrapped, rel=1e-9, abs=1e-9)
        assert 0 <= load.good_rejected <= load.rejected * (1 + 1e-9) + 1e-12
        assert load.looked_at <= load.comes * (1 + 1e-12)


def test_rejects_agree_with_the_simulation() -> None:
    """Within the 99.9 % interval of the simulation: sent back and scrapped at every check of the trailer."""
    found = read("trailer")
    run = simulate(found.network, days=7 * 40, replications=12, seed=3, half_width=None)
    wide = float(stats.t.ppf(0.9995, 11) / stats.t.ppf(0.975, 11))
    for load in found.quality.checks:
        o = run.operations.index(load.operation)
        for seen, expected in (
            (run.scrapped.interval(o), load.scrapped),
            (run.reworked.interval(o), load.sent_back),
        ):
            assert abs(seen.mean - expected) <= wide * seen.half_width + 0.01 * expected + 0.02, load.operation


def test_a_row_of_checks_by_hand() -> None:
    """Made 2 %, found 97 % with 1 % false alarms, then 50 %: the chain of formulas and a plain sum agree."""
    build = line(
        {"id": "glue", "faults": {"gap": "2 %"}},
        {"id": "probe", "check": {"finds": {"gap": "97 %"}, "false_alarms": "1 %"}},
        {"id": "look", "check": {"finds": {"gap": "50 %"}}},
    )
    quality = answer(build.build()).quality
    way = quality.way("gap")
    after = [step.after for step in way.steps]
    passed = 0.02 * 0.03 / (0.02 * 0.03 + 0.98)
    last = passed * 0.5 / (passed * 0.5 + 1 - passed)
    assert after == pytest.approx([20_000, 1e6 * passed, 1e6 * last])
    steps = [Step("glue", makes={"gap": 0.02}), Step("probe", finds={"gap": 0.97}, false_alarms=0.01)]
    chain = follow([*steps, Step("look", finds={"gap": 0.5})])
    assert way.escapes == pytest.approx(1e6 * chain.faulty)
    assert quality.any_fault == pytest.approx(way.escapes)


def test_ranks_follow_from_the_plan() -> None:
    modes = [
        {"mode": "gap", "severity": 7, "costs": "100 EUR"},
        {"mode": "smell", "severity": 3},
        {"mode": "burn", "severity": 10, "occurrence": 1, "detection": 1},
    ]
    build = line(
        {"id": "glue", "faults": {"gap": "2 %"}, "failure_modes": modes},
        {"id": "probe", "check": {"finds": {"gap": "97 %"}}},
    )
    found = answer(build.build())
    table = found.quality.failures
    assert table is not None
    ranks = {m.failure.mode: (m.failure.occurrence, m.failure.detection, m.priority) for m in table.modes}
    assert ranks == {"gap": (8, 4, "high"), "burn": (1, 1, "medium")}
    assert any('"smell"' in p.what and "occurrence and detection" in p.what for p in found.problems)
    (look,) = found.quality.looks
    assert look.lost == pytest.approx(100 * found.quality.way("gap").escapes / 1e6)
    looks = found.flow.first_runs[0] / found.flow.demand
    assert look.worth == pytest.approx(0.9 * look.lost / looks)
    assert look.seconds == pytest.approx(3600 * look.worth / 30.0)


def test_first_pieces_after_a_setup() -> None:
    first = {"pieces": 3, "setup_wrong": "10 %", "faulty_when_wrong": "50 %"}
    build = line(
        {
            "id": "drill",
            "setup": {"time": "5 min", "every": 100},
            "faults": {"hole": "0.1 %"},
            "check": {"finds": {"hole": "100 %"}, "one_in": 20, "first_pieces": first},
        }
    )
    (load,) = answer(build.build()).quality.checks
    assert load.first_pieces is not None
    assert load.first_pieces.released_wrong == pytest.approx(0.1 * 0.5**3)
    assert load.first_pieces.faulty == pytest.approx(100 * 0.1 * 0.5**3 * 0.5)


def test_hold_back_to_the_last_good_check() -> None:
    build = line(
        {"id": "drill", "faults": {"hole": "1 %"}},
        {"id": "gauge", "check": {"finds": {"hole": "80 %"}, "one_in": 50, "hold_back": True}},
    )
    (load,) = answer(build.build()).quality.checks
    assert load.hold_back is not None
    assert load.hold_back.pieces == 150  # 0.2^3 = 0.008 is the first below 1 %


def test_the_hive_kits_bag() -> None:
    """The plan's claims by the normal curve, as its comments work them out by hand."""
    (count,) = read("hivekit").quality.kits
    sd = math.sqrt(48 * 0.05**2 + 8 * 0.09**2 + 24 * 0.14**2 + 8 * 0.45**2 + 6 * 0.3**2 + 0.1**2 + 0.3**2)
    assert count.kit.sd == pytest.approx(sd)
    assert (count.kit.low, count.kit.high) == pytest.approx((594.0, 602.8))
    of = {name: (mean, spread) for name, _, mean, spread in count.names}
    for claim in count.claims:
        mass, spread = of[claim.part]
        left = math.sqrt(sd**2 - spread**2)  # the spread of the part that is not there is not there either
        inside = stats.norm.cdf(4.45, -mass, left) - stats.norm.cdf(-4.45, -mass, left)
        assert claim.computed == pytest.approx(1 - inside, abs=1e-9)
        assert claim.written == pytest.approx(claim.computed, abs=0.006)
    assert set(count.kit.hidden) == {"pouch", "screw", "long_screw", "dowel"}


def test_a_claim_that_the_masses_deny_is_a_warning() -> None:
    plan = read_plan(next(path for path in EXAMPLES if path.stem == "hivekit"))
    changed = plan.change('routes.fixings.operations[weigh_bag].check.finds."dowel missing"', "60 %")
    (warning,) = [p for p in answer(changed).problems if "dowel missing" in p.what]
    assert "60%" in warning.what
    assert "7%" in warning.what
    assert warning.line is not None


def test_who_claims_less_than_the_masses_allow_is_not_warned() -> None:
    """A scale that is trusted with less than it finds is on the safe side."""
    plan = read_plan(next(path for path in EXAMPLES if path.stem == "hivekit"))
    changed = plan.change('routes.fixings.operations[weigh_bag].check.finds."long screw missing"', "50 %")
    assert not [p for p in answer(changed).problems if "long screw missing" in p.what]


def test_a_kit_without_masses_is_told_by_name() -> None:
    check = {"finds": {}, "scale": {"step": "1 g", "repeatability": "1 g"}}
    found = answer(line({"id": "pack", "check": check}).build())
    assert found.quality.kits == ()
    assert any("no mass is written for raw" in p.what for p in found.problems)


def test_a_spread_beyond_the_mass_is_a_warning_and_no_failure() -> None:
    plan = read_plan(next(path for path in EXAMPLES if path.stem == "hivekit"))
    found = answer(plan.change("items.screw.mass.sd", "50 g"))
    assert found.quality.kits == ()
    assert any("the kit is not counted" in p.what and "screw" in p.what for p in found.problems)


def test_fits_by_hand() -> None:
    fits = {fit.id: fit for fit in read("hivekit").quality.fits}
    dowel, bees = fits["dowel"].stack, fits["bee_space"].stack
    assert dowel.worst == pytest.approx((-0.05, 0.35))
    assert dowel.sd == pytest.approx(math.hypot(0.08, 0.12) / 3)
    assert dowel.outside is not None
    share = stats.norm.cdf(0, 0.15, dowel.sd) + stats.norm.sf(0.35, 0.15, dowel.sd)
    assert dowel.outside[1] <= share <= dowel.outside[2]
    assert bees.always_fits


def test_several_of_one_dimension_are_independent() -> None:
    build = line({"id": "pack"})
    build.fit("stack", opens={"box": "100 mm +/- 1 mm"}, closes={"sheet": {"size": "10 mm", "within": "0.2 mm",
              "times": 9}}, least="5 mm")  # fmt: skip
    (fit,) = answer(build.build()).quality.fits
    assert fit.stack.middle == pytest.approx(10.0)
    assert fit.stack.sd == pytest.approx(math.sqrt(1 + 9 * 0.2**2) / 3)
    assert fit.stack.worst[0] == pytest.approx(10 - 1 - 9 * 0.2)


def test_learning_raises_the_rate_to_the_demand() -> None:
    """One fitter with 300 min of work in 480 min: slow at first, at the demand in the end."""
    build = line({"id": "fit", "learning": {"rate": "50 %", "standard_at": 4}}, demand="300 each/day")
    plan = build.build().change("crews.fitter.people", 1)
    ramp = answer(plan).quality.ramp
    assert ramp is not None
    assert ramp.learners[0].first == pytest.approx(4.0)
    slow = build.build().change("crews.fitter.people", 1)
    slow = slow.change("routes.main.operations[fit].learning", {"rate": "80 %", "standard_at": 5000})
    ramp = answer(slow).quality.ramp
    assert ramp is not None
    assert list(ramp.daily) == sorted(ramp.daily)
    assert ramp.rates[0] < 300
    assert ramp.rates[-1] == pytest.approx(300)
    assert ramp.short == pytest.approx(sum(300 - r for r in ramp.daily[: 5 * (ramp.weeks_to_demand or 0) - 5]))
    # the time spent on the first day's pieces, one after the other, fills that day
    b = math.log2(0.8)
    spent = sum(max(1.0, ((k + 1) / 5000) ** b) for k in range(math.floor(ramp.daily[0])))
    assert spent == pytest.approx(480, rel=0.06)


def test_nothing_learned_shows_nothing() -> None:
    assert answer(line({"id": "fit"}).build()).quality.ramp is None


def test_quality_is_plain_data(works: Answer) -> None:
    data = json.loads(json.dumps(works.quality.to_dict(), allow_nan=False))
    assert {w["fault"] for w in data["ways"]} == {w.fault for w in works.quality.ways}
    assert works.quality.to_table().rows or not works.quality.ways
