"""What runs at a rate flows over a season too: by hand, against ever smaller lots, and nothing is lost."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from season_cases import cellar
from test_season_played import played

from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import simulate
from linewright.simulate.flowing import flows


def pressed(rate: str = "150 L/h", *, lot: str = "", weekly: Any = "35 t", **asked: Any) -> PlanBuilder:
    """Fruit pressed to must that is sold: it flows, or comes in lots of so much where ``lot`` says so."""
    builder = PlanBuilder("Pressed", money="EUR", makes="must", from_="2026-09-14", to="2026-10-25", **asked)
    builder.item("fruit", unit="kg", buy="0.2 EUR").item("must", unit="L", mass="1 kg")
    builder.shift("day", hours="06:00-14:00", days="Mon-Fri").crew("hand", people=1, shift="day", wage="20 EUR/h")
    builder.station("press").intake("fruit", from_="2026-09-14", to="2026-09-20", weekly=weekly, days="Mon")
    fields: dict[str, Any] = {"time": {"rate": rate}}
    if lot:
        per_hour = float(rate.split()[0])
        fields = {"time": {"each": f"{3600 / per_hour!r} s"}, "load": lot}
    builder.route("must", gives="must").operation(
        "press", crew="hand", station="press", takes={"fruit": "1.4 kg"}, loses={"pomace": "rest"}, **fields
    )
    return builder


def test_a_flow_by_hand() -> None:
    """150 L/h for 40 h a week are 6,000 L; 35 t are 25,000 L, so 1,000 L are left for the fifth week."""
    assert flows(compile_network(pressed().build())) == [True]
    _, run = played(pressed())
    assert run.week_finished.mean[:, 0].tolist() == pytest.approx([6000] * 4 + [1000, 0], rel=1e-9)
    assert run.left.mean[0] == pytest.approx(0, abs=1e-5)
    assert any("flows at rates between stores: press" in note for note in run.notes)


def test_ever_smaller_lots_come_to_the_flow() -> None:
    """The weeks of lots of 700, 70 and 7 L are within one lot of those of the flow."""
    _, flow = played(pressed())
    apart = []
    for lot in (700, 70, 7):
        _, run = played(pressed(lot=f"{lot} L"))
        gaps = abs(run.week_finished.mean[:5, 0].cumsum() - flow.week_finished.mean[:5, 0].cumsum())
        apart.append(float(gaps.max()))
        assert apart[-1] <= lot
    assert apart[0] > apart[1] > apart[2]


def test_a_flow_stops_at_what_is_wanted() -> None:
    """100 L a working day, 30 of them: 3,000 L are pressed and no more."""
    builder = pressed()
    builder.document["plan"]["demand"] = "100 L/day"
    _, run = played(builder)
    assert run.total.mean == pytest.approx(3000, rel=1e-9)
    assert run.left.mean[0] == pytest.approx(35_000 - 3000 * 1.4, rel=1e-9)


def test_what_does_not_keep_goes_off_beside_a_flow() -> None:
    """It keeps seven days: until Monday at midnight 40 h were pressed, 6,000 L; the rest of 35 t is thrown away."""
    builder = pressed()
    builder.document["items"]["fruit"]["keeps"] = "7 days"
    assert flows(compile_network(builder.build())) == [True]
    _, run = played(builder)
    assert run.total.mean == pytest.approx(6000, rel=1e-9)
    assert run.spoiled.mean[0] == pytest.approx(35_000 - 6000 * 1.4, rel=1e-9)


def test_loads_behind_a_flow_on_its_route_take_the_rest_too() -> None:
    """25,000 L into vats of 10,000 L on the same route: two full ones, and the last with what is left."""
    builder = pressed("1500 L/h")
    builder.station("vat", places=9)
    route = builder.document["routes"]["must"]["operations"]
    route.append({"id": "stand", "station": "vat", "load": "10000 L", "stand": "10 days"})
    route[1]["loses"] = route[0].pop("loses")
    bound, run = played(builder)
    assert run.total.mean == pytest.approx(25_000, rel=1e-9)
    assert run.most_in_use.tolist() == [0, 3]
    assert run.total.mean <= bound.most[0] * (1 + 1e-9)


def test_a_dwell_is_played_over_a_season() -> None:
    """What comes in on Monday at 6 leaves an hour later, and the last hour of a day stays in until the next."""
    builder = pressed()
    builder.document["routes"]["must"]["operations"][0]["time"]["dwell"] = "1 h"
    _, run = played(builder)
    assert run.week_finished.mean[:5, 0].tolist() == pytest.approx([5850, 6000, 6000, 6000, 1150], rel=1e-6)


def bottled(campaign: Any) -> PlanBuilder:
    """Must that flows into a tank, and is bottled in campaigns, 200 L at a time, 1,000 L an hour."""
    builder = pressed()
    builder.document["plan"]["makes"] = "bottle"
    builder.item("bottle", unit="bottle", mass="1 kg").station("line").crew("bottler", people=1, shift="day")
    builder.route("bottling", gives="bottle", campaign=campaign).operation(
        "bottle", station="line", crew="bottler", takes={"must": "1 L"}, load=200, time={"each": "3.6 s"}
    )
    return builder


def test_a_campaign_on_what_flows_begins_at_its_level() -> None:
    """At 9,000 L it begins: 20 h into the second week. It bottles faster than must comes, 3,000 L more by the end.

    Then it waits for 9,000 L again, that is for another 60 h: into the fourth week.
    """
    _, run = played(bottled("9000 L"))
    ((_, often),) = run.campaigns
    assert often.mean == 2
    weeks = run.week_finished.mean[:, 0]
    assert weeks[0] == 0
    assert weeks[1] >= 9000


def test_a_campaign_on_what_flows_waits_no_longer_than_is_written() -> None:
    """200 L are there after 80 min; three days later, with 3,750 L or so, it begins."""
    _, run = played(bottled({"starts": "90000 L", "waits": "3 days"}))
    assert run.week_finished.mean[0, 0] > 0
    assert run.total.mean == pytest.approx(25_000)


def test_a_campaign_on_what_flows_in_a_steady_state() -> None:
    builder = bottled("9000 L")
    header = builder.document["plan"]
    for key in ("from", "to"):
        del header[key]
    header["demand"] = "1000 bottle/day"
    del builder.document["intake"]
    result = simulate(compile_network(builder.build()), replications=1, still=True, days=280)
    assert result.rate.mean == pytest.approx(1000, rel=0.05)


@settings(max_examples=12, deadline=None)
@given(
    weekly=st.lists(st.integers(0, 40), min_size=3, max_size=3).filter(any),
    rate=st.integers(100, 2000),
    keeps=st.sampled_from(["", "2 days", "9 days"]),
    room=st.sampled_from(["200 L", "3000 L"]),
    milling=st.integers(100, 3000),
)  # fmt: skip
def test_nothing_is_lost_between_flows(weekly: list[int], rate: int, keeps: str, room: str, milling: int) -> None:
    """Milled, kept in a small tank, pressed: what came is finished, on hand or thrown away, to a billionth."""
    builder = PlanBuilder("Milled", money="EUR", makes="must", from_="2026-09-14", to="2027-02-28")
    builder.item("fruit", unit="kg", buy="0.2 EUR", **({"keeps": keeps} if keeps else {}))
    builder.item("must", unit="kg").shift("day", hours="06:00-14:00", days="Mon-Fri")
    builder.crew("hand", people=2, shift="day").station("mill").station("press").store("tub", room=room)
    builder.intake("fruit", from_="2026-09-14", to="2026-10-04", weekly=[f"{w} t" for w in weekly], days="Mon,Thu")
    builder.document["items"]["must"]["mass"] = "1 kg"
    builder.document["stores"]["tub"]["room"] = room.replace("L", "kg")
    route = builder.route("must", gives="must")
    route.operation("mill", crew="hand", station="mill", takes={"fruit": "1 kg"}, time={"rate": f"{milling} kg/h"},
                    then_to="tub")  # fmt: skip
    route.operation("press", crew="hand", station="press", time={"rate": f"{rate} kg/h"})
    bound, run = played(builder)
    came = float(run.came[0])
    assert run.total.mean + run.spoiled.mean[0] + run.left.mean[0] == pytest.approx(came, rel=1e-9, abs=1e-5)
    assert run.total.mean <= bound.most[0] * (1 + 1e-9) + 1e-5


def test_a_cellar_beside_a_flow_is_bounded() -> None:
    """The press has a hand of its own: as many vats as in the balance."""
    builder = cellar(vats=2)
    builder.crew("presser", people=1, shift="day")
    builder.document["routes"]["must"]["operations"][0]["crew"] = "presser"
    bound, run = played(builder)
    assert run.total.mean == pytest.approx(50_000, rel=1e-9)
    assert run.total.mean <= bound.most[0] * (1 + 1e-9)
