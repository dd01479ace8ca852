"""The rules of flows (docs/simulate.md) on plans small enough to follow by hand, and closed cases derived by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from linewright.base.calendar import HOUR, MINUTE
from linewright.base.problems import ProblemsError
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import Quotas, Simulation, simulate
from linewright.simulate.engine import Engine
from linewright.simulate.flowing import flows, lots
from linewright.simulate.kernel import rows as r
from linewright.simulate.simulate import prepare


def works(makes: str = "flour", demand: str = "2000 kg/day", **plan: Any) -> PlanBuilder:
    """A plan of quantities, let in flat out."""
    fields = {"makes": makes, "demand": demand, "release": "flat out", "open_pieces": 400, **plan}
    return PlanBuilder("Harrow Fen Works, a test", money="EUR", **fields).item("grain", unit="kg", buy="0.1 EUR")


def network(builder: PlanBuilder) -> Network:
    return compile_network(builder.build())


def run(builder: PlanBuilder, days: int = 7, **options: Any) -> Simulation:
    return simulate(network(builder), days=days, replications=1, trace=True, **options)


def chain(
    room: str | None, mill: str = "120 kg/h", sieve: str = "100 kg/h", hours: str | None = None, **plan: Any
) -> PlanBuilder:
    """Grain to meal to flour, with a bin between, by two routes; the mill may have hours from midnight to 08:00."""
    p = works(**plan).shift("night", hours="00:00-08:00", days="Mon-Sun").station("sieve").item("flour", unit="kg")
    p.station("mill", **({"hours": hours} if hours else {}))
    if room:
        p.store("bin", room=room)
    p.item("meal", unit="kg", **({"store": "bin"} if room else {}))
    p.route("m", gives="meal").operation("mill", station="mill", time={"rate": mill}, takes={"grain": "1 kg"})
    p.route("f", gives="flour").operation("sieve", station="sieve", time={"rate": sieve}, takes={"meal": "1 kg"})
    return p


def speeds(result: Simulation, operation: str) -> list[tuple[float, float]]:
    """(minute, part of full speed) of an operation, ends as 0."""
    assert result.trace is not None
    told = [r for r in result.trace.records if r.operation == operation and r.event in ("runs at", "ends")]
    return [(r.time / MINUTE, r.speed / 1e6 if r.event == "runs at" else 0.0) for r in told]


def state(result: Simulation, station: str, name: str) -> float:
    return float(result.state_share.mean[result.stations.index(station), result.states.index(name)])


def test_a_store_at_its_bound_stays_there_without_events() -> None:
    """100 kg fill at 20 kg/h: after 5 h the bin is full and the mill runs at the sieve's rate, for good."""
    result = run(chain("100 kg"))
    assert speeds(result, "mill") == [(0.0, 1.0), (300.0, pytest.approx(100 / 120, abs=1e-6))]
    assert result.rate.mean == pytest.approx(2400, rel=1e-12)
    assert result.events <= 20, "the calendar of the week, and one of the flow"


def test_speed_that_cannot_be_used_is_blocked_or_short() -> None:
    result = run(chain("1 kg"))
    assert state(result, "mill", "blocked") == pytest.approx(1 / 6, abs=1e-4)
    assert state(result, "mill", "working") == pytest.approx(5 / 6, abs=1e-4)
    slow = run(chain("1 kg", mill="80 kg/h"))
    assert state(slow, "sieve", "short of parts") == pytest.approx(0.2, abs=1e-9)


def test_direct_hand_over_joins_the_rates() -> None:
    p = works().station("a").station("b").item("flour", unit="kg")
    p.route("f", gives="flour").operation(
        "grind", station="a", time={"rate": "120 kg/h"}, takes={"grain": "1 kg"}, then_to="next"
    ).operation("sift", station="b", time={"rate": "100 kg/h"})
    result = run(p)
    assert speeds(result, "grind") == [(0.0, pytest.approx(100 / 120, abs=1e-6))]
    assert result.rate.mean == pytest.approx(2400, rel=1e-12)


