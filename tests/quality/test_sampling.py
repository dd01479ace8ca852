"""Sampling plans: risks kept and not beatable, curves against random lots, switching by the book."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from linewright.base.problems import ProblemsError
from linewright.quality.drift import Drift, best_interval, cost_of_checking
from linewright.quality.inspection import Look, looked_again, looks_for_escape, through_looks
from linewright.quality.sampling import (
    DoublePlan,
    Lot,
    MeasuredPlan,
    SinglePlan,
    State,
    accept,
    accept_measured,
    after_lot,
    attribute_plan,
    average_sample,
    code_letter,
    double_by_two_points,
    judge_measured,
    measured_plan,
    operating_curve,
    resume,
    single_by_two_points,
    worst_outgoing,
)
from linewright.quality.sampling.iso2859 import AQLS, LETTERS


@settings(max_examples=40, deadline=None)
@given(good=st.floats(0.002, 0.05), factor=st.floats(2.5, 10), a=st.floats(0.01, 0.1), b=st.floats(0.02, 0.2))
def test_the_single_plan_keeps_both_risks_and_no_smaller_one_does(
    good: float, factor: float, a: float, b: float
) -> None:
    bad = min(0.9, good * factor)
    plan = single_by_two_points(good, a, bad, b)
    assert accept(plan, good) >= 1 - a
    assert accept(plan, bad) <= b
    if plan.n < 150:
        for n, c in itertools.product(range(1, plan.n), range(plan.c + 1)):
            if c < n:
                assert not (stats.binom.cdf(c, n, good) >= 1 - a and stats.binom.cdf(c, n, bad) <= b)


def test_a_double_plan_samples_less_and_keeps_both_risks() -> None:
    single = single_by_two_points(0.01, 0.05, 0.06, 0.10)
    for ratio in (1, 2):
        plan = double_by_two_points(0.01, 0.05, 0.06, 0.10, ratio=ratio)
        assert accept(plan, 0.01) >= 0.95
        assert accept(plan, 0.06) <= 0.10
        assert average_sample(plan, 0.01) < single.n


@pytest.mark.parametrize("lot", [None, 400])
def test_curves_agree_with_lots_drawn_at_random(lot: int | None) -> None:
    random = np.random.default_rng(1)
    plan = DoublePlan(40, 1, 4, 60, 4)
    accepted, looked = 0, 0
    rounds = 20_000
    for _ in range(rounds):
        d1 = random.binomial(40, 0.05) if lot is None else random.hypergeometric(20, 380, 40)
        looked += 40
        if 1 < d1 < 4:
            looked += 60
            d2 = random.binomial(60, 0.05) if lot is None else random.hypergeometric(20 - d1, 340 + d1, 60)
            accepted += d1 + d2 <= 4
        else:
            accepted += d1 <= 1
    p = float(accept(plan, 0.05, lot))
    assert accepted / rounds == pytest.approx(p, abs=4 * (p * (1 - p) / rounds) ** 0.5)
    assert looked / rounds == pytest.approx(float(average_sample(plan, 0.05, lot)), abs=0.9)


def test_sorting_refused_lots_bounds_the_outgoing_share() -> None:
    plan = SinglePlan(50, 1)
    worst, at = worst_outgoing(plan, 1000)
    curve = operating_curve(plan, np.linspace(0, 0.3, 301), lot=1000)
    assert max(curve.outgoing) == pytest.approx(worst, rel=1e-3)
    assert max(curve.outgoing) <= worst + 1e-12
    assert curve.faulty[int(np.argmax(curve.outgoing))] == pytest.approx(at, abs=2e-3)
    assert curve.inspected[0] == 50
    assert curve.inspected[-1] == pytest.approx(1000, rel=0.01)
    assert len(operating_curve(plan).to_table().rows) == 61


def test_a_double_plan_that_never_needs_its_second_sample_is_its_first() -> None:
    """With c1 and r1 apart by one unit only the first sample's single plan lies between c1 and r1 - 1."""
    for p in (0.01, 0.05, 0.1):
        double = float(accept(DoublePlan(50, 1, 3, 1, 2), p))
        low, high = float(accept(SinglePlan(50, 1), p)), float(accept(SinglePlan(50, 2), p))
        assert low < double <= high


def test_tightened_is_never_kinder_and_reduced_never_stricter_than_normal() -> None:
    p = np.linspace(0.001, 0.3, 60)  # the corner (A, 10) crosses at 36 %
    for letter, aql in itertools.product(LETTERS, [a for a in AQLS if a <= 10]):
        normal, tight = attribute_plan(letter, aql), attribute_plan(letter, aql, "tightened")
        assert np.all(accept(tight, p) <= accept(normal, p) + 1e-12)
        assert attribute_plan(letter, aql, "reduced").n < normal.n or letter in "AB"


