"""How a simulation is shown: tables that agree with it, charts that draw, a day whose bars hold together."""

from __future__ import annotations

import io
import json
import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from rich.console import Console

from linewright.answer import Answer, answer
from linewright.base.calendar import HOUR
from linewright.base.results import Interval
from linewright.base.trace import Record
from linewright.plan import PlanBuilder
from linewright.report import charts, drawing, sections
from linewright.report.html import to_html
from linewright.report.palette import DARK, LIGHT, PLAYED
from linewright.report.played import tables
from linewright.report.played.gantt import MOST_LANES, bars_of, gantt
from linewright.report.played.terminal import print_simulation
from linewright.report.terminal import print_answer
from linewright.simulate import STATES

NEW = {"weeks", "states", "time", "stores", "day"}


def crate() -> PlanBuilder:
    """Sides are cut four at a time and wait in a rack; crates are nailed, checked, and dry over night."""
    build = PlanBuilder("Crate", money="EUR", makes="crate", demand="24 each/day")
    build.item("crate", unit="each", name="apple crate").item("side", unit="each").item(
        "plank", unit="each", buy="2 EUR"
    )
    build.shift("day", hours="06:00-14:00", breaks=["09:00-09:15"])
    build.crew("sawyer", people=1, shift="day").crew("nailer", people=2, shift="day", name="Nailer")
    build.station("saw", places=1, name="Saw").station("table", places=2).station("rack_out", places=40)
    build.store("rack", room=60, name="Rack of sides")
    build.route("side", gives="side").operation(
        "cut", station="saw", crew={"sawyer": 1}, time="4 min", load=4, takes={"plank": 1}, then_to="rack"
    )
    route = build.route("crate", gives="crate")
    route.operation(
        "nail", station="table", crew={"nailer": 1}, time={"mean": "20 min", "cv": 0.2}, takes={"side": 4},
        faults={"split": "4 %"},
    )  # fmt: skip
    route.operation(
        "look", name="Look for splits", crew={"nailer": 1}, time="1 min",
        check={"finds": {"split": "90 %"}, "then": {"rework": "nail", "at_most": 1, "else": "scrap"}},
    )  # fmt: skip
    route.operation("dry", station="rack_out", stand="6 h")
    return build


@pytest.fixture(scope="module")
def played() -> Answer:
    found = answer(crate().build(), simulate=True)
    assert found.simulation is not None
    assert found.simulation.flat_out is not None
    return found


def test_the_outcome_sets_both_ways_beside_demand_and_bound(played: Answer) -> None:
    table = tables.outcome(played)
    assert table.columns == ("", "as planned (takt)", "flat out")
    rows = {str(row[0]): row[1:] for row in table.rows}
    assert rows["asked for"] == ("24", "24")
    assert set(rows) >= {"apple crates a day", "at most, by the bounds", "open pieces", "time in the plant, on average"}
    assert all("±" in str(cell) for cell in rows["apple crates a day"])


def test_states_of_a_station_add_up_to_all_of_its_time(played: Answer) -> None:
    """In the result all nine states add up to 1; without unmanned they fill the time somebody is in."""
    assert played.simulation is not None
    run = played.simulation.as_planned
    assert np.allclose(run.state_share.mean.sum(axis=1), 1.0, atol=1e-9)
    chart = charts.charts(played)["states"]
    for station in ("Saw", "table"):
        shares = [row["share"] for row in chart.spec["data"]["values"] if row["name"] == station]
        assert sum(shares) == pytest.approx(100, abs=0.1)


def test_every_state_has_a_colour_of_its_own() -> None:
    shown = [state for state in STATES if state != "unmanned"]
    for palette in (LIGHT, DARK):
        assert len({palette[PLAYED[state]] for state in shown}) == len(shown)


def test_crews_stand_beside_what_the_loads_say(played: Answer) -> None:
    """24 crates of 21 min and the rework of 4 %, by 2 people for 7.75 h: at least 24 x 21 / (2 x 465) = 54 %."""
    rows = {row[0]: row for row in tables.crews(played, played.simulation.as_planned).rows}  # type: ignore[union-attr]
    simulated = float(str(rows["Nailer"][2]).split(" ")[0])
    assert 54 <= simulated <= 60
    assert rows["Nailer"][1] == 2


def test_stores_and_parts_are_told_once(played: Answer) -> None:
    assert played.simulation is not None
    run = played.simulation.as_planned
    assert [row[0] for row in tables.stores(played, run).rows] == ["Rack of sides"]
    assert "side" not in [row[0] for row in tables.on_hand(played, run).rows], "it is in the rack"