def test_a_tank_filled_and_emptied_is_a_sawtooth() -> None:
    """In at 100 kg/h for 8 h of every day, out at 40 kg/h always: 480 kg at the top, empty 12 h later, dry for 4 h.

    By hand: out for 8 h + 480/40 h = 20 h a day, so 800 kg a day, as much as comes in. The mean level over the day is
    half of 480 kg for 20 of 24 h: 200 kg.
    """
    result = run(chain(None, mill="100 kg/h", sieve="40 kg/h", hours="night", demand="800 kg/day"), days=14)
    assert result.rate.mean == pytest.approx(800, rel=1e-9)
    assert result.stock.mean[result.all_items.index("meal")] == pytest.approx(200, rel=1e-9)
    assert state(result, "sieve", "short of parts") == pytest.approx(4 / 24, rel=1e-9)


def test_a_split_is_proportional_to_what_each_could_take() -> None:
    """60 kg/h come; one could take 100, the other 50: they get 40 and 20."""
    p = works("flour", demand="100 kg/day")
    p.item("meal", unit="kg", store="bin").store("bin", room="50 kg").item("flour", unit="kg").item("feed", unit="kg")
    p.demand("feed", "100 kg/day")
    p.station("mill").station("sieve").station("press")
    p.route("m", gives="meal").operation("mill", station="mill", time={"rate": "60 kg/h"}, takes={"grain": "1 kg"})
    p.route("f", gives="flour").operation("sieve", station="sieve", time={"rate": "100 kg/h"}, takes={"meal": "1 kg"})
    p.route("g", gives="feed").operation("pellet", station="press", time={"rate": "50 kg/h"}, takes={"meal": "1 kg"})
    result = run(p)
    assert [r.mean for r in result.rates] == pytest.approx([960, 480], rel=1e-9)


def test_nobody_waits_for_what_others_share() -> None:
    """60 kg/h of coarse and 40 of fine come. One binds either at 100 kg/h, mostly coarse; one presses fine at 40.

    By hand: the coarse is drawn as it comes in, and of the fine each gets so much that both run at the same part p of
    their speed: 100 p - 60 + 40 p = 40, so p = 5/7. Before it is seen that more fine is drawn than its share, the
    binder rests on coarse: then the fine is split as 100 to 40.
    """
    p = works("flour", demand="2000 kg/day").demand("feed", "2000 kg/day")
    p.item("coarse", unit="kg").item("fine", unit="kg").item("flour", unit="kg").item("feed", unit="kg")
    p.station("screen").station("binder").station("press")
    p.route("s", gives="coarse").operation(
        "sift", station="screen", time={"rate": "100 kg/h"}, takes={"grain": "1 kg"},
        gives={"coarse": "0.6 kg", "fine": "0.4 kg"},
    )  # fmt: skip
    either = {"any_of": ["coarse", "fine"], "amount": "1 kg"}
    p.route("f", gives="flour").operation("bind", station="binder", time={"rate": "100 kg/h"}, takes={"meal": either})
    p.route("g", gives="feed").operation("pellet", station="press", time={"rate": "40 kg/h"}, takes={"fine": "1 kg"})
    quotas = Quotas(np.array([1.0, 1.0, 1.0]), ((0.93, 0.07),))
    result = run(p, quotas=quotas)
    assert [r.mean for r in result.rates] == pytest.approx([24 * 100 * 5 / 7, 24 * 40 * 5 / 7], rel=1e-3)
    assert result.events <= 20, "nothing changes once it runs"


def test_a_merge_into_a_full_store_is_proportional() -> None:
    """Two by-products fill one silo that is emptied at 30 kg/h: the makers slow down in proportion, 2 to 1."""
    p = works("flour", demand="100 kg/day").item("bran", unit="kg", store="silo").store("silo", room="40 kg")
    p.item("flour", unit="kg").item("feed", unit="kg").item("oil", unit="kg")
    for item in ("feed", "oil"):
        p.demand(item, "100 kg/day")
    p.station("a").station("b").station("c")
    p.route("f", gives="flour").operation(
        "sieve", station="a", time={"rate": "100 kg/h"}, takes={"grain": "1 kg"},
        gives={"flour": "0.6 kg", "bran": "0.4 kg"},
    )  # fmt: skip
    p.route("o", gives="oil").operation(
        "crush", station="b", time={"rate": "50 kg/h"}, takes={"grain": "1 kg"},
        gives={"oil": "0.6 kg", "bran": "0.4 kg"},
    )  # fmt: skip
    p.route("g", gives="feed").operation("pellet", station="c", time={"rate": "30 kg/h"}, takes={"bran": "1 kg"})
    found = speeds(run(p), "crush")[-1][1]
    assert found == pytest.approx(0.5, abs=1e-6)


