"""A failed sample holds everything back to the last good one: those passed unseen wait for the next sample."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.stats import t as student

from linewright.base.calendar import DAY
from linewright.base.problems import ProblemsError
from linewright.flow import solve_flow
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import StuckError, simulate
from linewright.simulate.engine import Engine
from linewright.simulate.kernel import rows as r
from linewright.simulate.simulate import prepare


def line(
    *, share: str = "10 %", finds: str = "100 %", n: int = 5, then: Any = "scrap", hold: bool = True, pieces: int = 40,
    room: bool = False, one_station: bool = False,
) -> Network:  # fmt: skip
    """Work that goes wrong, a check of one in n that holds back, and packing."""
    plan = PlanBuilder("line", makes="part", demand="1 each/day", release="flat out", open_pieces=pieces)
    plan.item("part", unit="each").shift("always", hours="00:00-24:00", days="Mon-Sun")
    plan.station("mill", places=2).station("table").station("bench")
    if room:
        plan.store("rack", room=3)
    check = {"finds": {"burr": finds}, "one_in": n, "then": then, "hold_back": hold}
    route = plan.route("r", gives="part")
    route.operation("work", station="mill", time={"mean": "8 min", "cv": 0.5}, faults={"burr": share})
    more: dict[str, Any] = {"then_to": "rack"} if room else {}
    route.operation("look", station="table", time="3 min", check=check, **more)
    route.operation("pack", station="table" if one_station else "bench", time="3 min")
    return compile_network(plan.build())


def played(network: Network, days: int, **options: Any) -> Engine:
    engine = Engine(prepare(network).template, seed=4, replication=1, tracing=True, **options)
    while not engine.advance(days * DAY):
        pass
    engine.settle()
    return engine


def holds(mean: float, half: float, truth: float, among: int, n: int) -> bool:
    """Whether intervals hold all together (Bonferroni)."""
    return abs(mean - truth) <= half * float(student.ppf(1 - 0.025 / among, n - 1) / student.ppf(0.975, n - 1))


def test_good_samples_let_the_others_go_on_in_groups() -> None:
    """No fault: four wait and go on with the fifth, so packing begins five times in a row and never alone."""
    log = played(line(share="0 %", n=5), 2).take_log()
    packed = [int(k) for k in log[log[:, r.L_EVENT] == 5][:, r.L_TIME]]
    ends = log[log[:, r.L_EVENT] == 4]
    looks = ends[ends[:, r.L_OPERATION] == np.unique(ends[:, r.L_OPERATION])[1]]
    assert len(packed) > 100
    samples = looks[4::5]
    finished = log[log[:, r.L_EVENT] == 6]
    gone = [int((finished[:, r.L_TIME] < t).sum()) for t in samples[:, r.L_TIME]]
    assert all(g <= 5 * k for k, g in enumerate(gone))  # nobody is through before the sample of his five


def test_a_bad_sample_has_all_of_them_looked_at() -> None:
    """Every piece has a burr and every burr is found: each fifth look rejects five, and none is ever finished."""
    engine = played(line(share="100 %"), 2)
    assert engine.x[engine.m[r.ITEMS] + r.I_FINISHED] == 0
    log = engine.take_log()
    lost = log[log[:, r.L_EVENT] == 7]
    times, counts = np.unique(lost[:, r.L_TIME], return_counts=True)
    assert len(times) > 20
    assert (counts == 5).all()


def test_the_share_scrapped_is_the_one_of_independent_pieces() -> None:
    """Of pieces bad with chance p, the sample and those held with it are looked at with chance 1/n + (1 - 1/n) p."""
    p, n = 0.1, 5
    looked = 1 / n + (1 - 1 / n) * p
    found = simulate(line(), days=140, replications=12)
    ratio = found.scrapped.mean[1] / found.runs.mean[1]
    half = found.scrapped.half_width[1] / found.runs.mean[1]
    assert holds(float(ratio), float(half), p * looked, 2, 12)
    (escaped,) = (e.share for e in found.escapes if e.fault)
    assert holds(escaped.mean, escaped.half_width, p * (1 - looked) / (1 - p * looked), 2, 12)


def test_the_balance_takes_samples_alone() -> None:
    """The material balance does not know of holding back, so it expects less scrap and more escapes."""
    network = line()
    assert solve_flow(network).escapes == solve_flow(line(hold=False)).escapes
    found = simulate(network, days=56, replications=6)
    (escaped,) = (e.share for e in found.escapes if e.fault)
    assert escaped.high < solve_flow(network).escapes[0].share


def test_held_pieces_may_be_sent_back() -> None:
    then = {"rework": "work", "at_most": 1, "else": "scrap"}
    found = simulate(line(then=then, n=4), days=56, replications=4)
    assert found.reworked.mean.sum() > 0
    assert found.scrapped.mean.sum() > 0


@pytest.mark.parametrize("then", ["scrap", {"rework": "work", "at_most": 2, "else": "scrap"}])
def test_same_bits_without_the_compiler(then: Any) -> None:
    network = line(then=then, finds="80 %", n=3)
    fast, plain = (played(network, 3, compiler=choice) for choice in (True, False))
    assert np.array_equal(fast.m, plain.m)
    assert np.array_equal(fast.x.view(np.int64), plain.x.view(np.int64))


def test_too_few_open_pieces_wait_for_a_sample_for_ever_and_it_says_so() -> None:
    with pytest.raises(StuckError, match="held back until the next sample at look"):
        simulate(line(n=50, pieces=20), days=28)


@pytest.mark.parametrize(("what", "why"), [("room", "no store behind"), ("one_station", "another station")])
def test_where_it_cannot_be_played_it_is_refused_by_name(what: str, why: str) -> None:
    with pytest.raises(ProblemsError, match=why):
        simulate(line(**{what: True}), days=14)  # type: ignore[arg-type]


def test_a_window_closes_on_pieces_that_are_held_back() -> None:
    """Glued every 2 min, looked at for 1 min, one in six, to be painted within 5 min of gluing: the first three of
    every six wait too long for the sixth and are scrapped, while the others are painted.
    """
    plan = PlanBuilder("line", makes="part", demand="1 each/day", release="flat out", open_pieces=30)
    plan.item("part", unit="each").shift("always", hours="00:00-24:00", days="Mon-Sun")
    plan.station("a").station("b").station("c")
    route = plan.route("r", gives="part")
    route.operation("glue", station="a", time="2 min", faults={"gap": "0 %"})
    check = {"finds": {"gap": "100 %"}, "one_in": 6, "hold_back": True}
    route.operation("look", station="b", time="1 min", check=check)
    route.operation("paint", station="c", time="1 min", wait={"after": "glue", "most": "5 min"})
    network = compile_network(plan.build())
    log = played(network, 1).take_log()
    gone = log[np.isin(log[:, r.L_EVENT], (6, 7))]
    order = np.argsort(gone[:, r.L_SERIAL], kind="stable")
    fates = gone[order][:600, r.L_EVENT].tolist()
    assert fates == [7, 7, 7, 6, 6, 6] * 100
    plain = played(network, 1, compiler=False)
    assert np.array_equal(plain.take_log(), log)