def test_rework_is_told_by_the_operation_that_sends_it_back(played: Answer) -> None:
    assert played.simulation is not None
    (row,) = tables.lost(played, played.simulation.as_planned).rows
    assert row[0] == "Look for splits"
    # 24 / day x 4 % x 90 % = 0.86 a day are sent back the first time (arithmetic).
    sent = played.simulation.as_planned.reworked.interval(list(played.flow.operations).index("look"))
    assert sent.low - 0.05 <= 24 * 0.04 * 0.9 <= sent.high + 0.05


def test_charts_of_a_simulation_are_plain_and_draw(played: Answer) -> None:
    made = charts.charts(played)
    assert set(made) >= NEW
    for name in NEW:
        assert json.loads(json.dumps(made[name].spec, allow_nan=False)) == made[name].spec
    if drawing.can_draw():
        for name in NEW:
            assert drawing.to_svg(made[name].spec).count("<path") > 3


def test_without_a_simulation_there_are_no_such_charts_or_tables(played: Answer) -> None:
    without = replace(played, simulation=None)
    assert not set(charts.charts(without)) & NEW
    page = to_html(without, live=False)
    assert "What the simulation shows" not in page
    assert "Not simulated" in page


def test_time_in_the_plant_is_whole(played: Answer) -> None:
    values = charts.charts(played)["time"].spec["data"]["values"]
    assert sum(row["share"] for row in values) == pytest.approx(100, abs=0.2)
    assert all(row["from"] < row["to"] for row in values)


def test_days_of_the_week_are_all_named(played: Answer) -> None:
    if not drawing.can_draw():
        pytest.skip("drawing needs the extra charts")
    picture = drawing.to_svg(charts.charts(played)["stores"].spec)
    assert re.findall(r">(Mon|Tue|Wed|Thu|Fri|Sat|Sun)<", picture) == ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]


def test_bars_of_a_lane_never_overlap_and_a_load_is_one_bar(played: Answer) -> None:
    assert played.simulation is not None
    assert played.simulation.day is not None
    bars = bars_of(played.simulation.day, played.network)
    lanes: dict[tuple[str, int], list[tuple[int, int]]] = {}
    for bar in bars:
        lanes.setdefault((bar.station, bar.lane), []).append((bar.begin, bar.end))
    for spans in lanes.values():
        assert all(one[1] <= next_[0] for one, next_ in pairwise(sorted(spans)))
    assert {lane for station, lane in lanes if station == "saw"} == {0}, (
        "four sides at a time are one load on one place"
    )
    assert {lane for station, lane in lanes if station == "table"} <= {0, 1}


def test_crewed_work_is_drawn_only_while_people_are_in(played: Answer) -> None:
    assert played.simulation is not None
    day = played.simulation.day
    assert day is not None
    bars = [bar for bar in bars_of(day, played.network) if bar.station in ("saw", "table")]
    assert bars
    for bar in bars:
        begin, end = (bar.begin - day.begin) / HOUR, (bar.end - day.begin) / HOUR
        assert 6 <= begin < end <= 14
        assert end <= 9 or begin >= 9.25, "the break"


def test_what_stands_all_day_fills_its_lane(played: Answer) -> None:
    assert played.simulation is not None
    day = played.simulation.day
    assert day is not None
    starts = [Record(day.begin - k * HOUR, "crate", 10**6 + k, "dry", "rack_out", "", "starts") for k in (1, 2)]
    bars = bars_of(replace(day, trace=day.trace.between(0, 0), under_way=tuple(starts)), played.network)
    assert [(bar.begin, bar.end) for bar in bars] == [(day.begin, day.end)] * 2
    assert {bar.lane for bar in bars} == {0, 1}


def test_a_station_with_many_places_does_not_fill_the_day(played: Answer) -> None:
    chart = gantt(played)
    assert chart is not None
    rows = {row["row"].rpartition("/")[0] for row in chart.spec["data"]["values"]}
    assert rows == {"saw", "table"}
    assert MOST_LANES < 40
    assert "many places" in chart.caption


def test_names_with_quotes_are_data_in_the_chart(played: Answer) -> None:
    station = played.plan.stations["saw"]
    odd = replace(station, name='Saw "1" \' || 1 \\ </script>')
    plan = replace(played.plan, stations={**played.plan.stations, "saw": odd})
    chart = gantt(replace(played, plan=plan))
    assert chart is not None
    if drawing.can_draw():
        assert "Saw &quot;1&quot;" in drawing.to_svg(chart.spec) or 'Saw "1"' in drawing.to_svg(chart.spec)


def test_the_page_tells_the_simulation_under_its_questions(played: Answer) -> None:
    page = to_html(played, live=False)
    rate = page[page.index('<section id="rate"') : page.index('<section id="people"')]
    people = page[page.index('<section id="people"') : page.index('<section id="cost"')]
    assert "What the simulation shows" in rate
    assert "How it was simulated, flat out" in rate
    assert "How busy the people are, simulated" in people
    assert "nan" not in re.sub(r"<[^>]+>", " ", rate).lower().split()