def recycle(back: float, room: str = "60 kg", mill: str = "100 kg/h", screen: str = "300 kg/h") -> PlanBuilder:
    """A mill and a screen; what is too coarse goes back to the mill, which takes it first."""
    p = works("fine", demand="1000 kg/day").station("mill").station("screen").store("bin", room=room)
    p.item("milled", unit="kg", store="bin").item("coarse", unit="kg").item("fine", unit="kg")
    feed = {"any_of": ["coarse", "grain"], "amount": "1 kg"}
    p.route("m", gives="milled").operation("mill", station="mill", time={"rate": mill}, takes={"feed": feed})
    p.route("s", gives="fine").operation(
        "screen", station="screen", time={"rate": screen}, takes={"milled": "1 kg"},
        gives={"fine": f"{1 - back} kg", "coarse": f"{back} kg"},
    )  # fmt: skip
    return p


@pytest.mark.parametrize("back", [0.3, 0.9, 0.99])
def test_a_recycle_is_solved_and_not_iterated(back: float) -> None:
    """The mill's whole rate passes the screen; what is left over is its part that is fine."""
    result = run(recycle(back))
    assert result.rate.mean == pytest.approx(2400 * (1 - back), rel=1e-6)
    assert result.events < 60


def test_feeds_keep_their_shares() -> None:
    """Two bought feeds, 3 to 1 as declared: both are drawn all the time, so every amount is 3 to 1."""
    p = works().item("barley", unit="kg", buy="0.2 EUR").item("flour", unit="kg").station("mill")
    feed = {"any_of": ["grain", "barley"], "amount": "1 kg", "shares": {"grain": "75 %", "barley": "25 %"}}
    p.route("f", gives="flour").operation("grind", station="mill", time={"rate": "100 kg/h"}, takes={"feed": feed})
    prepared = prepare(network(p))
    engine = Engine(prepared.template, seed=0, replication=0)
    assert engine.advance(37 * HOUR)
    engine.settle()
    used = [float(engine.x[row + r.I_USED]) for row in prepared.layout.items]
    named = dict(zip(prepared.network.items.ids, used, strict=True))
    assert named["grain"] == pytest.approx(2775, rel=1e-6)
    assert named["barley"] == pytest.approx(925, rel=1e-6)


def test_what_is_short_is_drawn_as_it_comes_and_the_rest_makes_way() -> None:
    """The preferred feed comes at 30 kg/h, the mill takes 100: 30 of it, 70 of the other; nothing of it piles up."""
    p = works().item("chaff", unit="kg").item("flour", unit="kg").station("mill").station("cutter")
    p.route("c", gives="chaff").operation("cut", station="cutter", time={"rate": "30 kg/h"}, takes={"grain": "1 kg"})
    feed = {"any_of": ["chaff", "grain"], "amount": "1 kg"}
    p.route("f", gives="flour").operation("grind", station="mill", time={"rate": "100 kg/h"}, takes={"feed": feed})
    made = network(p)
    result = simulate(made, days=7, replications=1, quotas=Quotas(np.ones(2), ((1.0, 0.0),)))
    assert result.rate.mean == pytest.approx(2400, rel=1e-9)
    assert result.stock.mean[result.all_items.index("chaff")] == pytest.approx(0.0, abs=1e-3)
    assert result.runs.mean[result.operations.index("cut")] == pytest.approx(720, rel=1e-6)


def test_a_load_takes_what_a_flow_has_put_into_a_store() -> None:
    """A press of 50 kg in an hour, fed at 40 kg/h: a load every 75 minutes, the first at once when it is there."""
    p = works("cake", demand="500 kg/day").station("mill").station("press").item("cake", unit="kg")
    p.route("c", gives="cake").operation(
        "mill", station="mill", time={"rate": "40 kg/h"}, takes={"grain": "1 kg"}
    ).operation("press", station="press", load="50 kg", time="60 min")
    result = run(p, days=14)
    assert result.trace is not None
    starts = [r.time / MINUTE for r in result.trace.records if r.event == "starts" and r.operation == "press"]
    assert starts[:4] == pytest.approx([75, 150, 225, 300], abs=1e-6)
    assert result.rate.mean == pytest.approx(960, abs=50 / 7)