def test_a_lot_at_the_aql_is_mostly_accepted() -> None:
    """The scheme's purpose: at the AQL normal plans accept from about 88 % (small plans) to 99 % of lots."""
    for letter, aql in itertools.product(LETTERS, [a for a in AQLS if a <= 10]):
        chance = float(accept(attribute_plan(letter, aql), aql / 100))
        assert 0.86 <= chance <= 0.999


def test_what_does_not_exist_is_refused_by_name() -> None:
    with pytest.raises(ProblemsError, match="no such table"):
        attribute_plan("J", 1.0, "stopped")  # type: ignore[arg-type]
    with pytest.raises(ProblemsError, match="no such column"):
        attribute_plan("J", 1.1)
    with pytest.raises(ProblemsError, match="no such code letter"):
        attribute_plan("I", 1.0)
    with pytest.raises(ProblemsError, match="unknown inspection level"):
        code_letter(100, "IV")
    with pytest.raises(ProblemsError, match="too small"):
        code_letter(1)


def play(state: State, outcomes: str, **more: bool) -> State:
    """a: accepted (and one step tighter); n: accepted, not tighter; r: refused; acceptance number 2."""
    for o in outcomes:
        state = after_lot(state, Lot(o != "r", 2, o == "a"), **more)
    return state


@pytest.mark.parametrize(
    ("outcomes", "severity"),
    [
        ("a" * 9, "normal"),
        ("a" * 10, "reduced"),
        ("aaaaan" + "a" * 9, "normal"),
        ("aaaaan" + "a" * 10, "reduced"),
        ("rr", "tightened"),
        ("raaar", "tightened"),
        ("raaaar", "normal"),
        ("rr" + "naaa", "tightened"),
        ("rr" + "naaan", "normal"),
        ("rr" + "aaaara", "tightened"),
        ("rr" + "aarararar", "tightened"),
        ("rr" + "aararararr", "stopped"),
        ("a" * 10 + "n", "reduced"),
        ("a" * 10 + "r", "normal"),
    ],
)
def test_switching(outcomes: str, severity: str) -> None:
    assert play(State(), outcomes).severity == severity


def test_switching_asks_for_steady_production_and_leave() -> None:
    assert play(State(), "a" * 12, steady=False).severity == "normal"
    assert play(State(), "a" * 12, reduced_allowed=False).severity == "normal"
    reduced = play(State(), "a" * 10)
    assert after_lot(reduced, Lot(True, 2, True), steady=False).severity == "normal"
    stopped = play(State(), "rr" + "r" * 5)
    with pytest.raises(ProblemsError, match="stopped"):
        after_lot(stopped, Lot(True, 1))
    assert resume(stopped).severity == "tightened"
    with pytest.raises(ProblemsError, match="not stopped"):
        resume(State())
    small = State()
    for _ in range(15):
        small = after_lot(small, Lot(True, 0))
    assert small.severity == "reduced"
    with pytest.raises(ProblemsError, match="cannot be"):
        after_lot(State(), Lot(False, 2, True))


@pytest.mark.parametrize("known", [True, False])
def test_measured_plans_keep_both_risks_and_beat_counting(known: bool) -> None:
    plan = measured_plan(0.01, 0.05, 0.06, 0.10, known_sd=known)
    assert accept_measured(plan, 0.01) >= 0.95 - 1e-9
    assert accept_measured(plan, 0.06) <= 0.10 + 1e-9
    assert plan.n < single_by_two_points(0.01, 0.05, 0.06, 0.10).n
    random = np.random.default_rng(2)
    limit = float(stats.norm.isf(0.04))
    x = random.normal(size=(4000, plan.n))
    sd = 1.0 if known else x.std(axis=1, ddof=1)
    chance = float(accept_measured(plan, 0.04))
    assert np.mean((limit - x.mean(axis=1)) / sd >= plan.k) == pytest.approx(chance, abs=0.03)


