"""Stacks of tolerances, faults on their way to the customer, first pieces, hold-back and failure modes."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from linewright.base.problems import ProblemsError
from linewright.quality.chain import Step, follow, one_more_check
from linewright.quality.failure_modes import (
    FailureMode,
    action_priority,
    detection_rank,
    occurrence_rank,
    rank_failures,
)
from linewright.quality.inspection import Look, through_looks
from linewright.quality.release import first_piece, hold_back
from linewright.quality.stack import Dimension, stack

BOARD = [
    Dimension("opening", 120.0, 0.4, 0.2),
    Dimension("tenon", 80.0, 0.2, 0.2, way=-1.0),
    Dimension("shim", 39.5, 0.3, 0.3, way=-1.0, shape="uniform"),
]


def test_a_stack_by_three_ways() -> None:
    found = stack(BOARD, lower=0.0, upper=1.4)
    assert found.middle == pytest.approx(0.6)
    assert found.nominal == pytest.approx(0.5)
    assert found.worst == pytest.approx((-0.2, 1.4))
    assert found.rss[1] - found.middle == pytest.approx((0.3**2 + 0.2**2 + 0.3**2) ** 0.5)
    assert sum(p.share for p in found.parts) == pytest.approx(1.0)
    assert found.always_fits is False
    assert stack(BOARD, lower=-0.3, upper=1.5).always_fits is True


def test_the_share_outside_agrees_with_the_normal_law_where_it_holds() -> None:
    dims = [Dimension(n, 10.0, 0.3, 0.3) for n in "abcd"]
    found = stack(dims, lower=39.6, upper=40.5)
    true = float(stats.norm.sf(2) + stats.norm.sf(2.5))
    assert found.normal_outside == pytest.approx(true)
    assert found.outside is not None
    assert found.outside[1] <= true <= found.outside[2]


def test_intervals_of_the_share_cover() -> None:
    dims = [Dimension("a", 0.0, 0.3, 0.3)]
    true = float(2 * stats.norm.sf(2))
    inside = 0
    for seed in range(300):
        found = stack(dims, lower=-0.2, upper=0.2, draws=2000, seed=seed).outside
        assert found is not None
        inside += found[1] <= true <= found[2]
    assert inside / 300 == pytest.approx(0.95, abs=0.042)


def test_a_function_of_dimensions() -> None:
    """A diagonal: slopes and corners of sqrt(x^2 + y^2)."""
    dims = [Dimension("x", 3.0, 0.01, 0.01), Dimension("y", 4.0, 0.01, 0.01)]
    found = stack(dims, lower=4.9, function=lambda a: np.hypot(a[:, 0], a[:, 1]))
    assert [p.slope for p in found.parts] == pytest.approx([0.6, 0.8], rel=1e-5)
    assert found.worst == pytest.approx((float(np.hypot(2.99, 3.99)), float(np.hypot(3.01, 4.01))))
    linear = stack(BOARD)
    same = stack(BOARD, function=lambda a: a[:, 0] - a[:, 1] - a[:, 2])
    assert same.worst == pytest.approx(linear.worst)
    assert same.sd == pytest.approx(linear.sd)


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: stack([]), "the stack is empty"),
        (lambda: stack([Dimension("a", 1.0, 0.0, 0.0)]), "no dimension has a tolerance"),
        (lambda: stack([Dimension("a", 1.0, 0.1, -0.3)]), "limits are reversed"),
        (lambda: stack([Dimension("a", float("nan"), 0.1, 0.1)]), "not a finite number"),
        (lambda: stack([BOARD[0], BOARD[0]]), "given twice"),
        (lambda: stack(BOARD, lower=2.0, upper=1.0), "limits are reversed"),
        (lambda: stack(BOARD, function=lambda a: a[:, 0] * np.nan), "no finite gap"),
    ],
)
def test_bad_stacks_are_problems(call: object, word: str) -> None:
    with pytest.raises(ProblemsError, match=word):
        call()  # type: ignore[operator]


WAY = [
    Step("cut", makes={"chip": 0.03, "size": 0.02}, cost=4.0),
    Step("gauge", finds={"size": 0.9}, false_alarms=0.02, cost=0.5),
    Step("glue", makes={"gap": 0.05}, cost=6.0),
    Step("probe", finds={"gap": 0.97, "chip": 0.5}, false_alarms=0.01, then="mend", mends=0.8, at_most=2, cost=0.7,
         mend_cost=3.0),
    Step("look", finds={"chip": 0.8}, one_in=4, cost=0.2),
]  # fmt: skip


def test_the_chain_agrees_with_pieces_played() -> None:
    random = np.random.default_rng(3)
    n = 200_000
    faults = {f: np.zeros(n, bool) for f in ("chip", "size", "gap")}
    here = np.ones(n, bool)
    money = 0.0
    for step in WAY:
        money += step.cost * here.sum()
        for f, p in step.makes.items():
            faults[f] |= random.random(n) < p
        if not step.finds:
            continue
        looking = here & (random.random(n) < 1 / step.one_in)
        for turn in range(step.at_most + 1 if step.then == "mend" else 1):
            found = {f: faults[f] & (random.random(n) < p) for f, p in step.finds.items()}
            fails = looking & (np.logical_or.reduce(list(found.values())) | (random.random(n) < step.false_alarms))
            if step.then == "scrap" or turn == step.at_most:
                here &= ~fails
                break
            money += step.mend_cost * fails.sum()
            for f in found:
                faults[f] &= ~(fails & found[f] & (random.random(n) < step.mends))
            looking = fails
    chain = follow(WAY, escape_cost=100.0)
    assert here.mean() == pytest.approx(chain.shipped, abs=0.003)
    for f, share in chain.escapes.items():
        assert faults[f][here].mean() == pytest.approx(share, abs=0.002)
    bad = np.logical_or.reduce(list(faults.values()))[here]
    assert bad.mean() == pytest.approx(chain.faulty, abs=0.002)
    assert (money + 100.0 * bad.sum()) / here.sum() == pytest.approx(chain.cost, rel=0.01)


@settings(max_examples=40, deadline=None)
@given(
    p=st.floats(0, 0.5),
    looks=st.lists(st.tuples(st.floats(0, 1), st.floats(0, 0.3)), min_size=1, max_size=4),
)
def test_the_chain_is_the_row_of_looks_where_all_is_scrapped(p: float, looks: list[tuple[float, float]]) -> None:
    chain = follow([Step("make", {"f": p}), *(Step(str(i), {}, {"f": d}, a) for i, (d, a) in enumerate(looks))])
    row = through_looks(p, [Look(d, a) for d, a in looks]).results[-1]
    assert chain.faulty == pytest.approx(row.faulty_among_passed, abs=1e-12)
    assert chain.shipped == pytest.approx(row.passed_good + row.passed_faulty, abs=1e-12)


def test_pieces_are_conserved() -> None:
    for step in follow(WAY).steps:
        assert step.comes == pytest.approx(step.goes_on + step.scrapped, abs=1e-12)
    assert len(follow(WAY).to_table().columns) == 8


def test_one_more_check_pays_where_faults_are_made_and_little_is_spent_yet() -> None:
    found = one_more_check(WAY[:1] + WAY[2:3], Step("extra", cost=0.1), escape_cost=200.0, finds=0.9)
    assert found.places[0][1] > 0
    late = one_more_check(WAY, Step("extra", cost=50.0), escape_cost=1.0, finds=0.9)
    assert all(saving < 0 for _, saving, _ in late.places)


def test_bad_chains_are_problems() -> None:
    with pytest.raises(ProblemsError, match="no step"):
        follow([])
    with pytest.raises(ProblemsError, match="not a share"):
        follow([Step("a", makes={"f": 3.0})])
    with pytest.raises(ProblemsError, match="no piece gets through"):
        follow([Step("a", finds={"f": 0.5}, false_alarms=1.0)])
    with pytest.raises(ProblemsError, match="kinds of fault"):
        follow([Step("a", makes={str(i): 0.1 for i in range(13)})])


def test_first_pieces_agree_with_setups_played() -> None:
    random = np.random.default_rng(4)
    n = 200_000
    wrong = random.random(n) < 0.1
    p = np.where(wrong, 0.4, 0.01)
    bad = random.random((n, 3)) < p[:, None]
    fails = (bad & (random.random((n, 3)) < 0.9)) | (random.random((n, 3)) < 0.02)
    released = ~fails.any(axis=1)
    found = first_piece(
        3, setup_wrong=0.1, faulty_when_wrong=0.4, faulty_when_right=0.01, finds=0.9, false_alarms=0.02, run=200
    )
    assert np.mean(released) == pytest.approx(found.released, abs=0.004)
    assert np.mean(released & wrong) == pytest.approx(found.released_wrong, abs=0.002)
    assert np.mean(~released & ~wrong) == pytest.approx(found.held_right, abs=0.004)
    assert np.mean(released * p * 200) == pytest.approx(found.faulty, rel=0.03)
    with pytest.raises(ProblemsError, match="more faults than a wrong one"):
        first_piece(1, setup_wrong=0.1, faulty_when_wrong=0.0, faulty_when_right=0.5)


def test_hold_back_agrees_with_alarms_played() -> None:
    random = np.random.default_rng(5)
    every, finds, after = 20, 0.6, 400.0
    back = []
    for _ in range(20_000):
        start = random.geometric(1 / after)  # the first piece made wrong
        checks = -(-start // every)
        while random.random() >= finds:
            checks += 1
        back.append(checks * every - start + 1)
    found = hold_back(every, finds=finds, wrong_after=after, risk=0.02)
    made = np.array(back)
    assert np.mean(made > found.pieces) == pytest.approx(found.further, abs=0.004)
    assert np.mean(made) == pytest.approx(found.made_wrong, rel=0.02)
    seldom, often = hold_back(20, finds=0.6), hold_back(20, finds=0.6, wrong_after=1.0)
    assert seldom.made_wrong == pytest.approx(hold_back(20, finds=0.6, wrong_after=1e9).made_wrong, rel=1e-6)
    assert often.made_wrong == pytest.approx(20 * 0.4 / 0.6 + 20)
    with pytest.raises(ProblemsError, match="too small"):
        hold_back(20, finds=0.0)


def test_the_priority_rises_with_every_rank_and_harm_is_never_low() -> None:
    order = {"low": 0, "medium": 1, "high": 2}
    for s, o, d in itertools.product(range(1, 11), repeat=3):
        here = order[action_priority(s, o, d)[0]]
        if s >= 9:
            assert here >= 1
        for up in ((s + 1, o, d), (s, o + 1, d), (s, o, d + 1)):
            if max(up) <= 10:
                assert order[action_priority(*up)[0]] >= here
    assert action_priority(10, 10, 10)[0] == "high"
    assert action_priority(1, 10, 10)[0] == "low"


def test_ranks_follow_shares() -> None:
    shares = np.geomspace(1e-8, 1, 200)
    for rank in (occurrence_rank, detection_rank):
        ranks = [rank(float(x)) for x in shares]
        assert ranks == sorted(ranks)
        assert (ranks[0], ranks[-1]) == (1, 10)


def test_a_failure_table() -> None:
    table = rank_failures(
        [
            FailureMode("paint", "run", severity=3, occurrence=6, detection=2),
            FailureMode("press", "guard open", severity=10, occurrence=2, detection=2),
            FailureMode("glue", "seam gap", severity=7, occurrence=6, detection=3),
        ]
    )
    assert [m.failure.operation for m in table.modes] == ["glue", "press", "paint"]
    assert "competent person" in table.to_table().note
    assert table.modes[0].product == 126
    with pytest.raises(ProblemsError, match="too large"):
        rank_failures([FailureMode("a", "b", severity=11)])
    with pytest.raises(ProblemsError, match="need a name"):
        rank_failures([FailureMode("", "b")])
    with pytest.raises(ProblemsError, match="the table is empty"):
        rank_failures([])