def test_a_flow_draws_from_what_a_load_gives() -> None:
    """A tank gives 100 kg every 4 h at once; they flow off at 50 kg/h: two hours of every four."""
    p = works("flour", demand="500 kg/day").station("tank").station("sieve").item("flour", unit="kg")
    p.route("f", gives="flour").operation(
        "soak", station="tank", load="100 kg", time="4 h", takes={"grain": "1 kg"}
    ).operation("sieve", station="sieve", time={"rate": "50 kg/h"})
    result = run(p, days=14)
    assert state(result, "sieve", "working") == pytest.approx(0.5, abs=0.01)
    assert result.rate.mean == pytest.approx(600, rel=0.01)


def test_pieces_take_what_flows() -> None:
    """A board takes 10 kg every 6 minutes at most; 50 kg/h flow in: 5 boards an hour, on the minute."""
    p = works("board", demand="50 each/day", open_pieces=3).station("mill").station("former")
    p.item("board", unit="each").item("mat", unit="kg")
    p.route("m", gives="mat").operation("mill", station="mill", time={"rate": "50 kg/h"}, takes={"grain": "1 kg"})
    p.route("b", gives="board").operation("form", station="former", time="6 min", takes={"mat": "10 kg"})
    result = run(p)
    assert result.trace is not None
    starts = [r.time / MINUTE for r in result.trace.records if r.event == "starts" and r.operation == "form"]
    assert starts[:4] == pytest.approx([12, 24, 36, 48], abs=1e-9)
    assert result.rate.mean == pytest.approx(120, abs=1)


def test_rates_pause_when_the_people_go() -> None:
    p = works().station("mill").item("flour", unit="kg")
    p.shift("day", hours="08:00-16:00", breaks=["12:00-12:30"], days="Mon-Sun").crew("miller", people=1, shift="day")
    p.route("f", gives="flour").operation(
        "grind", station="mill", crew={"miller": 1}, time={"rate": "100 kg/h"}, takes={"grain": "1 kg"}
    )
    result = run(p)
    assert result.rate.mean == pytest.approx(750, rel=1e-9)
    assert state(result, "mill", "working") == pytest.approx(7.5 / 24, rel=1e-9)
    assert result.crew_use.mean[0] == pytest.approx(1.0, rel=1e-9)


def test_one_person_cannot_run_two_flows_at_once() -> None:
    """Handed over directly they need him together: refused by name. With a bin between he goes to and fro."""
    p = works().station("a").station("b").item("flour", unit="kg")
    p.shift("day", hours="08:00-16:00", days="Mon-Sun").crew("miller", people=1, shift="day")
    p.store("bin", room="60 kg")
    route = p.route("f", gives="flour")
    route.operation("grind", station="a", crew={"miller": 1}, time={"rate": "120 kg/h"}, takes={"grain": "1 kg"})
    route.operation("sift", station="b", crew={"miller": 1}, time={"rate": "100 kg/h"})
    made = p.document["routes"]["f"]["operations"][0]
    made["then_to"] = "next"
    with pytest.raises(ProblemsError, match="same time"):
        run(p)
    made["then_to"] = "bin"
    result = run(p, days=14)
    assert result.rate.mean == pytest.approx(8 / (1 / 120 + 1 / 100), rel=0.1)
    assert result.events < 1000


def test_a_tiny_store_and_one_person_are_no_storm() -> None:
    """A thousandth of a kilogram between two flows with one person: he starts a place at most once a second."""
    p = works().station("a").station("b").item("flour", unit="kg").store("bin", room="0.001 kg")
    p.shift("day", hours="08:00-08:10", days="Mon").crew("miller", people=1, shift="day")
    route = p.route("f", gives="flour")
    route.operation(
        "grind", station="a", crew={"miller": 1}, time={"rate": "120 kg/h"}, takes={"grain": "1 kg"}, then_to="bin"
    )
    route.operation("sift", station="b", crew={"miller": 1}, time={"rate": "100 kg/h"})
    result = run(p)
    assert 0 < result.events < 4 * 2 * 600
    assert 0 < result.rate.mean <= 0.001 * 602


def test_cleaning_start_up_and_its_scrap() -> None:
    """Each day: 30 min of cleaning, 15 min of start-up, then 20 kg spoiled; the rest of 8 h is good."""
    p = works().station("mill", hours="day").item("flour", unit="kg").shift("day", hours="08:00-16:00", days="Mon-Sun")
    p.route("f", gives="flour").operation(
        "grind", station="mill", time={"rate": "100 kg/h"}, takes={"grain": "1 kg"},
        clean={"after": "shift", "time": "30 min"}, start={"after": "shift", "time": "15 min", "scrap": "20 kg"},
    )  # fmt: skip
    result = run(p, days=14)
    assert result.rate.mean == pytest.approx(100 * 7.25 - 20, rel=1e-9)
    assert result.scrapped.mean[0] == pytest.approx(20, rel=1e-9)
    assert state(result, "mill", "setting up") == pytest.approx(0.75 / 24, rel=1e-9)