def test_a_lot_judged_by_measurement() -> None:
    plan = MeasuredPlan(5, 1.5, False)
    x = [10.0, 10.2, 9.8, 10.1, 9.9]
    assert judge_measured(x, plan, lower=9.5, upper=10.6).accepted
    assert not judge_measured(x, plan, lower=9.9, upper=10.6).accepted
    assert not judge_measured(x, plan, lower=9.7, upper=10.3).sure
    with pytest.raises(ProblemsError, match="as the plan says"):
        judge_measured(x[:4], plan, lower=9.5)
    with pytest.raises(ProblemsError, match="limits are reversed"):
        judge_measured(x, plan, lower=11.0, upper=9.0)
    with pytest.raises(ProblemsError, match="do not agree"):
        judge_measured(x, plan, lower=9.0, sd=0.2)


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: single_by_two_points(0.06, 0.05, 0.01, 0.1), "the shares are reversed"),
        (lambda: single_by_two_points(0.01, 0.6, 0.06, 0.5), "add to 1"),
        (lambda: single_by_two_points(0.01, 0.05, 0.0100001, 0.1), "too near"),
        (lambda: single_by_two_points(1.0, 0.05, 6.0, 0.1), "not a share"),
        (lambda: double_by_two_points(0.01, 0.05, 0.06, 0.1, ratio=3), "not a usual ratio"),
        (lambda: accept(SinglePlan(10, 10), 0.1), "no such plan"),
        (lambda: accept(DoublePlan(10, 2, 2, 10, 3), 0.1), "no such plan"),
        (lambda: accept(SinglePlan(10, 1), 0.1, lot=5), "smaller than the sample"),
        (lambda: accept(SinglePlan(10, 1), 1.5), "too large"),
        (lambda: measured_plan(0.01, 0.05, 0.0101, 0.1), "exceed 5,000"),
    ],
)
def test_bad_plans_are_problems(call: object, word: str) -> None:
    with pytest.raises(ProblemsError, match=word):
        call()  # type: ignore[operator]


def test_looks_agree_with_pieces_looked_at() -> None:
    random = np.random.default_rng(3)
    n = 400_000
    faulty = random.random(n) < 0.05
    hidden = faulty & (random.random(n) < 0.1)
    here = np.ones(n, bool)
    looks = [Look(0.9, 0.02), Look(0.7, 0.01)]
    result = through_looks(0.05, looks, hidden=0.1)
    for look, row in zip(looks, result.results, strict=True):
        found = faulty & ~hidden & (random.random(n) < look.finds)
        fails = found | (random.random(n) < look.false_alarms)
        assert np.mean(here & faulty & fails) == pytest.approx(row.failed_faulty, abs=0.002)
        assert np.mean(here & ~faulty & fails) == pytest.approx(row.failed_good, abs=0.002)
        here &= ~fails
        assert np.mean(faulty[here]) == pytest.approx(row.faulty_among_passed, abs=0.002)
    assert result.escape == pytest.approx(0.98 * 0.99 * (0.1 + 0.9 * 0.1 * 0.3))
    assert len(result.to_table().rows) == 2


def test_looking_again_pulls_two_ways() -> None:
    look = Look(0.97, 0.01)
    kind, strict = looked_again(look, "failed"), looked_again(look, "passed")
    assert kind.finds < look.finds < strict.finds
    assert kind.false_alarms < look.false_alarms < strict.false_alarms
    assert looks_for_escape(0.97, 0.0009) == 2
    assert through_looks(0.0, [look]).results[0].sure_of_fail == 0.0
    with pytest.raises(ProblemsError, match="no check"):
        through_looks(0.1, [])
    with pytest.raises(ProblemsError, match="not a share"):
        through_looks(0.1, [Look(97, 1)])


def test_cost_of_checking_agrees_with_a_process_played() -> None:
    drift = Drift(200.0, 0.3, 0.8, 2.0, 5.0, 20.0)
    random = np.random.default_rng(4)
    pieces = cost = 0.0
    for _ in range(4000):
        right = random.geometric(1 / 200) - 1  # pieces made right
        checks = right // 25 + 1
        while random.random() >= 0.8:
            checks += 1
        made = checks * 25
        pieces += made
        cost += checks * 2 + (made - right) * 0.3 * 5 + 20
    assert cost / pieces == pytest.approx(sum(cost_of_checking(drift, 25)[:3]), rel=0.03)


def test_the_best_interval_is_the_best_and_near_the_square_root() -> None:
    drift = Drift(5000.0, 0.1, 1.0, 3.0, 8.0, 50.0)
    found = best_interval(drift)
    costs = {n: sum(cost_of_checking(drift, n)[:3]) for n in range(1, 2000)}
    assert found.every == min(costs, key=costs.__getitem__)
    assert found.every == pytest.approx((2 * 3 * 5000 / (8 * 0.1)) ** 0.5, rel=0.05)
    assert found.cost == pytest.approx(found.check_part + found.faulty_part + found.repair_part)
    with pytest.raises(ProblemsError, match="never pays"):
        best_interval(Drift(5000.0, 0.1, 1.0, 3.0, 0.0))
    with pytest.raises(ProblemsError, match="too small"):
        best_interval(Drift(5000.0, 0.1, 0.0, 3.0, 8.0))