def test_a_crew_that_limits_has_its_operations_ringed(played: Answer) -> None:
    crew = next(r for r in played.capacity.resources if (r.kind, r.id) == ("crew", "nailer"))
    tight = replace(crew, most=0.1)
    limited = replace(played, capacity=replace(played.capacity, resources=(tight,)))
    assert sections.limiting(limited) == {"nail", "look"}
    assert to_html(limited, live=False).count('<rect class="limit"') == 3, "two rings and the key"


def printed(found: Answer, width: int = 80) -> str:
    out = io.StringIO()
    print_simulation(found, "trace.csv", Console(file=out, width=width))
    return out.getvalue()


def test_terminal_says_the_answers_first(played: Answer) -> None:
    text = printed(played)
    assert text.index("24 apple crates a day: yes, simulated") < text.index("What the simulation shows")
    assert "trace.csv" in text
    assert max(len(line) for line in text.split("\n")) <= 80


def test_stopped_is_said(played: Answer) -> None:
    assert played.simulation is not None
    run = played.simulation.as_planned
    stopped = replace(run, honesty=replace(run.honesty, status="stopped", replications=1))
    text = printed(replace(played, simulation=replace(played.simulation, as_planned=stopped)))
    assert "stopped; kept 1 replication" in text


def test_the_answer_in_the_terminal_holds_the_simulation(played: Answer) -> None:
    out = io.StringIO()
    print_answer(played, None, Console(file=out, width=80))
    assert "What is busiest?" in out.getvalue()
    assert "What the simulation shows" in out.getvalue()


def test_the_library_is_kept_on_disk_and_a_damaged_one_is_made_anew(
    tmp_path: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("vl_convert", reason="live charts need the extra charts")
    kept = tmp_path / "charts.js"  # type: ignore[operator]
    drawing._keep(kept, "let a = 1;\nlet b;")
    assert drawing._read(kept) == "let a = 1;\nlet b;"
    kept.write_text(kept.read_text()[:-3])
    assert drawing._read(kept) is None
    assert drawing._read(tmp_path / "none.js") is None  # type: ignore[operator]
    drawing._keep(kept / "below" / "a file", "x")
    assert drawing._read(kept / "below" / "a file") is None


def test_faults_that_reach_the_customer_are_counted_beside_the_computed(played: Answer) -> None:
    assert played.simulation is not None
    table = tables.escaped(played, played.simulation.as_planned)
    assert [row[0] for row in table.rows] == ["split", "any of them"]
    (share,) = (e.share for e in played.flow.escapes if played.network.items.ids[e.item] == "crate")
    assert table.rows[0][1] == f"{1e6 * share:,.0f}"
    counted = played.simulation.as_planned.escapes[0].share
    assert abs(counted.mean - share) <= counted.half_width
    assert "reach the customer, of a million delivered" in to_html(played)


def test_a_tail_that_few_weeks_spread_is_told_by_its_upper_end(played: Answer) -> None:
    """Nobody can read 5 ± 12 h: what is sure is said, and that it is little."""
    simulation = played.simulation
    assert simulation is not None
    run = simulation.as_planned
    level = run.quantile_levels.index(0.9)

    def said(mean: float, half: float, average: float) -> str:
        tails = list(run.quantiles)
        tails[level] = Interval(mean * 3600, half * 3600)
        other = replace(run, quantiles=tuple(tails), time_in_plant=Interval(average * 3600, 360.0))
        return tables.time_through(replace(played, simulation=replace(simulation, as_planned=other)))

    vague = said(5.0, 12.0, 3.0)
    assert "nine of ten within 17 h at most" in vague
    assert vague.endswith("too few weeks were played to say closer")
    assert "±" not in vague.partition("nine of ten")[2]
    assert "nine of ten within 5.0 ± 0.5 h" in said(5.0, 0.5, 3.0)
    assert "the slowest tenth makes the average that long" in said(2.0, 0.05, 4.0)
    assert "slowest" not in said(5.0, 0.5, 3.0)


def test_shares_that_few_weeks_spread_are_not_called_sure(played: Answer) -> None:
    assert played.simulation is not None
    run = played.simulation.as_planned
    shares = run.state_share

    def said(half: float) -> str:
        spread = np.full_like(shares.half_width, half)
        return tables.states(played, replace(run, state_share=replace(shares, half_width=spread))).note

    assert "Each is sure to" in said(0.01)
    assert "points" not in said(0.289)
    assert f"Means of {run.honesty.replications} replications, which are too few to tell" in said(0.289)
    assert "too few to tell" in said(float("inf"))