def test_stoppages_count_running_time() -> None:
    """Every 9 h of running, 1 h of repair, exactly: 90 % of the rate, and the bin before it fills meanwhile."""
    p = works().item("flour", unit="kg")
    p.station("mill", stoppages=[{"name": "stone", "between": {"mean": "9 h", "cv": 0.01}, "repair": "1 h"}])
    p.route("f", gives="flour").operation("grind", station="mill", time={"rate": "100 kg/h"}, takes={"grain": "1 kg"})
    result = run(p, days=70)
    assert result.rate.mean == pytest.approx(2160, rel=0.01)
    assert state(result, "mill", "down") == pytest.approx(0.1, rel=0.02)


def test_a_setup_comes_due_by_amount() -> None:
    """After each 200 kg, 1 h of setting up: 3 h for 200 kg."""
    p = works().item("flour", unit="kg").station("mill")
    p.route("f", gives="flour").operation(
        "grind", station="mill", time={"rate": "100 kg/h"}, takes={"grain": "1 kg"},
        setup={"every": "200 kg", "time": "1 h"},
    )  # fmt: skip
    result = run(p, days=21)
    assert result.rate.mean == pytest.approx(1600, rel=0.01)


def dwelling(rate: str = "100 kg/h", dwell: str = "60 min", after: str = "100 kg/h", **station: Any) -> PlanBuilder:
    """An oven in which meal stays for an hour, a sieve behind it."""
    p = works().station("oven", **station).station("sieve").item("flour", unit="kg").store("bin", room="30 kg")
    route = p.route("f", gives="flour")
    route.operation("bake", station="oven", time={"rate": rate, "dwell": dwell}, takes={"grain": "1 kg"}, then_to="bin")
    route.operation("sift", station="sieve", time={"rate": after})
    return p


def test_what_dwells_comes_out_later() -> None:
    result = run(dwelling(), days=14)
    assert speeds(result, "sift")[0] == (pytest.approx(60, abs=1e-6), 1.0)
    assert result.rate.mean == pytest.approx(2400, rel=1e-9)
    assert result.week_rate[0] == pytest.approx(2400 - 100 / 7, rel=1e-9)


def test_a_gap_comes_out_as_late_as_what_is_around_it() -> None:
    """Fed for the first 30 min of every hour only; the sieve runs for 30 min of every hour, one hour later."""
    p = works().station("oven").station("sieve").station("feeder", hours="half").item("flour", unit="kg")
    p.shift("half", hours="00:00-00:30", days="Mon-Sun")
    route = p.route("f", gives="flour")
    route.operation("feed", station="feeder", time={"rate": "100 kg/h"}, takes={"grain": "1 kg"}, then_to="next")
    route.operation("bake", station="oven", time={"rate": "100 kg/h", "dwell": "60 min"}, then_to="next")
    route.operation("sift", station="sieve", time={"rate": "100 kg/h"})
    result = run(p, days=14)
    day = [(at, speed) for at, speed in speeds(result, "sift") if at < 1440]
    assert day == [(pytest.approx(60, abs=1e-6), 1.0), (pytest.approx(90, abs=1e-6), 0.0)]
    assert speeds(result, "bake")[1][1] == 0.0, "runs on without being fed"
    assert result.rate.mean == pytest.approx(50, rel=1e-9)


def test_a_machine_that_cannot_give_stands_full() -> None:
    """The sieve takes half: the oven moves at half its speed, full all the time; what it holds takes twice as long."""
    result = run(dwelling(after="50 kg/h"), days=14)
    assert result.rate.mean == pytest.approx(1200, rel=1e-9)
    assert speeds(result, "bake")[-1] == (pytest.approx(60 + 60 * 30 / 50, abs=1e-3), 0.5)


def test_what_dwells_waits_through_the_night() -> None:
    """8 h a day at 100 kg/h: the hour's content stays in the oven overnight, so each day gives 800 kg."""
    p = dwelling(hours="day").shift("day", hours="08:00-16:00", days="Mon-Sun")
    result = run(p, days=14)
    assert result.rate.mean == pytest.approx(800, rel=1e-9)
    assert speeds(result, "sift")[0][0] == pytest.approx(9 * 60, abs=1e-6)


def test_a_dwell_of_pieces_is_refused() -> None:
    p = works("bun", demand="500 each/day", open_pieces=20).item("bun", unit="each").station("oven")
    p.route("b", gives="bun").operation("bake", station="oven", time={"rate": "60 each/h", "dwell": "20 min"})
    with pytest.raises(ProblemsError, match="dwell"):
        run(p)


def test_what_is_wanted_ahead_bounds_a_flow() -> None:
    """Parts ahead without a store: the flow stops where enough is on hand, and the rest is short of work."""
    p = works("board", demand="24 each/day", open_pieces=2).station("mill").station("former")
    p.item("board", unit="each").item("mat", unit="kg")
    p.route("m", gives="mat").operation("mill", station="mill", time={"rate": "500 kg/h"}, takes={"grain": "1 kg"})
    p.route("b", gives="board").operation("form", station="former", time="60 min", takes={"mat": "10 kg"})
    result = run(p, days=14)
    on_hand = result.stock.mean[result.all_items.index("mat")]
    assert result.kept["mat"] - 10 <= on_hand <= result.kept["mat"] + 1e-6


def test_too_small_a_store_is_said() -> None:
    p = works("cake", demand="500 kg/day").station("mill").station("press").item("cake", unit="kg")
    p.store("bin", room="20 kg")
    p.route("c", gives="cake").operation(
        "mill", station="mill", time={"rate": "40 kg/h"}, takes={"grain": "1 kg"}, then_to="bin"
    ).operation("press", station="press", load="50 kg", time="60 min")
    with pytest.raises(ProblemsError, match="bin"):
        run(p)


def test_what_is_not_a_flow_says_why() -> None:
    p = works().item("flour", unit="kg").station("mill").tool("hose", count=1)
    p.route("f", gives="flour").operation(
        "grind", station="mill", time={"rate": "100 kg/h"}, takes={"grain": "1 kg"}, uses={"hose": 1}
    )
    made = network(p)
    assert flows(made) == [False]
    assert lots(made) == {"grind": "it uses tools"}
    assert any("grind is played in lots" in note and "tools" in note for note in run(p).notes)


def test_bottles_at_a_rate_stay_pieces() -> None:
    p = works("bottle", demand="500 each/day", open_pieces=20).item("bottle", unit="each").station("filler")
    p.route("b", gives="bottle").operation(
        "fill", station="filler", time={"rate": "60 each/h"}, takes={"grain": "1 kg"}
    )
    assert flows(network(p)) == [False]


@pytest.mark.parametrize("fine", [4, 16])
def test_small_parcels_come_to_the_same(fine: int) -> None:
    """Mill, bin, screen, a stopping press at the end: played in parcels that get smaller, rates come together.

    Parcels are what a counted item at a rate is. Both sides share the stoppages' luck, so that the difference is that
    of the parcels: at most a few of them at each store and stop.
    """
    flow = run(stopped("kg", 1.0), days=28).rate.mean
    parcels = run(stopped("each", float(fine)), days=28).rate.mean / fine
    assert parcels == pytest.approx(flow, rel=0.02 / fine + 0.002)


def stopped(unit: str, fine: float) -> PlanBuilder:
    """Two stations that stop, a bin between them; as a flow, or as parcels of 1/fine kg."""
    weighed = unit == "kg"

    def amount(kg: float) -> Any:
        return f"{kg} kg" if weighed else round(kg * fine)

    def rate(kg_per_hour: float) -> dict[str, str]:
        return {"rate": f"{kg_per_hour} kg/h" if weighed else f"{kg_per_hour * fine} each/h"}

    p = PlanBuilder(
        "parcels", makes="flour", demand="10 kg/day" if weighed else "10 each/day", release="flat out",
        open_pieces=round(400 * fine),
    )  # fmt: skip
    p.item("flour", unit=unit).store("bin", room=amount(30))
    stops = [{"name": "stone", "between": "3 h", "repair": "20 min"}]
    p.station("a", stoppages=stops).station("b", stoppages=stops)
    p.route("f", gives="flour").operation("one", station="a", time=rate(30), then_to="bin").operation(
        "two", station="b", time=rate(28)
    )
    return p
